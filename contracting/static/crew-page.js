// The crew's pages: every form is kept on the phone first and sent when there is signal. Without this script
// the forms are ordinary ones.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const byId = (id) => document.getElementById(id);
  const all = (where, from = document) => [...from.querySelectorAll(where)];
  const STALE_MS = 120000;
  const TWICE_MS = 700;
  const MOST_AHEAD = 8; // jobs whose pages are fetched before they are opened
  const tapped = new WeakMap();
  let facts = JSON.parse(byId("crew-facts").textContent);
  let dirty = false;
  const keeping = new Set(); // what is on its way to the phone's disk
  let outcome = { state: "idle" };
  let warmed = 0;

  // --- Said to the person ---------------------------------------------------------------------------------

  let quiet = 0;
  function say(text, kind = "ok") {
    const line = byId("crew-said");
    line.className = `crew-said ${kind}`;
    line.textContent = text;
    line.hidden = false;
    clearTimeout(quiet);
    if (kind === "ok") quiet = setTimeout(() => (line.hidden = true), 6000);
  }

  async function state() {
    const tally = (await crew.queue.tally())[facts.person] || { waiting: 0, refused: 0 };
    const { words } = facts;
    const link = byId("crew-state");
    const count = byId("crew-count");
    link.hidden = false;
    const parts = [];
    if (tally.refused) parts.push(crew.fill(words.refused, { count: tally.refused }));
    if (tally.waiting) parts.push(crew.fill(words.waiting, { count: tally.waiting }));
    count.className = `mark ${tally.refused ? "stop" : tally.waiting ? "wait" : "ok"}`;
    count.textContent = parts.join(" · ") || words.allSent;
    document.body.dataset.waiting = String(tally.waiting);
    document.body.dataset.refused = String(tally.refused);
    navigator.setAppBadge?.(tally.waiting + tally.refused).catch(() => undefined);
    return tally;
  }

  async function redraw() {
    const acts = await crew.queue.mine(facts.person);
    crew.marks.draw(facts, acts);
    await crew.outbox?.draw(facts, acts, outcome);
    return state();
  }

  // --- Forms ----------------------------------------------------------------------------------------------

  function label(field) {
    const group = field.type === "radio" ? field.closest("fieldset")?.querySelector("legend") : null;
    return (group || field.labels?.[0])?.textContent.trim() || field.name;
  }

  function missing(form) {
    return [...form.elements].find((field) => field.willValidate && !field.closest("[hidden]") && field.validity.valueMissing);
  }

  function fieldsOf(form, submitter) {
    const data = new FormData(form);
    if (submitter?.name) data.set(submitter.name, submitter.value);
    const fields = Object.fromEntries([...data].filter(([, value]) => typeof value === "string"));
    delete fields.csrfmiddlewaretoken;
    delete fields.key;
    if (fields.kind === form.dataset.kind) delete fields.kind;
    if (form.dataset.check) fields.check = form.dataset.check;
    if (fields.laid_when) fields.laid_at = fields.laid_when;
    for (const name of ["laid_when", "started_at", "ended_at"]) delete fields[name];
    // What is hidden was not asked, whatever was chosen there before.
    for (const field of all("[data-needs][hidden] [name]", form)) delete fields[field.name];
    const day = form.elements.day;
    if (day && day.type === "hidden") fields.day = crew.clock.day(crew.clock.now(), facts.zone);
    return fields;
  }

  // A label's words without what is said beside them in small.
  function spoken(label) {
    const copy = label?.cloneNode(true);
    for (const hint of all(".hint", copy || document.createElement("i"))) hint.remove();
    return copy?.textContent.trim().replace(/\s+/g, " ");
  }

  // In a few words, as the outbox shows it.
  function whatOf(form, fields) {
    const picked = all("input[type=radio]:checked, input[type=checkbox]:checked", form).map((one) => spoken(one.labels?.[0]));
    const typed = all("input[type=text], textarea", form).map((one) => one.value.trim());
    const place = form.closest("details")?.querySelector("summary .what")?.textContent || form.parentElement.querySelector(":scope > .what b")?.textContent || form.closest("section")?.querySelector("h2")?.firstChild?.textContent || "";
    return [place.trim().replace(/\s+/g, " "), ...picked, ...typed].filter(Boolean).join(" · ").slice(0, 200);
  }

  function stoppedBy(form, fields) {
    if (!facts.inspection) return [];
    const now = crew.clock.now();
    const { checks } = crew.marks;
    const { hold, room = "", surface = "", kind, check } = form.dataset;
    if (hold && ["done", "spread"].includes(fields.state)) return crew.holds.inTheWay(facts, checks, hold, room, surface, now);
    if (kind === "flood-start") return crew.holds.inTheWay(facts, checks, "flood test", checks.find((one) => String(one.pk) === check)?.room || "", "", now);
    const tile = ["hours", "timed-hours"].includes(kind) ? fields.step === "tile" : kind === "timer" && fields.ref === "tile";
    return tile ? crew.holds.beforeTileHours(facts, checks, now) : [];
  }

  function showStopped(form, sentences) {
    const place = form.parentElement.querySelector("[data-stopped]") || form.querySelector("[data-stopped]") || form.insertAdjacentElement("beforebegin", Object.assign(document.createElement("div"), { className: "stopped" }));
    place.dataset.stopped = "";
    place.setAttribute("role", "alert");
    const head = Object.assign(document.createElement("strong"), { textContent: facts.words.stopped });
    const list = document.createElement("ul");
    list.append(...sentences.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
    place.replaceChildren(head, list);
    place.hidden = !sentences.length;
    if (sentences.length) place.scrollIntoView({ block: "nearest" });
  }

  async function submit(form, submitter) {
    const wrong = missing(form);
    for (const old of all(".error", form)) old.remove();
    if (wrong) {
      const text = crew.fill(facts.words.fillIn, { field: label(wrong) });
      const line = Object.assign(document.createElement("p"), { className: "error", textContent: text });
      (wrong.closest("fieldset, .field-box") || wrong).append(line);
      wrong.focus();
      say(text, "stop");
      return;
    }
    const fields = fieldsOf(form, submitter);
    const stopped = stoppedBy(form, fields);
    showStopped(form, stopped);
    if (stopped.length) return;
    const key = crew.queue.uuid();
    crew.drafts.entering(facts.person, form, key);
    const kept = holdPage(crew.queue.add({
      key, person: facts.person, job: facts.job, stage: facts.stage, kind: form.dataset.kind, fields, seen: form.dataset.seen || "",
      what: whatOf(form, fields), page: location.pathname, mends: form.dataset.mends || null,
    }));
    try {
      await kept;
    } catch (error) {
      // Said loudly and not cleared: what was typed still stands in the form.
      say(crew.fill(facts.words.notStored, { reason: error.name || String(error) }), "stop");
      return;
    }
    crew.drafts.drop(facts.person, form);
    delete form.dataset.mends;
    if (!form.classList.contains("tick-form") && !form.classList.contains("batch-form")) form.reset();
    for (const field of all("[data-typed]", form)) delete field.dataset.typed;
    dirty = false;
    today();
    needs();
    say(facts.words.saved);
    await redraw();
    crew.sync.remind();
    crew.sync.soon();
  }

  // A glove taps twice: what comes again at once, or finds its form just emptied, is the same tap.
  function isSecondTap(form, submitter) {
    const told = JSON.stringify(fieldsOf(form, submitter));
    const last = tapped.get(form);
    if (last && performance.now() - last.at < TWICE_MS && (last.told === told || missing(form) || form.matches(".tick-form, .batch-form"))) return true;
    tapped.set(form, { at: performance.now(), told });
    return false;
  }

  document.addEventListener("submit", (event) => {
    if (event.target.id === "crew-leave") return void leave(event);
    if (!event.target.matches("form.act")) return;
    event.preventDefault();
    if (!isSecondTap(event.target, event.submitter)) submit(event.target, event.submitter);
  });

  // A page that is left breaks off what it is writing: a link tapped meanwhile waits until the disk has it.
  // `work` resolves to whether all is kept; what went wrong is said here, so the page then stays.
  function holdPage(work) {
    keeping.add(work);
    work.catch(() => undefined).then(() => keeping.delete(work));
    return work;
  }

  document.addEventListener("click", async (event) => {
    const link = event.target.closest("a[href]");
    if (!link || !keeping.size || event.defaultPrevented) return;
    event.preventDefault();
    const slow = setTimeout(() => say(facts.words.keeping), 300);
    const kept = await Promise.all(keeping).then((all) => all.every(Boolean), () => false);
    clearTimeout(slow);
    if (kept) location.assign(link.href);
  });
  window.addEventListener("beforeunload", (event) => {
    if (keeping.size) event.preventDefault();
  });

  document.addEventListener("click", (event) => {
    const tap = event.target.closest("button.tap");
    if (!tap) return;
    const field = byId(tap.dataset.fill);
    if (tap.dataset.less) field.value = less(field.value, Number(tap.dataset.less));
    else if (tap.dataset.add) field.value = [field.value.trim(), tap.dataset.add].filter(Boolean).join(", ");
    else field.value = tap.dataset.value;
    field.dataset.typed = "1";
    typed(field.form);
  });

  function typed(form) {
    dirty = true;
    if (form?.matches("form.act")) crew.drafts.keep(facts.person, form);
  }

  function less(text, minutes) {
    const [hours, rest = "0"] = text.split(":");
    return crew.clock.minutesText(Math.max(1, Number(hours) * 60 + Number(rest) - minutes));
  }

  document.addEventListener("input", (event) => {
    event.target.dataset.typed = "1";
    typed(event.target.form);
    needs();
  });

  // Fields that only some answers need.
  function needs() {
    for (const part of all("[data-needs]")) {
      const [name, value] = part.dataset.needs.split("=");
      const chosen = part.closest("form").elements[name];
      part.hidden = (chosen?.value ?? "") !== value;
    }
    for (const field of all("[data-required]")) {
      const [name, values] = field.dataset.required.split("=");
      field.required = values.split(" ").includes(field.form.elements[name]?.value ?? "");
    }
  }

  function today() {
    for (const field of all("[data-today]")) if (!field.dataset.typed) field.value = crew.clock.day(crew.clock.now(), facts.zone);
  }

  // --- Mending what was refused ---------------------------------------------------------------------------

  async function mend() {
    const key = new URLSearchParams(location.search).get("mend");
    const act = key && (await crew.store.one("acts", key));
    if (!act || act.person !== facts.person) return;
    const form = all(`form.act[data-kind="${CSS.escape(act.kind)}"]`).find((one) => (!one.dataset.check || one.dataset.check === act.fields.check) && (!one.dataset.ref || one.dataset.ref === act.fields.ref));
    if (!form) return;
    for (const [name, value] of Object.entries(act.fields)) {
      const field = form.elements[name];
      if (!field || field.type === "hidden" || field.tagName === "BUTTON") continue;
      if (field.type === "checkbox") field.checked = true;
      else field.value = value;
      if (field.dataset) field.dataset.typed = "1";
    }
    form.dataset.mends = key;
    await crew.drafts.restore(facts.person, [form], true);
    form.closest("details")?.setAttribute("open", "");
    needs();
    form.scrollIntoView({ block: "center" });
    say(`${act.messages.join(" ")} ${facts.words.mending}`, "hold");
  }

  // --- Sending --------------------------------------------------------------------------------------------

  async function heard(told) {
    outcome = told;
    document.body.dataset.sync = told.state;
    const { words } = facts;
    if (told.state === "signed-out") sayWithLink(words.signIn, facts.urls.signIn);
    if (told.state === "done") {
      if (told.person !== facts.person) return void location.reload();
      const tally = await redraw();
      if (tally.refused && told.sent) sayWithLink(crew.fill(words.refused, { count: tally.refused }), facts.urls.waiting);
      else if (told.sent) say(words.sent);
      if (told.sent || Date.now() + crew.clock.offset() - facts.now > STALE_MS) await refresh();
      warm();
      return;
    }
    await redraw();
  }

  function sayWithLink(text, address) {
    const link = Object.assign(document.createElement("a"), { href: address, textContent: text });
    say("", "stop");
    byId("crew-said").replaceChildren(link);
  }

  // Takes over the server's newest page without losing what is being typed.
  async function refresh() {
    if (dirty || location.pathname === facts.urls.waiting) return;
    try {
      const answer = await fetch(location.pathname, { credentials: "same-origin", redirect: "manual", headers: { Accept: "text/html" } });
      if (!answer.ok || answer.headers.get("X-Crew-Person") !== String(facts.person)) return;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (dirty) return;
      const open = all("details[open]").map((one) => one.id).filter(Boolean);
      byId("content").replaceWith(page.getElementById("content"));
      byId("crew-facts").textContent = page.getElementById("crew-facts").textContent;
      facts = JSON.parse(byId("crew-facts").textContent);
      for (const id of open) byId(id)?.setAttribute("open", "");
      settle();
      await bringBack();
      await redraw();
    } catch {
      // Signal went again; the page as it stands is good enough.
    }
  }

  async function warm() {
    if (Date.now() - warmed < STALE_MS) return;
    warmed = Date.now();
    const worker = (await navigator.serviceWorker?.ready)?.active;
    if (!worker) return;
    const pages = [facts.urls.today, facts.urls.waiting, facts.urls.offline];
    const jobs = [...new Set([facts.job, ...all("[data-warm]").slice(0, MOST_AHEAD).map((one) => Number(one.dataset.warm))])].filter(Boolean);
    for (const job of jobs) pages.push(...facts.urls.parts.map((one) => one.replace("/0/", `/${job}/`)));
    const answer = new MessageChannel();
    answer.port1.onmessage = ({ data }) => {
      document.body.dataset.warm = String(data);
      const line = byId("crew-kept");
      if (line && data === pages.length) line.textContent = line.dataset.done;
    };
    worker.postMessage({ do: "warm", pages }, [answer.port2]);
  }

  // --- Leaving --------------------------------------------------------------------------------------------

  async function leave(event) {
    event.preventDefault();
    const tally = await state();
    const count = tally.waiting + tally.refused;
    if (count && !window.confirm(crew.fill(facts.words.leave, { count }))) return;
    const worker = (await navigator.serviceWorker?.getRegistration())?.active;
    if (worker) {
      const answer = new MessageChannel();
      await new Promise((resolve) => {
        answer.port1.onmessage = resolve;
        setTimeout(resolve, 2000);
        worker.postMessage({ do: "forget" }, [answer.port2]);
      });
    }
    crew.drafts.forget(facts.person);
    event.target.submit();
  }

  // --- Starting -------------------------------------------------------------------------------------------

  function settle() {
    for (const form of all("form.act")) form.noValidate = true;
    document.documentElement.classList.add("script");
    today();
    needs();
    unfold();
    crew.outbox?.settle(facts);
  }

  // What was typed before this page was left is typed again.
  async function bringBack() {
    if (!(await crew.drafts.restore(facts.person, all("form.act")))) return;
    dirty = true;
    needs();
    say(facts.words.draft, "hold");
  }

  // A link to one check opens it.
  function unfold() {
    const target = location.hash.startsWith("#check-") && byId(location.hash.slice(1));
    if (target) target.open = true;
    target?.scrollIntoView?.({ block: "start" });
  }
  window.addEventListener("hashchange", unfold);

  crew.page = { say, redraw, holdPage, facts: () => facts, sync: () => crew.sync.soon() };

  async function begin() {
    settle();
    await crew.clock.load();
    await redraw();
    await mend();
    await bringBack();
    setInterval(() => crew.marks.tick(facts), 1000);
    crew.sync.start(facts.urls, heard);
    if (navigator.serviceWorker) {
      navigator.serviceWorker.register(facts.urls.worker, { scope: facts.urls.today, updateViaCache: "none" }).catch(() => undefined);
      navigator.storage?.persist?.().catch(() => undefined);
    }
    for (const event of ["online", "focus", "pageshow"]) window.addEventListener(event, () => crew.sync.soon());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && crew.sync.soon());
    crew.sync.soon();
    document.body.dataset.ready = "true";
  }
  begin();
})();
