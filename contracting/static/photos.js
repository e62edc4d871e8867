// Photos: keys in the gallery and between photos, a word while photos are sent, and the editor of arrows.
// Every page works without it.
(() => {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg", WHOLE = 10000, MOST = 20, HEAD = 0.032, LINE = 0.007;

  // --- Keys: between photos, and over the grid -------------------------------------------------
  const typing = (target) => target.closest("input, textarea, select, [data-arrow-editor]");
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey || typing(event.target)) return;
    const turn = { ArrowLeft: "prev", ArrowRight: "next" }[event.key];
    const link = turn && document.querySelector(`a[rel=${turn}]`);
    if (link) { event.preventDefault(); link.click(); return; }
    const grid = event.target.closest("[data-photo-gallery]"), from = event.target.closest("ul.photos a");
    if (!grid || !from) return;
    const all = [...grid.querySelectorAll("ul.photos a")], at = all.indexOf(from);
    const wide = Math.max(1, all.filter((one) => Math.abs(one.getBoundingClientRect().top - from.getBoundingClientRect().top) < 4).length);
    const step = { ArrowLeft: -1, ArrowRight: 1, ArrowUp: -wide, ArrowDown: wide }[event.key];
    const to = step && all[Math.min(all.length - 1, Math.max(0, at + step))];
    if (to) { event.preventDefault(); to.focus(); }
  });

  // --- Sending takes a while on a site -----------------------------------------------------------
  for (const form of document.querySelectorAll("form[data-photo-send]")) {
    form.addEventListener("submit", () => {
      const busy = form.querySelector("[data-photo-busy]");
      if (busy) busy.textContent = "…";
      // After the form is on its way: a button that is off sends nothing.
      setTimeout(() => form.querySelectorAll("button").forEach((one) => { one.disabled = true; }));
    });
  }
  window.addEventListener("pageshow", () => document.querySelectorAll("form[data-photo-send] button").forEach((one) => { one.disabled = false; }));

  // --- Arrows: the lines of the field are the truth, the drawing follows them ---------------------
  const editor = document.querySelector("[data-arrow-editor]");
  if (!editor) return;
  const field = document.getElementById("id_arrows"), svg = editor.querySelector("svg.arrows");
  const words = JSON.parse(editor.dataset.words), told = document.querySelector("[data-arrow-said]");
  const [, , width, height] = svg.getAttribute("viewBox").split(" ").map(Number), side = Math.max(width, height);
  const fill = (text, values) => text.replace(/{(\w+)}/g, (all, name) => values[name] ?? all);
  const say = (text) => { told.textContent = text; };
  const clamp = (value) => Math.min(WHOLE, Math.max(0, Math.round(value)));
  document.querySelectorAll(".with-script").forEach((one) => { one.hidden = false; });
  if (!field.hasAttribute("aria-invalid")) document.querySelector("[data-arrow-numbers]").open = false;
  svg.removeAttribute("aria-hidden");

  const read = () => field.value.split("\n").map((line) => line.trim().replaceAll(",", ".").split(/\s+/).map((one) => clamp(Number(one) * 100))).filter((one) => one.length === 4 && one.every(Number.isFinite));
  const write = () => { field.value = arrows.map((arrow) => arrow.map((one) => String(one / 100)).join(" ")).join("\n"); };
  let arrows = read(), drag = null;

  const make = (name, values, ...inside) => {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
    made.append(...inside);
    return made;
  };
  const shape = ([x1, y1, x2, y2]) => {
    const a = [x1 * width / WHOLE, y1 * height / WHOLE], b = [x2 * width / WHOLE, y2 * height / WHOLE];
    const size = Math.min(side * HEAD, Math.hypot(b[0] - a[0], b[1] - a[1]) * 0.6), away = Math.atan2(a[1] - b[1], a[0] - b[0]);
    const wing = (turn) => `${b[0] + size * Math.cos(away + turn)} ${b[1] + size * Math.sin(away + turn)}`;
    return `M${a.join(" ")}L${b.join(" ")}M${wing(0.45)}L${b.join(" ")}L${wing(-0.45)}`;
  };
  const name = (at, end) => `${fill(words[end ? "tip" : "tail"], { n: at + 1 })}: ${where(at, end)}`;
  const where = (at, end) => fill(words.at, { x: arrows[at][2 * end] / 100, y: arrows[at][2 * end + 1] / 100 });
  const draw = (focus) => {
    svg.replaceChildren(...arrows.map((arrow, at) => make("g", { fill: "none", "stroke-linejoin": "round", "stroke-linecap": "round" },
      make("path", { d: shape(arrow), stroke: "#fff", "stroke-width": side * LINE * 2.1 }),
      make("path", { d: shape(arrow), stroke: "#a2431c", "stroke-width": side * LINE }),
      ...[0, 1].map((end) => make("circle", { class: "arrow-end", r: side * 0.03, cx: arrow[2 * end] * width / WHOLE, cy: arrow[2 * end + 1] * height / WHOLE, "stroke-width": side * 0.004, tabindex: 0, role: "button", "aria-label": name(at, end), "data-at": at, "data-end": end })))));
    if (focus) svg.querySelector(`[data-at="${focus[0]}"][data-end="${focus[1]}"]`)?.focus();
  };
  const place = (event) => {
    const box = svg.getBoundingClientRect();
    return [clamp((event.clientX - box.left) / box.width * WHOLE), clamp((event.clientY - box.top) / box.height * WHOLE)];
  };
  const add = (arrow) => {
    if (arrows.length >= MOST) { say(words.most); return false; }
    arrows.push(arrow);
    return true;
  };
  const remove = (at) => {
    if (at < 0) return;
    arrows.splice(at, 1);
    write(); draw(arrows.length ? [Math.min(at, arrows.length - 1), 1] : null);
    say(fill(words.removed, { n: at + 1 }));
  };

  svg.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    const end = event.target.closest(".arrow-end"), spot = place(event);
    if (end) drag = { at: Number(end.dataset.at), end: Number(end.dataset.end), isNew: false };
    else if (add([...spot, ...spot])) drag = { at: arrows.length - 1, end: 1, isNew: true, from: spot };
    if (drag) svg.setPointerCapture(event.pointerId);
  });
  svg.addEventListener("pointermove", (event) => {
    if (!drag) return;
    arrows[drag.at].splice(2 * drag.end, 2, ...place(event));
    draw();
  });
  const release = () => {
    if (!drag) return;
    const [x1, y1, x2, y2] = arrows[drag.at], isShort = Math.hypot((x2 - x1) * width, (y2 - y1) * height) < side * WHOLE * 0.02;
    // A tap is no arrow.
    if (drag.isNew && isShort) arrows.splice(drag.at, 1);
    const focus = arrows[drag.at] ? [drag.at, drag.end] : null;
    drag = null;
    write(); draw(focus);
  };
  svg.addEventListener("pointerup", release);
  svg.addEventListener("pointercancel", release);

  svg.addEventListener("keydown", (event) => {
    const end = event.target.closest(".arrow-end");
    if (!end) return;
    const at = Number(end.dataset.at), which = Number(end.dataset.end), step = event.shiftKey ? 500 : 100;
    const move = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (event.key === "Delete" || event.key === "Backspace") { event.preventDefault(); remove(at); return; }
    if (!move) return;
    event.preventDefault();
    const [x, y] = [arrows[at][2 * which] + move[0], arrows[at][2 * which + 1] + move[1]];
    arrows[at].splice(2 * which, 2, clamp(x), clamp(y));
    write(); draw([at, which]); say(where(at, which));
  });
  document.querySelector("[data-arrow-add]").addEventListener("click", () => {
    if (!add([3500, 6500, 5000, 5000])) return;
    write(); draw([arrows.length - 1, 1]);
  });
  document.querySelector("[data-arrow-undo]").addEventListener("click", () => remove(arrows.length - 1));
  field.addEventListener("input", () => { arrows = read(); draw(); });
  draw();
})();
