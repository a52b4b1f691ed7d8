// One week: its lessons, what became of them, and the rest planned again.

import { announce, byId, cell, choice, el, fill, options, say } from "./dom.js";
import { propose } from "./moves.js";
import { factsOf, rowsOf, sameLesson, weekName } from "./plan.js";
import { takeForm } from "./take.js";
import { fillIn, onTerm, shownAnswer, term } from "./term.js";
import { attempt, onView } from "./views.js";
import { count, day, monday, shortDay, today } from "./words.js";

const BECAME = [
  ["", "not told yet"],
  ["delivered", "taught"],
  ["part-taught", "begun, not finished"],
  ["needs another", "taught, one more wanted"],
  ["lost", "did not happen"],
  ["skipped", "not to be taught at all"],
];

let weeks = new Map(); // Monday to the rows of its days
let anew = true;

export function setUpWeek() {
  byId("week-of").addEventListener("change", drawWeek);
  byId("week-before").addEventListener("click", () => turn(-1));
  byId("week-after").addEventListener("click", () => turn(1));
  byId("all-taught").addEventListener("click", () => tell((each) => each.what === null, "delivered"));
  byId("lost-day").addEventListener("change", (event) => {
    const lost = event.target.value;
    if (lost) tell((each) => each.date === lost, "lost");
    event.target.value = "";
  });
  byId("again").addEventListener("click", () => propose(term(), "the week recorded", "week"));
  byId("week-print").addEventListener("click", () => window.print());
  byId("week-calendar").addEventListener("click", () => takeForm("calendar"));
  onTerm(() => {
    anew = true;
  });
  onView("week", () => attempt(draw));
}

async function draw() {
  if (!anew) return;
  const shown = await shownAnswer();
  if (!shown) return;
  anew = false;
  weeks = new Map();
  for (const each of rowsOf(shown)) {
    const start = monday(each.date);
    if (!weeks.has(start)) weeks.set(start, []);
    weeks.get(start).push(each);
  }
  const before = byId("week-of").value;
  options("week-of", [...weeks].map(([start, inside]) => [start, weekName(start, inside)]));
  byId("week-of").value = weeks.has(before) ? before : usual();
  drawWeek();
}

// The week of today; outside term the first of which something is not told.
function usual() {
  if (weeks.has(monday(today()))) return monday(today());
  const open = [...weeks].find(([, inside]) => inside.some((each) => each.lesson && rowOf(each)?.what === null));
  return (open ?? [...weeks][0])[0];
}

function turn(by) {
  const select = byId("week-of");
  select.selectedIndex = Math.min(Math.max(select.selectedIndex + by, 0), select.options.length - 1);
  drawWeek();
  announce(byId("week-title").textContent);
}

const inWeek = () => weeks.get(byId("week-of").value) ?? [];
const rowOf = (lesson) => term().plan.lessons.find((each) => sameLesson(each, lesson));

function drawWeek() {
  const inside = inWeek();
  say("week-title", weekName(byId("week-of").value, inside));
  fill("week-list", ...inside.map(weekRow));
  const days = [...new Set(inside.filter((each) => each.lesson).map((each) => each.date))];
  options("lost-day", [["", "(choose a day)"], ...days.map((date) => [date, shortDay(date)])]);
  byId("week-before").disabled = byId("week-of").selectedIndex === 0;
  byId("week-after").disabled = byId("week-of").selectedIndex === byId("week-of").options.length - 1;
  tellTold();
}

function weekRow(each) {
  if (!each.period) return el("tr", { class: "away" }, el("td", { colspan: 4 }, each.text));
  const when = [cell(`${shortDay(each.date)}, period ${each.period}`, "date"), cell(each.class)];
  if (!each.lesson) return el("tr", { class: "spare" }, ...when, el("td", {}, "spare"), el("td", { class: "no-print" }));
  const lesson = el("th", { scope: "row" }, each.title, el("span", { class: "facts" }, factsOf(each).join(" · ")));
  const told = rowOf(each);
  const became = choice(`What happened to ${each.title}, ${each.class}, ${shortDay(each.date)}`, BECAME, told?.what ?? "", (value) => {
    setWhat((one) => sameLesson(one, each), value || null);
  });
  return el("tr", {}, ...when, lesson, el("td", { class: "no-print" }, told ? became : ""));
}

function setWhat(which, what) {
  const rows = term().plan.lessons.map((each) => (which(each) ? { ...each, what } : each));
  fillIn({ ...term(), plan: { ...term().plan, lessons: rows } });
  tellTold();
}

// Says the same of several lessons of the week.
function tell(which, what) {
  const here = inWeek().filter((each) => each.lesson);
  setWhat((each) => here.some((one) => sameLesson(one, each)) && which(each), what);
  drawWeek();
  announce(byId("week-says").textContent);
}

function tellTold() {
  const told = term().plan.lessons.filter((each) => each.what !== null);
  const last = told.map((each) => each.date).sort().at(-1);
  const here = inWeek().filter((each) => each.lesson && rowOf(each)?.what === null).length;
  const until = last ? `Told up to ${day(last)}. ` : "";
  say("week-says", `${until}${here ? `${count(here, "lesson")} of this week not told yet.` : "All of this week is told."}`);
}
