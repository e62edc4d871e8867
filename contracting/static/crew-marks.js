// Draws what was entered on this phone over a page that the server made before: ticks, clocks, checks, hours.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const all = (where) => [...document.querySelectorAll(where)];
  const MINUTE = 60000;
  let warned = "";

  // Acts that the page as the server made it cannot know yet, with their time by the server's clock.
  const fresh = (facts, acts) =>
    acts.filter((act) => act.job === facts.job && act.state !== "refused" && (act.state === "waiting" || act.sent_at + crew.clock.offset() >= facts.now)).map((act) => ({ ...act, at: act.made_at + crew.clock.offset() }));

  function draw(facts, acts) {
    const own = fresh(facts, acts);
    ticks(facts, own);
    tallies(own);
    batches(own);
    timer(facts, own);
    checks(facts, own);
    lists(facts, acts);
    tick(facts);
  }

  function newest(own, kinds) {
    const found = new Map();
    for (const act of own) if (kinds.includes(act.kind)) found.set(act.fields.ref, act);
    return found;
  }

  function ticks(facts, own) {
    for (const kind of ["cut", "step"]) {
      const marks = newest(own, [kind]);
      for (const form of all(`form.tick-form[data-kind="${kind}"]`)) {
        const box = form.querySelector(".tick-box");
        box.dataset.was ??= box.getAttribute("aria-pressed");
        const act = marks.get(form.dataset.ref);
        const done = act ? act.fields.state === "done" : box.dataset.was === "true";
        box.setAttribute("aria-pressed", String(done));
        box.value = done ? "undone" : "done";
        box.classList.toggle("waits", act?.state === "waiting");
        const who = form.parentElement.querySelector("[data-who]");
        who.dataset.was ??= who.textContent;
        who.textContent = !act ? who.dataset.was : done ? crew.fill(facts.words.doneBy, { name: facts.name, time: crew.clock.moment(act.at, facts.zone, facts.language) }) : "";
      }
    }
  }

  function tallies(own) {
    for (const part of all("[data-tally]")) {
      // Ticks alternate, so the first one entered here says how the thing stood when the page was made.
      const first = new Map();
      for (const act of own) if (act.kind === part.dataset.tally && !first.has(act.fields.ref)) first.set(act.fields.ref, act.fields.state);
      let done = Number(part.dataset.done);
      for (const [ref, act] of newest(own, [part.dataset.tally])) done += (act.fields.state === "done") - (first.get(ref) !== "done");
      part.textContent = `${Math.max(0, Math.min(Number(part.dataset.of), done))} / ${part.dataset.of}`;
    }
  }

  function batches(own) {
    const marks = newest(own, ["batch"]);
    for (const part of all("[data-batch]")) {
      const act = marks.get(part.dataset.batch);
      const state = act ? act.fields.state : part.dataset.state || "";
      part.dataset.now = state === "undone" ? "" : state;
      part.dataset.since = act ? String(act.at) : part.dataset.at ? String(Number(part.dataset.at) * 1000) : "";
      for (const button of part.querySelectorAll("button[data-shown]")) button.hidden = part.dataset.now ? !button.dataset.shown.split(" ").includes(part.dataset.now) : button.dataset.shown !== "";
    }
  }

  function timer(facts, own) {
    const part = document.getElementById("timer");
    const state = document.querySelector("[data-timer-state]");
    if (!part && !state) return;
    let since = Number((part || state).dataset.since || 0) * 1000;
    let ref = part ? part.dataset.ref : "";
    for (const act of own) {
      if (act.kind === "timer" && act.fields.state === "running") [since, ref] = [act.at, act.fields.ref];
      else if (act.kind === "timed-hours" || act.kind === "timer") since = 0;
    }
    if (state) state.dataset.running = since ? String(since) : "";
    if (!part) return;
    part.dataset.running = since ? String(since) : "";
    for (const form of part.querySelectorAll("form")) form.hidden = (form.dataset.when === "running") !== Boolean(since);
    if (ref) part.querySelector("[name=step]").value = ref;
  }

  function checks(facts, own) {
    if (!facts.inspection) return;
    const state = crew.holds.stateOf(facts.inspection, own, facts.system);
    crew.marks.checks = state;
    for (const one of state) {
      const part = document.getElementById(`check-${one.pk}`);
      if (!part) continue;
      const sign = part.querySelector("[data-sign]");
      const found = part.querySelector("[data-found]");
      sign.dataset.was ??= sign.className;
      found.dataset.was ??= found.textContent;
      const running = Boolean(one.startedAt);
      sign.className = one.entered ? `mark ${running ? "live" : one.failed ? "stop" : "ok"}` : sign.dataset.was;
      const entered = one.unknown ? "serverDecides" : one.entered === "sent" ? "entrySent" : "entryWaits";
      found.textContent = one.entered ? facts.words[entered] : found.dataset.was;
      part.classList.toggle("waits", one.entered === "waiting");
      if (one.kind !== "flood") continue;
      for (const form of part.querySelectorAll("form[data-kind^=flood]")) form.hidden = (form.dataset.kind === "flood-end") !== running;
      const clock = part.querySelector("[data-flood-clock]");
      if (clock) clock.dataset.until = running ? String(one.endsAt) : "";
    }
  }

  // What was entered here for this page, as long as it is not in the page itself.
  function lists(facts, acts) {
    for (const list of all("[data-own]")) {
      const kinds = list.dataset.own.split(" ");
      const rows = acts.filter((act) => act.job === facts.job && kinds.includes(act.kind) && (act.state !== "sent" || act.sent_at + crew.clock.offset() >= facts.now));
      list.replaceChildren(...rows.map((act) => {
        const row = document.createElement("li");
        const mark = document.createElement("span");
        mark.className = `mark ${{ waiting: "wait", sent: "ok", refused: "stop" }[act.state]}`;
        mark.textContent = facts.words[{ waiting: "entryWaits", sent: "entrySent", refused: "entryRefused" }[act.state]];
        row.append(mark, ` ${act.what}`);
        return row;
      }));
    }
  }

  // Every second: the clocks that run.
  function tick(facts) {
    const { words } = facts;
    const now = crew.clock.now();
    for (const part of all("[data-batch]")) drawBatch(part, now, facts);
    const running = document.getElementById("timer")?.dataset.running;
    if (running) {
      const spent = now - Number(running);
      document.querySelector("#timer [data-clock]").textContent = crew.clock.span(spent, words);
      const field = document.getElementById("timed");
      if (!field.dataset.typed) field.value = crew.clock.minutesText(Math.max(1, Math.round(spent / MINUTE)));
    } else if (document.querySelector("#timer [data-clock]")) document.querySelector("#timer [data-clock]").textContent = words.nothingYet;
    const shown = document.querySelector("[data-timer-state]");
    if (shown) shown.textContent = shown.dataset.running ? crew.fill(words.timerRuns, { time: crew.clock.moment(Number(shown.dataset.running), facts.zone, facts.language) }) : "";
    for (const clock of all("[data-flood-clock]")) {
      const until = Number(clock.dataset.until || 0);
      if (until) clock.textContent = until > now ? crew.fill(words.endsEarly, { time: crew.clock.moment(until, facts.zone, facts.language) }) : "";
    }
  }

  function drawBatch(part, now, facts) {
    const { words } = facts;
    const line = part.querySelector("[data-clock]");
    const bar = part.querySelector("[data-progress]");
    const since = Number(part.dataset.since || 0);
    const minutes = (name) => Number(part.dataset[name]) * MINUTE;
    const left = (name) => since + minutes(name) - now;
    bar.hidden = !part.dataset.now;
    part.classList.remove("over", "live", "curing");
    if (!part.dataset.now) {
      line.textContent = words.nothingYet;
    } else if (part.dataset.now === "spread") {
      bar.max = minutes("open") || 1;
      bar.value = Math.min(now - since, bar.max);
      part.classList.add(left("open") > 0 ? "live" : "over");
      const say = (name, time) => crew.fill(words[name], { time: crew.clock.span(time, words) });
      line.textContent = left("wait") > 0 ? say("waitLeft", left("wait")) : left("open") > 0 ? say("openLeft", left("open")) : say("openOver", -left("open"));
      if (left("open") < 2 * MINUTE && left("open") > 0 && warned !== part.id + since) {
        warned = part.id + since;
        if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([300, 200, 300]);
      }
    } else {
      bar.max = minutes("cure") || 1;
      bar.value = Math.min(now - since, bar.max);
      part.classList.add("curing");
      const until = crew.clock.moment(since + minutes("cure"), facts.zone, facts.language);
      line.textContent = left("cure") > 0 ? crew.fill(words.cureLeft, { time: crew.clock.span(left("cure"), words), until }) : crew.fill(words.cured, { until });
    }
  }

  crew.marks = { draw, tick, fresh, checks: [] };
})();
