// The beginning that all futures share until it is announced which of them comes.

import { byId, cell, el, row, statements, table } from "./dom.js";
import { change, scenario, term } from "./term.js";
import { goToView } from "./views.js";
import { day, place } from "./words.js";

export function openingTold({ shared_opening: shared }) {
  const head = el("h3", {}, `The same lessons before ${day(shared.until)}`);
  if (shared.conflict) return [head, ...conflictTold(shared.conflict)];
  if (!shared.continuations.length) return [head, el("p", {}, "None was found in the time: allow more.")];
  const [first] = shared.continuations;
  const titles = new Map(first.lessons.map((each) => [`${each.class} ${each.unit}/${each.lesson}`, each.title]));
  const rows = shared.opening.map((each) =>
    row(
      cell(place(each), "date"),
      cell(each.class),
      el("th", { scope: "row" }, each.lesson ? (titles.get(`${each.class} ${each.unit}/${each.lesson}`) ?? each.lesson) : "spare"),
    ),
  );
  const losses = shared.continuations.map((each) => el("li", {}, `${each.name === "base" ? "As planned" : each.name}: ${lost(each)}`));
  const take = el("button", { type: "button" }, "Begin like this");
  take.addEventListener("click", () => takeBeginning(shared.continuations.find((each) => each.name === "base")));
  return [
    head,
    el("p", {}, "Whichever comes, these weeks are right. What beginning alike costs each of them:"),
    el("ul", {}, ...losses),
    table("opening-title", "Until it is announced", ["When", "Class", "Lesson"], rows),
    el("p", {}, take),
  ];
}

function lost(continuation) {
  const worse = continuation.losses.filter((each) => each.loss !== 0);
  return worse.length ? worse.map((each) => `${each.aim} ${each.loss > 0 ? `${each.loss} worse` : `${-each.loss} better`}`).join(", ") : "nothing";
}

function conflictTold(conflict) {
  const until = conflict.possible_until ? ` Up to ${day(conflict.possible_until)} they could.` : "";
  const named = conflict.futures.map((name) => (name === "base" ? "the plan as it is" : name)).join(", ");
  const said = `These cannot begin alike: ${named}.${until}`;
  return statements(said, (conflict.reasons ?? []).map((each) => el("li", {}, each.text)));
}

function takeBeginning(base) {
  const known = new Map(term().plan.lessons.map((each) => [`${each.class} ${each.unit}/${each.lesson}`, each]));
  const lessons = base.lessons.map(({ class: of, unit, lesson, title, date, period, taught, revisits }) => ({
    class: of,
    unit,
    lesson,
    title,
    date,
    period,
    taught,
    revisits: revisits.map((each) => `${each.unit}/${each.lesson}`),
    what: known.get(`${of} ${unit}/${lesson}`)?.what ?? null,
    pin: known.get(`${of} ${unit}/${lesson}`)?.pin ?? false,
  }));
  change({ ...term(), scenario: scenario(), plan: { ...term().plan, lessons } }, "begin as all futures can");
  goToView("term");
  byId("term-head").focus();
}
