// Beginning a term: dates, days off, classes and lessons become a scenario, and that a first plan.

import { byId, el, fill, say } from "./dom.js";
import { ClassForm } from "./class_form.js";
import { propose } from "./moves.js";
import { understood } from "./pasted.js";
import { onWithoutPlan } from "./keep.js";
import { begin, change, term } from "./term.js";
import { attempt } from "./views.js";
import { titleBetween } from "./words.js";
import { Weeks } from "./weeks.js";

const LONGEST = 800; // days
const USUAL = [
  ["practice_after_dense", "A hard lesson is practised at most so many periods later:", 2],
  ["least", "What is met again is met again at least so many days later:", 7],
  ["most", "and at most so many:", 21],
  ["marking", "School days from a test until it is talked through:", 3],
  ["consecutive_high_load", "Hard lessons in a row, at most:", 2],
];

let weeks = null;
let classes = [];

export function setUpBegin() {
  weeks = new Weeks("weeks");
  for (const id of ["first", "last", "cycle"]) byId(id).addEventListener("change", showDates);
  byId("country").addEventListener("change", askCountry);
  byId("another").addEventListener("click", () => addClass().name.focus());
  byId("begin-form").addEventListener("submit", (event) => {
    event.preventDefault();
    attempt(make);
  });
  fill(
    "usual",
    ...USUAL.map(([key, text, value]) =>
      el("span", {}, el("label", { for: `usual-${key}` }, text), " ", number(`usual-${key}`, value)),
    ),
  );
  addClass();
  onWithoutPlan((read) => propose(read, "the first plan", "term"));
}

function number(id, value) {
  return el("input", { id, type: "number", min: "0", max: "100", value: String(value), class: "short" });
}

const labels = () => (byId("cycle").value === "" ? ["A"] : byId("cycle").value === "A" ? ["A", "B"] : ["B", "A"]);

function addClass() {
  const made = new ClassForm(
    () => classes,
    () => {
      classes = classes.filter((each) => each !== made);
      made.box.remove();
      for (const each of classes) each.offerSame();
      byId("another").focus();
    },
  );
  classes.push(made);
  made.show(labels());
  made.name.addEventListener("change", () => classes.forEach((each) => each.offerSame()));
  byId("classes").append(made.box);
  for (const each of classes) each.offerSame();
  return made;
}

function datesWrong() {
  const [first, last] = [byId("first").value, byId("last").value];
  if (!first || !last) return "";
  if (last < first) return "The last day comes before the first.";
  return (Date.parse(last) - Date.parse(first)) / 86400000 > LONGEST ? `A term has at most ${LONGEST} days.` : "";
}

async function showDates() {
  const wrong = datesWrong();
  say("dates-wrong", wrong);
  const [first, last] = [byId("first").value, byId("last").value];
  weeks.show(wrong ? "" : first, last, labels());
  for (const each of classes) each.show(labels());
  if (byId("country").value.trim()) await askCountry();
}

async function askCountry() {
  const country = byId("country").value.trim();
  const found = await weeks.askBankHolidays(country);
  const none = weeks.mondays().length ? "None falls on a school day of these weeks." : "They are offered once the dates are there.";
  say("country-says", !country ? "May stay empty." : found.length ? "They are offered below the weeks." : none);
}

function wanting() {
  const [first, last] = [byId("first").value, byId("last").value];
  if (!first || !last) return ["Say on which days term begins and ends.", byId(first ? "last" : "first")];
  if (datesWrong()) return [datesWrong(), byId("last")];
  return classes.map((each) => each.wanting()).find(Boolean) ?? null;
}

async function make() {
  const amiss = wanting();
  say("begin-wrong", amiss?.[0] ?? "");
  if (amiss) {
    amiss[1]?.focus();
    return;
  }
  const own = classes.filter((each) => !each.same.value);
  const pasted = await understood(own.map((each) => ({ class: each.name.value.trim(), text: each.pasted.text })));
  const wrong = own.find((_, at) => pasted.lists[at].lines.some((line) => line.wrong));
  for (const [at, each] of own.entries()) each.pasted.tell(pasted.lists[at].lines);
  if (wrong) {
    say("begin-wrong", `Some lines of ${wrong.name.value.trim()} cannot be used yet: the list under them says why.`);
    wrong.pasted.area.focus();
    return;
  }
  const scenario = stated(pasted, new Map(own.map((each, at) => [each.number, pasted.lists[at].units])));
  // A term that is there already can be brought back.
  if (term()) change(begun(scenario), "the term begun anew");
  else begin(begun(scenario), fileName(scenario));
  await propose(begun(scenario), "the first plan", "term");
}

const begun = (scenario) => ({ term: 1, scenario, plan: null, earlier: [] });

function fileName(scenario) {
  return scenario.title.split(/[^\p{L}\p{N}]+/u).filter(Boolean).slice(0, 6).join("-").toLowerCase();
}

// The scenario that the form says.
function stated(pasted, units) {
  const [first, last] = [byId("first").value, byId("last").value];
  const { live_quotas, ...calendar } = weeks.said();
  const entered = (key) => Number(byId(`usual-${key}`).value);
  const country = byId("country").value.trim();
  const term = { first, last, cycle: [...labels()].sort() };
  if (labels().length > 1) term.first_label = labels()[0];
  if (country) term.country = country;
  const names = classes.map((each) => each.name.value.trim());
  return {
    format: 1,
    title: titleBetween(names, first, last),
    term,
    ...calendar,
    rules: {
      practice_after_dense: entered("practice_after_dense"),
      retrieval: { least: entered("least"), most: entered("most") },
      marking: entered("marking"),
      consecutive_high_load: entered("consecutive_high_load"),
      ...(live_quotas.length ? { live_quotas } : {}),
    },
    patterns: pasted.patterns,
    units: pasted.units,
    classes: classes.map((each) => ({
      id: each.name.value.trim(),
      ...(each.teacher.value.trim() ? { teacher: each.teacher.value.trim() } : {}),
      units: units.get(Number(each.same.value || each.number)),
      timetable: each.timetable(),
    })),
  };
}
