// The plan of the term, by class and by week, with holidays and closed days standing in it, and what is proven of it.

import { byId, cell, el, fill, options, row, say, show } from "./dom.js";
import { daysOff } from "./days_off.js";
import { pick, tellAgain } from "./lesson.js";
import { propose } from "./moves.js";
import { aimRow } from "./search.js";
import { answer, onTerm, scenario, shownAnswer, term, titleOf } from "./term.js";
import { attempt, onView } from "./views.js";
import { AIMS, count, dayOfMonth, KINDS, monday, sentence, shortDay, day, STATUS } from "./words.js";

let drawn = null;

export function setUpPlan() {
  byId("by").addEventListener("change", drawLessons);
  byId("term-again").addEventListener("click", () => propose(term(), "planned again"));
  onTerm(() => {
    drawn = null;
  });
  onView("term", () => attempt(draw));
}

async function draw() {
  if (drawn && drawn === answer()) return;
  const shown = await shownAnswer();
  if (!shown || drawn === shown) return;
  drawn = shown;
  const stopped = shown.run?.stopped_by === "hand" ? "Stopped by hand. " : "";
  say("verdict", looked(shown) ? `${stopped}${STATUS[shown.status]}` : "The plan as it stands; every rule holds.");
  fill("beside", ...beside(shown));
  const classes = scenario().classes.map((each) => each.id);
  const before = byId("by").value;
  options("by", [...(classes.length > 1 ? [["", "all classes, by week"]] : []), ...classes.map((each) => [each, `${each}, by date`])]);
  if (classes.includes(before)) byId("by").value = before;
  drawLessons();
  fill("aims-list", ...shown.aims.map((aim) => aimRow(aim.aim, aim, AIMS[aim.aim])));
  const more = shown.more_worth ?? [];
  byId("more-worth-head").hidden = !more.length;
  fill("more-worth", ...more.map((each) => el("li", {}, moreWorth(each))));
}

// What more of something that classes share would be worth at most.
function moreWorth(each) {
  const only = each.windows.length === 1 ? ` ${each.windows[0].where}` : "";
  const alone = each.one_alone ? `, as long as no class by itself, nor classes in step, takes more than ${each.most}` : "";
  return `${each.text}${only}: ${each.aim} could be less by ${each.at_most} at most${alone}.`;
}

const looked = (shown) => shown.aims.some((aim) => aim.bound !== null);

function beside(shown) {
  const title = titles(shown);
  const called = (each) => `${title(each)} (${each.class})`;
  const told = [
    ["Carried over to the next plan", shown.carried_over.map((each) => `${each.what} of ${called(each)}`)],
    ["Met again late", shown.late.map((each) => `${called(each)}, ${day(each.date)}`)],
    ["Left out", shown.left_out.map(called)],
    ["Wishes not granted", shown.verdict.wishes.map((each) => each.message)],
  ];
  const listed = told.filter(([, things]) => things.length).map(([head, things]) => `${head}: ${things.join("; ")}.`);
  return [...listed, ...shown.notes.map(sentence), ...shown.cautions.map(sentence)].map((line) => el("li", {}, line));
}

// The title of a lesson by its names; of one that is not placed what the scenario calls it.
function titles(shown) {
  const known = new Map();
  for (const unit of scenario().units) {
    for (const each of unit.lessons ?? []) known.set(`${unit.id}/${each.id}`, each.title ?? each.id);
  }
  for (const each of scenario().classes.flatMap((one) => one.taught_before ?? []))
    known.set(`before/${each.id}`, each.title ?? each.id);
  for (const each of shown.lessons) known.set(`${each.unit}/${each.lesson}`, each.title);
  return (each) => known.get(`${each.unit}/${each.lesson}`) ?? `${each.unit}/${each.lesson}`;
}

// Lessons, spare periods and days off of a class, or of all, in the order of time; none of the term before.
export function rowsOf(shown, classId = null) {
  const of = (listed) => listed.filter((each) => each.week > 0 && (!classId || each.class === classId));
  const found = [...of(shown.lessons), ...of(shown.spare), ...daysOff(scenario(), classId)];
  return found.sort((a, b) => a.date.localeCompare(b.date) || (a.period ?? -1) - (b.period ?? -1));
}

function drawLessons() {
  tellAgain(drawn);
  const chosen = byId("by").value || null;
  const rows = rowsOf(drawn, chosen);
  const lessons = rows.filter((each) => each.lesson).length;
  const spare = rows.filter((each) => each.period && !each.lesson).length;
  say("plan-title", `${chosen ?? titleOf()}: ${count(lessons, "lesson")}, ${count(spare, "spare period")}`);
  show("plan-class", !chosen);
  const title = titles(drawn);
  const weeks = new Map();
  for (const each of rows) {
    const start = monday(each.date);
    if (!weeks.has(start)) weeks.set(start, []);
    weeks.get(start).push(each);
  }
  const wide = chosen ? 4 : 5;
  const bodies = [...weeks].map(([start, inside]) =>
    el(
      "tbody",
      {},
      el("tr", { class: "week" }, el("th", { scope: "rowgroup", colspan: wide }, weekName(start, inside))),
      ...inside.map((each) => lessonRow(each, title, !chosen)),
    ),
  );
  const plan = byId("plan");
  for (const body of [...plan.tBodies]) body.remove();
  plan.append(...bodies);
}

export function weekName(start, inside) {
  const known = inside.find((each) => each.week);
  const several = new Set([scenario().term.cycle ?? []].flat()).size > 1;
  const named = known ? `Week ${known.week}${several ? ` ${known.label}` : ""}, ` : "";
  return `${named}${named ? "from" : "From"} ${dayOfMonth(start)}`;
}

function lessonRow(each, title, withClass) {
  const wide = withClass ? 5 : 4;
  if (!each.period) return el("tr", { class: "away" }, el("td", { colspan: wide }, each.text));
  const when = [cell(shortDay(each.date), "date"), cell(String(each.period)), ...(withClass ? [cell(each.class)] : [])];
  if (!each.lesson) return el("tr", { class: "spare" }, ...when, el("th", { scope: "row" }, "spare"), el("td", {}));
  const button = el("button", { type: "button", class: "title", "aria-haspopup": "true" }, each.title);
  button.addEventListener("click", () => pick(each, button));
  const facts = el("span", { class: "facts" }, factsOf(each, title).join(" · "));
  return row(...when, el("th", { scope: "row" }, button, facts), cell(String(each.load), "count"));
}

export function factsOf(each, title = titles(drawn ?? answer())) {
  const planned = term().plan.lessons.find((one) => sameLesson(one, each));
  const facts = [KINDS[each.kind]];
  if (each.length > 1) facts.push(`takes ${each.length} periods`);
  if (each.taught !== "in class") facts.push(each.taught);
  if (each.revisits.length)
    facts.push(`meets again: ${each.revisits.map((other) => `${title(other)} after ${count(other.days, "day")}`).join("; ")}`);
  if (each.homework) facts.push(`homework: ${each.homework.title}`);
  if (planned?.pin) facts.push("held there");
  if (each.delivered) facts.push("taught");
  return facts;
}

export function sameLesson(one, other) {
  return one.class === other.class && one.unit === other.unit && one.lesson === other.lesson;
}
