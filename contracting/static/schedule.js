// Moves visits on the calendar: by dragging, or by the arrow keys on a focused block. What would follow is
// asked of the server and shown before anything is stored. Without this script a block opens its form.
(() => {
  "use strict";
  const byId = (id) => document.getElementById(id);
  const form = byId("look-form");
  const panel = byId("look");
  const said = byId("look-said");
  if (!form || !panel) return;
  byId("how").hidden = false;

  const SLOP = 6; // pixels before a press is a drag
  const PAUSE = 350; // milliseconds after the last arrow before the server is asked
  let pending = null; // {block, day}
  let asked = 0;
  let timer = 0;
  let grip = null;

  const cellOf = (block, day) => block.closest("tr").querySelector(`td[data-day="${day}"]`);
  const shifted = (day, count) => {
    const [year, month, date] = day.split("-").map(Number);
    return new Date(Date.UTC(year, month - 1, date + count)).toISOString().slice(0, 10);
  };

  function aim(block, day) {
    for (const one of document.querySelectorAll(".board .target")) one.classList.remove("target");
    const cell = cellOf(block, day);
    if (cell) cell.classList.add("target");
    pending = { block, day };
    const head = document.querySelector(`.board th[data-day="${day}"]`);
    return head ? head.dataset.name : day;
  }

  function leave(tell) {
    clearTimeout(timer);
    asked += 1;
    for (const one of document.querySelectorAll(".board .target")) one.classList.remove("target");
    if (pending) pending.block.classList.remove("held");
    pending = null;
    panel.hidden = true;
    panel.replaceChildren();
    if (tell) said.textContent = said.dataset.left;
  }

  async function look() {
    if (!pending) return;
    const { block, day } = pending;
    const number = (asked += 1);
    const body = new FormData(form);
    body.append("day", day);
    body.append("seen", block.dataset.seen);
    let text = "";
    try {
      const answer = await fetch(block.dataset.look, { method: "POST", body, credentials: "same-origin" });
      if (!answer.ok || answer.redirected) throw new Error(String(answer.status));
      text = await answer.text();
    } catch {
      if (number !== asked) return;
      leave(false);
      said.textContent = said.dataset.failed;
      panel.textContent = said.dataset.failed;
      panel.hidden = false;
      return;
    }
    if (number !== asked || !pending) return; // moved on meanwhile
    panel.innerHTML = text;
    panel.hidden = false;
    const spoken = panel.cloneNode(true);
    for (const one of spoken.querySelectorAll("form")) one.remove();
    said.textContent = spoken.textContent.replace(/\s+/g, " ").trim();
  }

  function store() {
    const ready = panel.querySelector('form button[name="act"]');
    if (ready) ready.click();
  }

  panel.addEventListener("click", (event) => {
    if (event.target.closest("[data-leave]")) {
      const block = pending && pending.block;
      leave(true);
      if (block) block.focus();
    }
  });

  document.addEventListener("keydown", (event) => {
    const block = event.target.closest && event.target.closest(".board .visit[data-look]");
    if (event.key === "Escape" && (pending || grip)) {
      grip = null;
      leave(true);
      return;
    }
    if (!block || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = { ArrowLeft: -1, ArrowRight: 1, ArrowUp: -7, ArrowDown: 7 }[event.key];
    if (step) {
      event.preventDefault();
      const from = pending && pending.block === block ? pending.day : block.dataset.day;
      panel.hidden = true;
      panel.replaceChildren();
      said.textContent = `${said.dataset.wanted} ${aim(block, shifted(from, step))}`;
      clearTimeout(timer);
      asked += 1;
      timer = setTimeout(look, PAUSE);
    } else if (event.key === "Enter" && pending && pending.block === block) {
      event.preventDefault();
      store();
    }
  });

  // Leaving the block with the keyboard for another one leaves the move; going to the panel does not.
  document.addEventListener("focusin", (event) => {
    const block = event.target.closest && event.target.closest(".board .visit[data-look]");
    if (pending && !grip && block && block !== pending.block) leave(true);
  });

  document.addEventListener("pointerdown", (event) => {
    const block = event.target.closest && event.target.closest(".board .visit[data-look]");
    if (!block || event.button !== 0) return;
    grip = { block, x: event.clientX, y: event.clientY, id: event.pointerId, moving: false };
  });

  document.addEventListener("pointermove", (event) => {
    if (!grip || event.pointerId !== grip.id) return;
    if (!grip.moving) {
      if (Math.hypot(event.clientX - grip.x, event.clientY - grip.y) < SLOP) return;
      leave(false);
      grip.moving = true;
      grip.block.setPointerCapture(event.pointerId);
      grip.block.classList.add("held");
    }
    // The block keeps its row: a visit changes its day here, and its people on its own page.
    const under = document.elementsFromPoint(event.clientX, event.clientY);
    const cell = under.map((one) => one.closest("td[data-day]")).find(Boolean);
    if (cell) aim(grip.block, cell.dataset.day);
  });

  document.addEventListener("pointerup", (event) => {
    if (!grip || event.pointerId !== grip.id) return;
    const { block, moving } = grip;
    grip = null;
    if (!moving) return;
    block.classList.remove("held");
    // The click that follows a drag is not meant to open the visit.
    const refuse = (click) => click.preventDefault();
    block.addEventListener("click", refuse);
    setTimeout(() => {
      block.removeEventListener("click", refuse);
      block.focus();
    }, 60);
    if (pending && pending.day !== block.dataset.day) look();
    else leave(false);
  });

  document.addEventListener("pointercancel", () => {
    if (grip) grip.block.classList.remove("held");
    grip = null;
    leave(false);
  });
  document.addEventListener("dragstart", (event) => {
    if (event.target.closest && event.target.closest(".board .visit")) event.preventDefault();
  });
})();
