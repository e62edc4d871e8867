// Time by the server's clock, however the phone's is set; and spans of time in words.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  let offset = 0; // ms: the server's clock less the phone's
  let after = 0; // ms: the server's time when that was measured

  async function load() {
    offset = await crew.store.known("offset", 0);
    after = await crew.store.known("offsetAt", 0);
    return offset;
  }

  // Asked at `sent`, answered at `came` by the phone, with `there` by the server in between.
  function measure(sent, there, came) {
    offset = Math.round(there - (sent + came) / 2);
    after = there;
    return Promise.all([crew.store.know("offset", offset), crew.store.know("offsetAt", after)]);
  }

  const now = () => Date.now() + offset;

  function span(ms, words) {
    const seconds = Math.max(0, Math.round(ms / 1000));
    if (seconds < 3600) return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")} min`;
    const hours = Math.floor(seconds / 3600);
    return crew.fill(words.hoursMinutes, { hours, minutes: Math.floor((seconds % 3600) / 60) });
  }

  // A moment as the site's own clock shows it; with its day when that is another one.
  function moment(ms, zone, language) {
    // As the pages write it (contracting/formats): to twelve in English, to twenty-four in Spanish.
    const hours = language.startsWith("en") ? { hour: "numeric", hour12: true } : { hour: "2-digit", hourCycle: "h23" };
    const how = { timeZone: zone || undefined, minute: "2-digit", ...hours };
    const day = (at) => new Intl.DateTimeFormat("en-CA", { timeZone: zone || undefined }).format(at);
    if (day(ms) !== day(now())) Object.assign(how, { weekday: "short", day: "numeric", month: "short" });
    return new Intl.DateTimeFormat(language, how).format(ms);
  }

  const day = (ms, zone) => new Intl.DateTimeFormat("en-CA", { timeZone: zone || undefined, year: "numeric", month: "2-digit", day: "2-digit" }).format(ms);
  const minutesText = (minutes) => `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}`;

  crew.fill = (sentence, values) => sentence.replace(/\{(\w+)\}/g, (all, name) => (name in values ? String(values[name]) : all));
  crew.clock = { load, measure, now, span, moment, day, minutesText, offset: () => offset, after: () => after };
})();
