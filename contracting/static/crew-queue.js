// Acts in the order in which they were entered, each under a key of its own made here. An act leaves the
// phone only when the server has answered for it; a refused one stays until somebody mends or drops it.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const { store } = crew;
  const KEPT_MS = 3 * 24 * 3600 * 1000; // how long a sent act is still shown beside pages kept from before

  function uuid() {
    if (crypto.randomUUID) return crypto.randomUUID();
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  // `what` says the thing in words for the outbox: the heading of its page and what was tapped.
  async function add({ key = uuid(), person, job, stage, kind, fields, seen = "", what = "", page = "", mends = null }) {
    // The clock may be set before the act is sent, so it takes along what was known of the clock now.
    const clock = crew.clock.after() ? { offset: crew.clock.offset(), after: crew.clock.after() } : {};
    const act = { key, person, job, stage, kind, fields, seen, what, page, made_at: Date.now(), ...clock, state: "waiting", messages: [] };
    if (mends) act.mends = mends;
    await store.write("acts", (acts) => {
      acts.add(act);
      if (mends) {
        const old = acts.index("key").getKey(mends);
        old.onsuccess = () => old.result !== undefined && acts.delete(old.result);
      }
    });
    return act;
  }

  const mine = async (person) => (await store.of("acts", person)).sort((a, b) => a.order - b.order);
  const waiting = async (person) => (await mine(person)).filter((act) => act.state === "waiting");

  // Everything the server answered, in one transaction.
  function answered(results, at) {
    return store.write("acts", (acts) => {
      for (const result of results) {
        const asked = acts.index("key").get(result.key);
        asked.onsuccess = () => {
          const act = asked.result;
          if (!act || act.state !== "waiting") return;
          act.state = result.outcome === "done" ? "sent" : "refused";
          act.messages = result.messages || [];
          act.sent_at = at;
          acts.put(act);
        };
      }
    });
  }

  const drop = (key) => store.change("acts", key, () => null);

  // Sent as a new act, since the server remembers what it refused.
  async function again(key) {
    const act = await store.one("acts", key);
    if (!act || act.state !== "refused") return null;
    return add({ ...act, key: uuid(), mends: key });
  }

  async function tidy() {
    const old = Date.now() - KEPT_MS;
    const acts = (await store.of("acts")).filter((act) => act.state === "sent" && act.sent_at < old);
    const photos = (await store.of("photos")).filter((photo) => photo.state === "sent" && photo.sent_at < old);
    if (acts.length) await store.write("acts", (rows) => void acts.forEach((act) => rows.delete(act.order)));
    if (photos.length) await store.write("photos", (rows) => void photos.forEach((photo) => rows.delete(photo.order)));
  }

  // What waits, by person: { person: { name, waiting, refused } }.
  async function tally() {
    const found = {};
    for (const row of [...(await store.of("acts")), ...(await store.of("photos"))]) {
      const kept = (found[row.person] ??= { waiting: 0, refused: 0 });
      if (row.state === "refused") kept.refused += 1;
      else if (row.state !== "sent") kept.waiting += 1;
    }
    return found;
  }

  crew.queue = { uuid, add, mine, waiting, answered, drop, again, tidy, tally };
})();
