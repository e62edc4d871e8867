// What stands before a step of the work as far as this phone can know: what the server said when the page was
// fetched, and what was entered here since. The server says it again, and always decides.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const UNITS = { in: 254000, mm: 10000 }; // a length is whole ten-thousandths of a millimetre

  // Reads 2, 2.25, 1/16, 2 1/4, with or without " or mm; null when it is anything else: the server reads more.
  function units(text, system) {
    const plain = text.trim().replace(/[″"]|in\.?$/g, "").replace(",", ".").trim();
    const metric = /mm$/.test(plain) || (system === "mm" && !/[″"]/.test(text));
    const bare = plain.replace(/mm$/, "").trim();
    const found = /^(?:(\d+(?:\.\d+)?))?(?:\s*[ -]?\s*(\d+)\/(\d+))?$/.exec(bare);
    if (!bare || !found || found[3] === "0") return null;
    const value = Number(found[1] || 0) + (found[2] ? Number(found[2]) / Number(found[3]) : 0);
    return Math.round(value * (metric ? UNITS.mm : UNITS.in));
  }

  // The checks as they stand with what was entered on this phone; each act with its time by the server's clock.
  function stateOf(inspection, acts, system) {
    const checks = inspection.checks.map((check) => ({ ...check }));
    const byPk = new Map(checks.map((check) => [String(check.pk), check]));
    for (const act of acts) {
      const check = byPk.get(String(act.fields.check));
      if (check) enter(check, act, system);
    }
    return checks;
  }

  function enter(check, act, system) {
    const { fields } = act;
    check.entered = act.state;
    if (act.kind === "check" && check.kind === "laid") {
      const typed = fields.laid_at ? new Date(fields.laid_at).getTime() : NaN;
      Object.assign(check, { laidAt: Number.isNaN(typed) ? act.at : typed, cold: fields.is_cold === "yes", passed: true });
    } else if (act.kind === "check" && check.kind === "answer") {
      judge(check, fields.answer === "yes");
    } else if (act.kind === "check") {
      const read = check.quantity === "percent" ? Math.round(parseFloat(fields.reading) * 100) : units(fields.reading || "", system);
      const within = read === null || Number.isNaN(read) ? null : (check.least === null || read >= check.least) && (check.most === null || read <= check.most);
      check.unknown = within === null;
      judge(check, within !== false);
    } else if (act.kind === "flood-start") {
      Object.assign(check, { startedAt: act.at, endsAt: act.at + check.stands * 1000, startLevel: units(fields.level || "", system) });
    } else if (act.kind === "flood-end") {
      const level = units(fields.level || "", system);
      const held = level === null || check.startLevel === null || (level >= check.startLevel && level <= check.startLevel + 31750);
      judge(check, act.at >= check.endsAt && held && fields.leak_seen === "no");
      check.startedAt = check.endsAt = null;
    }
  }

  function judge(check, passed) {
    check.passed = passed;
    check.failed = !passed;
  }

  // Sentences that say what stops `step` in a room and a surface; none: it may start.
  function inTheWay(facts, checks, step, room, surface, now) {
    const { inspection, words } = facts;
    const needed = inspection.needs[step];
    if (!needed) return [];
    const when = (ms) => crew.clock.moment(ms, facts.zone, facts.language);
    const scope = checks.filter((one) => needed.includes(one.hold) && (!room || !one.room || one.room === room) && (!surface || !one.surface || one.surface === surface));
    const found = [];
    const groups = new Map();
    for (const one of scope.filter((check) => !check.passed && !check.waived.includes(step))) {
      if (one.failed) found.push(crew.fill(words.failed, { place: one.place, check: one.label }));
      else if (one.startedAt) found.push(crew.fill(words.floodRuns, { place: one.place, time: when(one.endsAt) }));
      else {
        const group = `${one.roomName}\n${one.hold}`;
        groups.set(group, [...(groups.get(group) || []), one]);
      }
    }
    for (const group of groups.values()) {
      const names = [...new Set(group.map((one) => one.label))].join(", ");
      found.push(crew.fill(words.undone, { place: group[0].roomName, hold: inspection.holds[group[0].hold], checks: names }));
    }
    const laid = scope.filter((one) => one.laidAt);
    if (step === "flood test") {
      const may = Math.max(0, ...laid.map((one) => one.laidAt + (one.cold ? inspection.floodWaitCold : inspection.floodWait) * 1000));
      if (may > now) found.push(crew.fill(words.mayFlood, { time: when(may) }));
    }
    if (inspection.afterCure.includes(step)) {
      const curing = laid.filter((one) => !one.waived.includes(step)).map((one) => [one.laidAt + one.wait * 1000, one]).filter(([until]) => until > now);
      curing.sort((a, b) => b[0] - a[0]);
      if (curing.length) found.push(crew.fill(words.cures, { time: when(curing[0][0]), place: curing[0][1].place }));
    }
    return found;
  }

  // Hours of tile wait only while there is no room at all where tile may be set.
  function beforeTileHours(facts, checks, now) {
    const rooms = [...new Set(checks.map((one) => one.room).filter(Boolean))];
    const stopped = (rooms.length ? rooms : [""]).map((room) => inTheWay(facts, checks, "tile", room, "", now));
    return stopped.every((one) => one.length) ? stopped[0] : [];
  }

  crew.holds = { units, stateOf, inTheWay, beforeTileHours };
})();
