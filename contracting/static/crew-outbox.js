// The outbox: what waits, what was refused and why, what was sent lately; and the photos on this phone.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const byId = (id) => document.getElementById(id);
  const element = (name, values = {}, ...children) => {
    const made = Object.assign(document.createElement(name), values);
    made.append(...children);
    return made;
  };

  async function draw(facts, acts, outcome) {
    await drawShots(facts);
    if (!byId("outbox-state")) return;
    const photos = (await crew.store.of("photos", facts.person)).map((photo) => ({ ...photo, kind: "photo", what: `${facts.words.photoWord} ${photo.caption}`.trim() }));
    const rows = [...acts, ...photos];
    const { words } = facts;
    const waiting = rows.filter((row) => row.state === "waiting");
    const refused = rows.filter((row) => row.state === "refused");
    byId("outbox-state").textContent = stateLine(facts, outcome, waiting.length);
    const last = await crew.store.known(`last-${facts.person}`);
    byId("outbox-last").textContent = last ? crew.fill(words.lastSent, { time: crew.clock.moment(last + crew.clock.offset(), facts.zone, facts.language) }) : words.neverSent;
    byId("waiting-none").hidden = waiting.length > 0;
    byId("outbox-refused").hidden = refused.length === 0;
    byId("waiting-list").replaceChildren(...waiting.map((row) => line(facts, row)));
    byId("refused-list").replaceChildren(...refused.map((row) => line(facts, row)));
    byId("sent-list").replaceChildren(...rows.filter((row) => row.state === "sent").sort((a, b) => b.sent_at - a.sent_at).slice(0, 20).map((row) => line(facts, row)));
    await others(facts);
  }

  function stateLine(facts, outcome, waiting) {
    const { words } = facts;
    if (outcome.state === "signed-out") return words.signIn;
    if (outcome.state === "away") return navigator.onLine ? words.serverAway : words.noSignal;
    if (outcome.state === "sending" && waiting) return words.sending;
    return waiting ? crew.fill(words.waiting, { count: waiting }) : words.allSent;
  }

  function line(facts, row) {
    const { words } = facts;
    const when = crew.clock.moment(row.made_at + crew.clock.offset(), facts.zone, facts.language);
    const made = element("li", {}, element("b", { textContent: row.what || row.kind }), element("small", { textContent: [words[`kind-${row.kind}`], when].filter(Boolean).join(" · ") }));
    for (const message of row.messages || []) made.append(element("p", { className: "why", textContent: words[message] || message }));
    if (row.state === "refused") made.append(row.kind === "photo" ? buttons(facts, row, "photos") : buttons(facts, row, "acts"));
    if (row.kind === "photo" && row.state === "waiting" && row.offset) made.append(element("small", { textContent: crew.fill(words.bytesSent, { share: `${Math.floor((100 * row.offset) / row.size)} %` }) }));
    return made;
  }

  function buttons(facts, row, store) {
    const { words } = facts;
    const made = element("div", { className: "row" });
    if (store === "acts") {
      made.append(element("a", { className: "btn", href: `${row.page}?mend=${row.key}`, textContent: words.mend }));
      made.append(element("button", { className: "btn quiet", type: "button", textContent: words.again, onclick: async () => { await crew.queue.again(row.key); await crew.page.redraw(); crew.page.sync(); } }));
    }
    made.append(element("button", { className: "btn quiet", type: "button", textContent: words.drop, onclick: async () => {
      if (!window.confirm(words.dropSure)) return;
      await crew.store.change(store, row.key, () => null);
      await crew.page.redraw();
    } }));
    return made;
  }

  // Somebody else's entries are counted, never shown and never sent as this person's.
  async function others(facts) {
    const tally = await crew.queue.tally();
    const lines = [];
    for (const [person, kept] of Object.entries(tally)) {
      const count = kept.waiting + kept.refused;
      if (Number(person) === facts.person || !count) continue;
      const name = (await crew.store.known(`name-${person}`)) || "?";
      lines.push(element("p", { className: "box hold", textContent: crew.fill(facts.words.otherPerson, { name, count }) }));
    }
    byId("outbox-others").replaceChildren(...lines);
  }

  async function drawShots(facts) {
    const list = byId("shots");
    if (!list) return;
    const photos = (await crew.store.of("photos", facts.person)).filter((photo) => photo.job === facts.job);
    const signs = { waiting: ["wait", facts.words.entryWaits], sent: ["ok", facts.words.entrySent], refused: ["stop", facts.words.entryRefused] };
    list.replaceChildren(...photos.reverse().map((photo) => {
      const [sign, text] = signs[photo.state];
      const part = photo.offset && photo.state === "waiting" ? ` ${crew.fill(facts.words.bytesSent, { share: `${Math.floor((100 * photo.offset) / photo.size)} %` })}` : "";
      return element("li", {}, element("span", { className: `mark ${sign}`, textContent: text + part }), element("b", { textContent: ` ${photo.caption}` }), element("small", { textContent: ` ${crew.clock.moment(photo.made_at + crew.clock.offset(), facts.zone, facts.language)} ${(photo.messages || []).join(" ")}` }));
    }));
  }

  async function keepAll(files, facts) {
    const [kind, ref] = byId("p-about").value.split(/:(.*)/s);
    let kept = 0;
    for (const file of files) {
      try {
        await crew.photos.keep(file, { person: facts.person, job: facts.job, caption: byId("p-caption").value.trim(), about: { kind, ref } });
        kept += 1;
      } catch {
        crew.page.say(crew.fill(facts.words.photoNoFile, { name: file.name }), "stop");
      }
    }
    return kept;
  }

  async function choose(event) {
    const facts = crew.page.facts();
    const files = [...event.target.files];
    const keeping = keepAll(files, facts);
    crew.page.holdPage(keeping.then((count) => count === files.length));
    const kept = await keeping;
    event.target.value = "";
    if (kept === files.length) crew.page.say(kept === 1 ? facts.words.photoSaved : crew.fill(facts.words.photosSaved, { count: kept }));
    if (kept) byId("p-caption").value = "";
    await crew.page.redraw();
    crew.sync.remind();
    crew.page.sync();
  }

  function settle() {
    for (const id of ["p-camera", "p-gallery"]) byId(id)?.addEventListener("change", choose);
    byId("outbox-send")?.addEventListener("click", () => crew.page.sync());
    const asked = new URLSearchParams(location.search).get("check");
    const about = byId("p-about");
    if (about && asked) about.value = [...about.options].find((one) => one.value === `check:${asked}` || one.value === `flood:${asked}`)?.value || about.value;
  }

  crew.outbox = { draw, settle };
})();
