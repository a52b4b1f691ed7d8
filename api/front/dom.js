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

// Moves keyboard and reading position to a heading that has just come about.
export function goTo(id) {
  const heading = byId(id);
  heading.focus({ preventScroll: true });
  heading.scrollIntoView({ block: "start" });
}

// A heading with what a refusal says, in a box of the page: its head, a sentence, and further places where there are any.
export function tellRefusal(box, refused) {
  say(`${box}-head`, refused.title);
  say(`${box}-says`, refused.detail);
  fill(`${box}-list`, ...refused.problems.map((problem) => el("li", {}, problem.message, placeAfter(problem))));
  show(box);
  goTo(`${box}-head`);
}

function placeAfter(problem) {
  return problem.where ? ` (${problem.where})` : "";
}

const FEW = 8;

// Statements that cannot all hold, under the sentence that says what does not come out; many are folded away.
export function statements(text, items) {
  const list = el("ul", {}, ...items);
  const head = el("p", {}, `${text.charAt(0).toUpperCase()}${text.slice(1)}`);
  if (items.length <= FEW) return [head, list];
  return [head, el("details", {}, el("summary", {}, `The ${items.length} statements that cannot all hold`), list)];
}
