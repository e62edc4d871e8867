// The sign-in page after somebody has signed out: what a phone kept of their pages is gone. Somebody whose
// session ended is sent here with `next`, and finds their pages again; entries that wait stay in any case.
(() => {
  "use strict";
  if (!self.caches || new URLSearchParams(location.search).has("next")) return;
  caches.keys().then((names) => names.filter((name) => name.startsWith("crew-pages-") || name === "crew-who").forEach((name) => caches.delete(name)));
})();
