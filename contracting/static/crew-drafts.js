// What is typed and not entered yet stays with its form, on this phone and for this person, until it is
// entered: a link tapped, a call taken or a page the phone threw away loses nothing.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const LONGEST_MS = 3 * 24 * 3600 * 1000; // an older one is of another day's work
  const nameOf = (person) => `crew-drafts-${person}`;

  function read(person) {
    try {
      return JSON.parse(localStorage.getItem(nameOf(person))) || {};
    } catch {
      return {};
    }
  }

  function write(person, drafts) {
    try {
      if (Object.keys(drafts).length) localStorage.setItem(nameOf(person), JSON.stringify(drafts));
      else localStorage.removeItem(nameOf(person));
    } catch {
      // A phone that is full or keeps nothing: the form still holds what was typed.
    }
  }

  function keyOf(form) {
    const { kind, check = "", ref = "", mends = "" } = form.dataset;
    return [location.pathname, kind, check, ref, mends].join(" ");
  }

  // Only what somebody typed or chose, not what the page filled in.
  function valuesOf(form) {
    const values = {};
    for (const field of form.elements) {
      if (!field.name || !field.dataset.typed || ["hidden", "file"].includes(field.type) || field.tagName === "BUTTON") continue;
      if (field.type === "checkbox") values[field.name] = field.checked ? field.value : "";
      else if (field.type !== "radio" || field.checked) values[field.name] = field.value;
    }
    return values;
  }

  function keep(person, form) {
    const drafts = read(person);
    const values = valuesOf(form);
    delete drafts[keyOf(form)];
    if (Object.values(values).some(Boolean)) drafts[keyOf(form)] = { at: Date.now(), values };
    write(person, drafts);
  }

  function drop(person, form) {
    const drafts = read(person);
    delete drafts[keyOf(form)];
    write(person, drafts);
  }

  function fill(form, values) {
    for (const [name, value] of Object.entries(values)) {
      const found = form.elements[name];
      const fields = found instanceof RadioNodeList ? [...found] : [found].filter(Boolean);
      for (const field of fields) {
        if (field.type === "radio") field.checked = field.value === value;
        else if (field.type === "checkbox") field.checked = field.value === value;
        else field.value = value;
        if (field.type !== "radio" || field.checked) field.dataset.typed = "1";
      }
    }
    form.closest("details")?.setAttribute("open", "");
  }

  // A page that dies between keeping the entry and dropping its draft must not offer it a second time.
  function entering(person, form, key) {
    const drafts = read(person);
    if (!drafts[keyOf(form)]) return;
    drafts[keyOf(form)].entering = key;
    write(person, drafts);
  }

  const isOver = async (draft) => Date.now() - draft.at > LONGEST_MS || Boolean(draft.entering && (await crew.store.one("acts", draft.entering)));

  // Returns how many of the forms got back what was typed in them; one that is being typed in is left alone.
  async function restore(person, forms, isMending = false) {
    const over = [];
    for (const [key, draft] of Object.entries(read(person))) if (await isOver(draft)) over.push(key);
    const drafts = read(person);
    for (const key of over) delete drafts[key];
    if (over.length) write(person, drafts);
    const found = forms.filter((form) => drafts[keyOf(form)] && (isMending || !form.querySelector("[data-typed]")));
    for (const form of found) fill(form, drafts[keyOf(form)].values);
    return found.length;
  }

  crew.drafts = { keep, drop, entering, restore, forget: (person) => write(person, {}) };
})();
