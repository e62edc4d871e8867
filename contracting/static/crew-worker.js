// The service worker of the crew's pages: keeps each page, drawing, style and font that was opened, apart for
// each person, and shows them when there is no signal. `told` stands before this text: see jobs/crew/phone.py.
"use strict";
importScripts(...self.told.scripts);

const SHELL = "crew-shell"; // scripts, styles and fonts: nobody's in particular
const WHO = "crew-who";
const FRESH_MS = 15 * 60000; // a page kept since then is not fetched ahead again
const PATIENCE_MS = 4000; // with one bar of signal the kept page is better than a wait
const HASHED = /\.[0-9a-f]{12}\.\w+$/;
const pagesOf = (person) => `crew-pages-${person}`;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELL).then((shell) => Promise.all(self.told.assets.map((one) => shell.add(new Request(one, { cache: "reload" }))))).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(self.clients.claim());
});

async function who() {
  const kept = await (await caches.open(WHO)).match("/who");
  return kept ? kept.text() : "";
}

// Another person on the same phone: what was kept for the one before is gone before anything of theirs is.
async function become(person) {
  if ((await who()) === person) return;
  for (const name of await caches.keys()) if (name.startsWith("crew-pages-") && name !== pagesOf(person)) await caches.delete(name);
  await (await caches.open(WHO)).put("/who", new Response(person));
}

async function forget() {
  for (const name of await caches.keys()) if (name.startsWith("crew-pages-") || name === WHO) await caches.delete(name);
}

async function inTime(request) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    return await fetch(request, { signal: stop.signal });
  } finally {
    clearTimeout(timer);
  }
}

async function keep(request, answer) {
  const person = answer.headers.get("X-Crew-Person");
  if (!answer.ok || answer.redirected || !person) return;
  await become(person);
  const headers = new Headers(answer.headers);
  headers.set("X-Kept-At", String(Date.now()));
  const copy = new Response(await answer.clone().blob(), { status: answer.status, headers });
  // The mark behind # and what stands behind ? are the page's own business.
  await (await caches.open(pagesOf(person))).put(new URL(request.url).pathname, copy);
}

async function page(event) {
  const url = new URL(event.request.url);
  const kept = async () => {
    const person = await who();
    if (!person) return undefined;
    const pages = await caches.open(pagesOf(person));
    return (await pages.match(url.pathname)) || (await pages.match(self.told.offline));
  };
  try {
    const answer = await inTime(event.request);
    if (answer.status >= 500) return (await kept()) || answer;
    await keep(event.request, answer);
    return answer;
  } catch (error) {
    const found = await kept();
    if (found) return found;
    throw error;
  }
}

async function asset(request) {
  const shell = await caches.open(SHELL);
  const kept = await shell.match(request);
  if (kept && HASHED.test(new URL(request.url).pathname)) return kept;
  try {
    const answer = await inTime(request);
    if (answer.ok) await shell.put(request, answer.clone());
    return answer;
  } catch (error) {
    if (kept) return kept;
    throw error;
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (url.pathname.startsWith(self.told.static)) event.respondWith(asset(request));
  else if ((request.mode === "navigate" || request.headers.get("Accept") === "text/html") && url.pathname.startsWith(self.told.today)) event.respondWith(page(event));
});

self.addEventListener("message", (event) => {
  const { do: what, pages = [] } = event.data || {};
  if (what === "forget") event.waitUntil(forget().then(() => event.ports[0]?.postMessage("forgotten")));
  if (what === "warm") event.waitUntil(warm(pages).then((count) => event.ports[0]?.postMessage(count)));
});

// Fetches pages that were not opened yet, one after the other, so that a whole job is there without signal.
async function warm(pages) {
  let count = 0;
  for (const one of pages) {
    try {
      const kept = await (await caches.open(pagesOf(await who()))).match(one);
      if (kept && Math.abs(Date.now() - Number(kept.headers.get("X-Kept-At"))) < FRESH_MS) {
        count += 1;
        continue;
      }
      const request = new Request(one, { credentials: "same-origin", headers: { Accept: "text/html" } });
      const answer = await fetch(request);
      if (answer.ok && !answer.redirected) {
        await keep(request, answer);
        count += 1;
      }
    } catch {
      break;
    }
  }
  return count;
}

// Background Sync: the browser wakes us when there is signal, with the page long closed.
async function sendWaiting() {
  crew.sync.start({ pulse: self.told.pulse, acts: self.told.acts, uploads: self.told.uploads });
  await crew.clock.load();
  const outcome = await crew.sync.run();
  // Thrown, so that the browser asks us again later.
  if (outcome.state === "away") throw new Error("away");
  return outcome.state;
}

self.addEventListener("sync", (event) => {
  if (event.tag === "crew-acts") event.waitUntil(sendWaiting());
});
