// The next term: what is left over comes along, new lessons and days off are added, and it is planned.

import { byId, el, fill, goTo, say, show } from "./dom.js";
import { forgetFile } from "./keep.js";
import { propose } from "./moves.js";
import { PastedLessons, understood } from "./pasted.js";
import { asJson, json } from "./service.js";
import { change, onTerm, saved, calledFile, scenario, term } from "./term.js";
import { attempt } from "./views.js";
import { count, day, titleBetween } from "./words.js";
import { Weeks } from "./weeks.js";

let weeks = null;
let rolled = null; // the skeleton of the next term
let fields = []; // pasted lessons, a field for each class

export function setUpNext() {
  weeks = new Weeks("next-weeks");
  byId("next-form").addEventListener("submit", (event) => {
    event.preventDefault();
    attempt(roll);
  });
  byId("rolled-make").addEventListener("click", () => attempt(make));
  onTerm(() => {
    rolled = null;
    show("rolled", false);
  });
}

async function roll() {
  const [first, last] = [byId("next-first").value, byId("next-last").value];
  const amiss = !first || !last ? "Say on which days the next term begins and ends." : last < first ? "The last day comes before the first." : "";
  say("next-wrong", amiss);
  if (amiss) {
    byId(first ? "next-last" : "next-first").focus();
    return;
  }
  const body = { scenario: scenario(), sequence: { lessons: term().plan.lessons }, first, last };
  rolled = await json("POST", "/v1/next-terms", asJson(body));
  weeks.show(first, last, ["A"]);
  await weeks.askBankHolidays(scenario().term.country ?? "");
  const lines = [
    ...rolled.carried.map((text) => `Comes along: ${text}`),
    ...rolled.to_fill_in.map((text) => `To be filled in: ${text}`),
    ...rolled.no_longer_fits.map((text) => `Left behind: ${text}`),
  ];
  const along = rolled.carried.length ? count(rolled.carried.length, "thing comes", "things come") : "nothing comes";
  say("rolled-head", `${day(first)} to ${day(last)}: ${along} along`);
  fill("rolled-list", ...lines.map((text) => el("li", {}, text)));
  fields = rolled.scenario.classes.map((each, at) => new PastedLessons(`next-${at}`, `New lessons of ${each.id}, one to a line`, () => each.id));
  fill("next-lessons", ...fields.map((each) => each.box));
  show("rolled");
  goTo("rolled-head");
}

async function make() {
  const next = structuredClone(rolled.scenario);
  const filled = fields.filter((each) => each.text.trim());
  if (filled.length) {
    const pasted = await understood(filled.map((each) => ({ class: each.className(), text: each.text })));
    const wrong = filled.find((_, at) => pasted.lists[at].lines.some((line) => line.wrong));
    for (const [at, each] of filled.entries()) each.tell(pasted.lists[at].lines);
    say("rolled-wrong", wrong ? `Some lines of ${wrong.className()} cannot be used yet: the list under them says why.` : "");
    if (wrong) {
      wrong.area.focus();
      return;
    }
    addUnits(next, pasted);
  }
  nameAnew(next);
  const { live_quotas: quotas, ...calendar } = weeks.said();
  for (const [key, entries] of Object.entries(calendar)) {
    if (entries.length) next[key] = [...(next[key] ?? []), ...entries];
  }
  if (quotas.length) next.rules = { ...next.rules, live_quotas: quotas };
  forgetFile();
  const named = `${calledFile()}-next`;
  const begun = { term: 1, scenario: next, plan: null, earlier: [] };
  change(begun, "the next term begun");
  saved(named);
  await propose(begun, "the first plan of the next term", "term");
}

// A term that was called by its classes and dates hands on no name.
function nameAnew(next) {
  const { title, term: before, classes } = scenario();
  const called = (each, first, last) => titleBetween(each.map((one) => one.id), first, last);
  if (title === called(classes, before.first, before.last)) next.title = called(next.classes, byId("next-first").value, byId("next-last").value);
}

// The units of pasted lessons, after what is left of a class's old ones; an id that is taken gets a number.
function addUnits(next, pasted) {
  const taken = new Set(next.units.map((each) => each.id));
  const called = new Map();
  for (const unit of pasted.units) {
    let id = unit.id;
    for (let number = 2; taken.has(id); number++) id = `${unit.id}-${number}`;
    taken.add(id);
    called.set(unit.id, id);
    next.units.push({ ...unit, id, title: unit.title ?? unit.id });
  }
  if (!(next.patterns ?? []).some((each) => each.id === pasted.patterns[0].id))
    next.patterns = [...(next.patterns ?? []), ...pasted.patterns];
  for (const list of pasted.lists) {
    const of = next.classes.find((each) => each.id === list.class);
    of.units = [...[of.units].flat(), ...list.units.map((unit) => called.get(unit))];
  }
}
