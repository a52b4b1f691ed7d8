// Elements of the page by their ids, and new ones whose text is always text.

export function byId(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no #${id}`);
  return found;
}

export function el(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value !== null && value !== false) made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children.filter((child) => child !== null && child !== ""));
  return made;
}

export function fill(id, ...children) {
  byId(id).replaceChildren(...children);
}

export function say(id, text) {
  byId(id).textContent = text;
}

export function show(id, shown = true) {
  byId(id).hidden = !shown;
}

// Read out by a screen reader.
export function announce(text) {
  say("said", text);
}

// Moves keyboard and reading position to a heading that has just come about.
export function goTo(id) {
  const heading = byId(id);
  heading.focus({ preventScroll: true });
  heading.scrollIntoView({ block: "start" });
}

export function options(id, listed, chosen) {
  fill(id, ...listed.map(([value, text]) => el("option", { value }, text)));
  if (chosen !== undefined) byId(id).value = chosen;
}

// A choice between values, with its name for a screen reader.
export function choice(name, listed, chosen, changed) {
  const select = el(
    "select",
    { "aria-label": name, onchange: () => changed(select.value) },
    ...listed.map(([value, text]) => el("option", { value }, text)),
  );
  select.value = chosen;
  return select;
}

export function row(...cells) {
  return el("tr", {}, ...cells);
}

export function cell(text, kind = "") {
  return el("td", kind ? { class: kind } : {}, text);
}

// A table with a heading for each column, in a box that scrolls sideways where it must.
export function table(id, caption, heads, rows) {
  return el(
    "div",
    { class: "wide", tabindex: "0", role: "region", "aria-labelledby": id },
    el(
      "table",
      {},
      el("caption", { id }, caption),
      el("thead", {}, row(...heads.map((head) => el("th", { scope: "col" }, head)))),
      el("tbody", {}, ...rows),
    ),
  );
}

const FEW = 8;

// Statements that cannot all hold, under the sentence that says what does not come out; many are folded away.
export function statements(text, items) {
  const list = el("ul", {}, ...items);
  const head = el("p", {}, `${text.charAt(0).toUpperCase()}${text.slice(1)}`);
  if (items.length <= FEW) return [head, list];
  return [head, el("details", {}, el("summary", {}, `The ${items.length} statements that cannot all hold`), list)];
}
