// Signing in and out, on the pages around the crew's own: what a phone kept of somebody's pages goes with them,
// and who leaves is told what is not sent yet. Entries that wait stay on the phone in any case.
(() => {
  "use strict";
  const isSignIn = Boolean(document.getElementById("id_username"));
  // Somebody whose session ended is sent here with `next`, and finds their pages again.
  if (isSignIn && self.caches && !new URLSearchParams(location.search).has("next")) {
    caches.keys().then((names) => names.filter((name) => name.startsWith("crew-pages-") || name === "crew-who").forEach((name) => caches.delete(name)));
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    // Until a page has come for whoever signs in, nothing that was kept for somebody else is shown.
    if (isSignIn) return void self.caches?.delete("crew-who");
    if (!form.dataset.waits || form.dataset.sure) return undefined;
    event.preventDefault();
    const count = await waiting();
    if (count && !window.confirm(form.dataset.waits.replace("{count}", count))) return undefined;
    form.dataset.sure = "1";
    return form.requestSubmit();
  });

  // Looks without making the store where there is none.
  async function waiting() {
    if (!indexedDB.databases || !(await indexedDB.databases()).some((one) => one.name === "ledgerboard-crew")) return 0;
    return new Promise((resolve) => {
      const asked = indexedDB.open("ledgerboard-crew");
      asked.onerror = () => resolve(0);
      asked.onsuccess = () => {
        const rows = [];
        const read = asked.result.transaction(["acts", "photos"], "readonly");
        for (const name of ["acts", "photos"]) read.objectStore(name).getAll().onsuccess = ({ target }) => rows.push(...target.result);
        read.oncomplete = () => {
          asked.result.close();
          resolve(rows.filter((row) => row.state !== "sent").length);
        };
        read.onabort = () => resolve(0);
      };
    });
  }
})();
