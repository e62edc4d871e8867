/* A tap on the plan fills in the two lengths beside it, and typed lengths show where they lie. Without this
   script the room and both lengths are chosen and typed. */
"use strict";
(() => {
  const MARK = "http://www.w3.org/2000/svg";
  const room = document.getElementById("id_room");
  const left = document.getElementById("id_from_left");
  const top = document.getElementById("id_from_top");
  const plans = [...document.querySelectorAll(".tap-plan")];
  if (!left || !top || plans.length === 0) return;

  const numbers = (plan) => ["left", "top", "width", "depth", "scale"].map((name) => Number(plan.dataset[name]));

  /* Lengths as people on the site write them: half inches, or whole centimetres. */
  const written = (mm, system) =>
    system === "metric" ? `${Math.round(mm / 10)} cm` : `${Math.round((mm / 25.4) * 2) / 2}"`;

  /* Reads the plain spellings this script writes itself; what else is typed the server reads. */
  const read = (text) => {
    const found = /^\s*([\d.]+)\s*("|in|cm|mm)\s*$/.exec(text);
    return found ? Number(found[1]) * { '"': 25.4, in: 25.4, cm: 10, mm: 1 }[found[2]] : null;
  };

  const shown = () => plans.find((plan) => !plan.hidden);

  function mark() {
    for (const plan of plans) plan.querySelectorAll(".tap").forEach((old) => old.remove());
    const plan = shown();
    const across = read(left.value);
    const down = read(top.value);
    if (!plan || across === null || down === null) return;
    const [boxLeft, boxTop, , , scale] = numbers(plan);
    const circle = document.createElementNS(MARK, "circle");
    circle.setAttribute("class", "tap");
    circle.setAttribute("cx", boxLeft + across / scale);
    circle.setAttribute("cy", boxTop + down / scale);
    circle.setAttribute("r", "2.9");
    circle.setAttribute("fill", "#a2431c");
    circle.setAttribute("stroke", "#7d3112");
    circle.setAttribute("stroke-width", "0.35");
    plan.querySelector("svg").append(circle);
  }

  function choose() {
    const wanted = room && room.value;
    for (const plan of plans) plan.hidden = plans.length > 1 && plan.dataset.room !== wanted;
    mark();
  }

  function tapped(event) {
    const plan = event.currentTarget;
    const svg = plan.querySelector("svg");
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const [boxLeft, boxTop, width, depth, scale] = numbers(plan);
    const within = (value, most) => Math.min(Math.max(value, 0), most);
    /* Rounded down to the step of the spelling at the far wall, so that it stays inside. */
    const spell = (value, most) => {
      const text = written(value, plan.dataset.system);
      return read(text) > most ? written(most - (plan.dataset.system === "metric" ? 10 : 12.7), plan.dataset.system) : text;
    };
    left.value = spell(within(at.x - boxLeft, width) * scale, width * scale);
    top.value = spell(within(at.y - boxTop, depth) * scale, depth * scale);
    if (room) room.value = plan.dataset.room;
    mark();
  }

  for (const plan of plans) {
    plan.classList.add("live");
    plan.querySelector("svg").addEventListener("click", (event) => tapped({ currentTarget: plan, clientX: event.clientX, clientY: event.clientY }));
    plan.querySelector(".with-script").hidden = false;
    plan.querySelector(".without-script").hidden = true;
  }
  if (room && !room.value && plans.length === 1) room.value = plans[0].dataset.room;
  if (room) room.addEventListener("change", choose);
  left.addEventListener("input", mark);
  top.addEventListener("input", mark);
  choose();
})();
