// Sends what waits, in order, when there is signal: asks who is signed in and what time it is, sends acts,
// then photos. Runs in pages and, where the browser lets it, in the service worker after the page is closed.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const { store, queue } = crew;
  const AT_ONCE = 25; // acts a message
  const PATIENCE_MS = 20000;
  const WAITS_MS = [2000, 5000, 15000, 60000, 300000];
  let urls = null;
  let tries = 0;
  let later = 0;

  // `heard` is called with { state, ... } whenever something has changed.
  let heard = () => undefined;
  // Another page of the app, or the service worker, may be the one that sends: all of them are told.
  const air = self.BroadcastChannel ? new BroadcastChannel("ledgerboard-crew") : null;

  async function ask(url, options = {}) {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
    try {
      // A redirect is the sign-in page: told apart from an answer, never followed.
      const answer = await fetch(url, { credentials: "same-origin", redirect: "manual", cache: "no-store", signal: stop.signal, ...options });
      if (answer.type === "opaqueredirect") throw new SignedOut();
      return answer;
    } finally {
      clearTimeout(timer);
    }
  }

  class SignedOut extends Error {}

  async function pulse() {
    const sent = Date.now();
    const answer = await ask(urls.pulse);
    if (!answer.ok) throw new Error(String(answer.status));
    const told = await answer.json();
    await crew.clock.measure(sent, told.now, Date.now());
    await store.know("signedIn", told.person);
    if (told.person) await store.know(`name-${told.person}`, told.name);
    return told;
  }

  async function run() {
    if (!urls) return { state: "idle" };
    if (!self.navigator.locks) return sendAll();
    const outcome = await navigator.locks.request("ledgerboard-crew-sync", { ifAvailable: true }, (lock) => (lock ? sendAll() : { state: "busy" }));
    // Whoever sends now may have looked for the last time before the newest entry was there.
    if (outcome.state === "busy") {
      clearTimeout(later);
      later = setTimeout(run, 1500);
    }
    return outcome;
  }

  async function sendAll() {
    let outcome;
    try {
      heard({ state: "sending" });
      const told = await pulse();
      if (told.person === null) {
        outcome = { state: "signed-out" };
      } else {
        const secured = (url, options = {}) => ask(url, { ...options, headers: { ...(options.headers || {}), "X-CSRFToken": told.token } });
        const sent = (await sendActs(told.person, secured)) + (await sendPhotos(told.person, secured));
        await store.know(`last-${told.person}`, Date.now());
        await queue.tidy();
        outcome = { state: "done", sent, person: told.person };
      }
      tries = 0;
    } catch (error) {
      outcome = error instanceof SignedOut ? { state: "signed-out" } : { state: "away", why: String(error.message || error) };
    }
    if (outcome.state === "away") again();
    heard(outcome);
    air?.postMessage(outcome);
    return outcome;
  }

  async function sendActs(person, secured) {
    let count = 0;
    for (let acts = await queue.waiting(person); acts.length; acts = await queue.waiting(person)) {
      const part = acts.slice(0, AT_ONCE);
      const answer = await secured(urls.acts, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ person, now: Date.now(), offset: crew.clock.offset(), acts: part.map(({ key, job, kind, fields, made_at, offset, after, seen, stage, mends }) => ({ key, job, kind, fields, made_at, offset, after, seen, stage, mends })) }),
      });
      if (!answer.ok) throw new Error(String(answer.status));
      const told = await answer.json();
      await queue.answered(told.results, Date.now());
      if (told.results.length < part.length) throw new Error("not every act was answered");
      count += part.length;
      heard({ state: "sending" });
    }
    return count;
  }

  async function sendPhotos(person, secured) {
    const photos = (await store.of("photos", person)).filter((photo) => photo.state === "waiting");
    let failed = null;
    for (const photo of photos) {
      try {
        await crew.photos.send(photo, urls, secured);
      } catch (error) {
        // Signal gone: the rest waits. One photo the server stumbles over: the others go on.
        if (!(error instanceof crew.photos.ServerSaid)) throw error;
        failed = error;
      }
      heard({ state: "sending" });
    }
    if (failed) throw failed;
    return photos.length;
  }

  // Back-off: tried again by itself, each time a little later.
  function again() {
    clearTimeout(later);
    later = setTimeout(run, WAITS_MS[Math.min(tries, WAITS_MS.length - 1)]);
    tries += 1;
  }

  // Asks the browser to run us when there is signal, even with the page closed, where it can.
  async function remind() {
    try {
      const worker = await navigator.serviceWorker?.ready;
      await worker?.sync?.register("crew-acts");
    } catch {
      // No Background Sync here: the page sends on focus, on `online` and by itself.
    }
  }

  function start(addresses, listener) {
    urls = addresses;
    if (listener) heard = listener;
    if (air) air.onmessage = ({ data }) => heard(data);
  }

  crew.sync = { start, run, remind, pulse, soon: () => { tries = 0; return run(); } };
})();
