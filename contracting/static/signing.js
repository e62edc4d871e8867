// Draws a signature into a field and writes it down as path data; copies a link. Without this script a
// name is typed and the link is selected by hand.
(() => {
  "use strict";
  const byId = (id) => document.getElementById(id);

  const copy = byId("copy");
  if (copy && navigator.clipboard) {
    copy.hidden = false;
    byId("address").addEventListener("focus", (event) => event.target.select());
    copy.addEventListener("click", async () => {
      byId("address").select();
      await navigator.clipboard.writeText(byId("address").value);
      byId("address-state").textContent = copy.dataset.done;
    });
  }

  const form = byId("sign-form");
  if (!form) return;
  const errors = byId("form-errors");
  if (errors) errors.focus();
  const field = byId("signature-field");
  const canvas = field.querySelector("canvas");
  const pen = canvas.getContext("2d");
  const kept = byId("id_drawing");
  let lines = read(kept.value);
  let drawing = false;

  for (const part of form.querySelectorAll(".only-script")) part.hidden = false;
  const chosen = () => {
    field.hidden = form.elements.kind.value !== "drawn";
  };
  form.addEventListener("change", chosen);
  chosen();
  draw();

  function read(data) {
    const strokes = data.match(/M[^M]+/g) || [];
    return strokes.map((stroke) => stroke.slice(1).split("L").map((point) => point.split(" ").map(Number)));
  }

  function write() {
    // A touch without a stroke is no line, and the server refuses it.
    const whole = lines.filter((line) => line.length > 1);
    kept.value = whole.map((line) => "M" + line.map((point) => point.join(" ")).join("L")).join("");
  }

  function draw() {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    pen.lineWidth = 3;
    pen.lineCap = pen.lineJoin = "round";
    pen.strokeStyle = "#111";
    for (const line of lines) {
      pen.beginPath();
      line.forEach(([x, y], at) => (at ? pen.lineTo(x, y) : pen.moveTo(x, y)));
      pen.stroke();
    }
  }

  function point(event) {
    const box = canvas.getBoundingClientRect();
    const within = (value, most) => Math.max(0, Math.min(most, Math.round(value)));
    return [
      within(((event.clientX - box.left) / box.width) * canvas.width, canvas.width),
      within(((event.clientY - box.top) / box.height) * canvas.height, canvas.height),
    ];
  }

  function add(next) {
    const line = lines[lines.length - 1];
    const last = line[line.length - 1];
    // Points closer than this are not seen and only lengthen the data.
    if (Math.hypot(next[0] - last[0], next[1] - last[1]) >= 3) line.push(next);
  }

  canvas.addEventListener("pointerdown", (event) => {
    if (!event.isPrimary || event.button !== 0) return;
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    drawing = true;
    lines.push([point(event)]);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!drawing || !event.isPrimary) return;
    for (const one of event.getCoalescedEvents ? event.getCoalescedEvents() : [event]) add(point(one));
    draw();
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, () => {
      drawing = false;
      write();
    });
  }
  byId("signature-clear").addEventListener("click", () => {
    lines = [];
    write();
    draw();
  });
})();
