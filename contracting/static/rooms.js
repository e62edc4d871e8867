// Draws the room as it is typed: the form goes to the server, which answers with the plan, the rows in
// step with the line, and what is wrong. Without this script the page does the same by its buttons.
(() => {
  "use strict";
  const form = document.getElementById("room-form");
  if (!form) return;
  document.documentElement.classList.add("script");
  const wait = 90; // ms after the last key; the answer itself takes less than that
  const byId = (id) => document.getElementById(id);
  let timer = 0;
  let running = null;
  let typedIn = null; // the field that was typed in last
  let typed = 0; // how often something was typed

  const width = () => {
    const box = byId("part-drawing");
    return box ? Math.round((box.clientWidth * 25.4) / 96) : 0; // CSS millimetres
  };

  async function draw() {
    if (running) running.abort();
    running = new AbortController();
    const began = performance.now();
    const asked = typed;
    const body = new URLSearchParams(new FormData(form)); // read faster by the server than a multipart form
    body.set("width", String(width()));
    try {
      const answer = await fetch(form.dataset.plan, { method: "POST", body, signal: running.signal, credentials: "same-origin" });
      if (!answer.ok) throw new Error(String(answer.status));
      const parts = new DOMParser().parseFromString(await answer.text(), "text/html");
      place(parts, asked === typed);
      form.dataset.drawnIn = String(Math.round(performance.now() - began));
      byId("drawing-state").textContent = "";
    } catch (error) {
      if (error.name !== "AbortError") byId("drawing-state").textContent = "…";
    }
  }

  // An answer to what was typed on since is drawn, but puts nothing into the fields: the next one is coming.
  function place(parts, isNewest) {
    for (const part of parts.querySelectorAll("template[data-part]")) {
      const name = part.dataset.part;
      const target = byId("part-" + name);
      if (!isNewest && ["walls", "line"].includes(name)) continue;
      if (name === "walls") placeWalls(target, part);
      else if (name === "line") placeLine(part);
      else if (name === "follows") keepOpen(target, part);
      else if (target && !(name === "drawing" && !part.innerHTML.trim() && target.querySelector(".empty"))) target.innerHTML = part.innerHTML;
    }
    for (const said of parts.querySelectorAll("template[data-said]")) {
      const row = byId(said.dataset.said + "-row");
      if (!row) continue;
      row.querySelector("[data-said]").textContent = said.innerHTML ? said.content.textContent : "";
      row.querySelector("[data-name]").textContent = said.dataset.name;
    }
    markWrong(parts);
  }

  // Rows under the cursor are never replaced; when they lead, only rows that are new are added. When the line
  // leads they are filled in from it, also the cell that was gone to but not typed in.
  function placeWalls(body, part) {
    const fresh = [...part.content.querySelectorAll("tr")];
    if (part.hasAttribute("data-replace") && !body.contains(document.activeElement)) body.replaceChildren(...fresh);
    else {
      if (part.hasAttribute("data-replace")) fillWalls(body, fresh);
      for (const row of fresh) if (row.id && !byId(row.id)) body.append(row);
    }
    form.elements["walls-TOTAL_FORMS"].value = String(body.querySelectorAll("tr[id]").length);
  }

  function fillWalls(body, fresh) {
    const read = new Map(fresh.flatMap((row) => [...row.querySelectorAll("input")].map((field) => [field.id, field.value])));
    for (const field of body.querySelectorAll("input")) {
      const here = field === document.activeElement;
      if (here && field === typedIn) continue;
      field.value = read.get(field.id) ?? "";
      if (here) field.select();
    }
  }

  function placeLine(part) {
    const line = form.elements["outline_text"];
    if (document.activeElement !== line) line.value = part.dataset.line;
    if (document.activeElement !== line || line.value.trim() === part.dataset.read) form.elements["line_read"].value = part.dataset.read;
  }

  function keepOpen(target, part) {
    const open = new Set([...target.querySelectorAll("details[open] > summary")].map((one) => one.firstChild.textContent));
    target.innerHTML = part.innerHTML;
    for (const one of target.querySelectorAll("details > summary")) if (open.has(one.firstChild.textContent)) one.parentElement.open = true;
  }

  function markWrong(parts) {
    for (const old of form.querySelectorAll("tr.live, .error.live")) old.remove();
    for (const field of form.querySelectorAll("[data-live-wrong]")) {
      field.removeAttribute("aria-invalid");
      field.removeAttribute("aria-describedby");
      field.removeAttribute("data-live-wrong");
    }
    for (const wrong of parts.querySelectorAll("template[data-wrong]")) {
      const field = byId(wrong.dataset.wrong);
      if (!field || !field.matches("input, select, textarea") || byId(field.id + "_error")) continue;
      // A field of a row just added is blank because nobody came to it yet; saving asks for it.
      if (!field.value.trim() && field.closest(".thing")) continue;
      const text = document.createElement("p");
      text.className = "error live";
      text.id = field.id + "_error";
      text.textContent = wrong.content.textContent;
      const wall = field.closest("table.walk tr");
      if (wall) {
        const row = document.createElement("tr");
        row.className = "wrong live";
        const cell = document.createElement("td");
        cell.colSpan = 3;
        cell.append(text);
        row.append(document.createElement("td"), cell);
        wall.after(row);
      } else field.after(text);
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", text.id);
      field.setAttribute("data-live-wrong", "");
    }
  }

  function clearSaid(field) {
    const said = byId(field.id + "_error");
    if (said && !said.classList.contains("live")) (said.closest("tr.wrong") || said).remove();
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-describedby");
  }

  form.addEventListener("input", (event) => {
    typedIn = event.target;
    typed += 1;
    clearSaid(event.target);
    clearTimeout(timer);
    timer = setTimeout(draw, wait);
  });

  // Enter after a wall goes on to the next wall, as on a tape; on the line it draws. Neither leaves the page.
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("input")) return;
    const row = event.target.closest("table.walk tr");
    if (!row && event.target.name !== "outline_text") return;
    event.preventDefault();
    clearTimeout(timer);
    const drawn = draw();
    const next = () => row && [...byId("part-walls").querySelectorAll("tr[id]")].find((one) => row.compareDocumentPosition(one) & 4);
    const go = () => next() && next().querySelector("input").focus();
    if (next()) go();
    else drawn.then(go);
  });

  // Adding a row and laying out a starter set: the server's page is taken over without leaving this one.
  // One after the other, each with the row that the one before brought, however fast somebody taps.
  let adding = Promise.resolve();
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button[name=add], button[name=starter]");
    if (!button) return;
    event.preventDefault();
    adding = adding.then(() => take(button.name, button.value), () => undefined);
  });

  async function take(name, value) {
    const before = new Set([...form.querySelectorAll(".thing")].map((one) => one.id));
    const open = [...form.querySelectorAll(".thing[open]")].map((one) => one.id);
    const body = new FormData(form);
    const sent = new Map(body.entries());
    body.set(name, value);
    const answer = await fetch(form.action || location.href, { method: "POST", body, credentials: "same-origin" });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById("measured");
    if (!fresh) return form.submit();
    keepTyped(fresh, sent);
    byId("measured").replaceWith(fresh);
    for (const id of open) if (byId(id)) byId(id).open = true;
    const added = [...form.querySelectorAll(".thing")].filter((one) => !before.has(one.id));
    if (name === "add" && added.length) {
      added[added.length - 1].open = true;
      const field = [...added[added.length - 1].querySelectorAll("input:not([type=hidden]), select")].filter((one) => one.offsetParent)[1];
      if (field) field.focus();
    } else if (added.length) {
      added[0].querySelector("summary").focus();
    }
    draw();
    return undefined;
  }

  // What was typed while the answer was on its way stands in the page that came.
  function keepTyped(fresh, sent) {
    const now = new FormData(form);
    for (const field of fresh.querySelectorAll("input[name]:not([type=hidden]), select[name], textarea[name]")) {
      if (now.get(field.name) === (sent.has(field.name) ? sent.get(field.name) : null)) continue;
      if (field.type === "checkbox") field.checked = now.has(field.name);
      else if (now.has(field.name)) field.value = now.get(field.name);
    }
  }

  // A message's link leads into a closed row: open it first.
  document.addEventListener("click", (event) => {
    const link = event.target.closest("#form-errors a");
    const target = link && byId(link.hash.slice(1));
    const row = target && target.closest(".thing");
    if (row) row.open = true;
    if (target && target.focus) target.focus();
  });
  const first = byId("form-changed") || byId("form-errors");
  if (first) first.focus();
  else if (!byId("id_name").value) byId("id_name").focus();
})();
