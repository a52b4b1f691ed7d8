// What is done in a lesson, minute by minute; where that does not fit, the cheapest cut, taken over and put back with one press.

import { announce, byId, cell, el, fill, goTo, row, say, show } from "./dom.js";
import { fitted } from "./fitted.js";
import { seconds } from "./search.js";
import { asJson, call } from "./service.js";
import { layOut } from "./take.js";
import { answer, change, scenario, term, undo } from "./term.js";
import { attempt } from "./views.js";
import { count, sentence, upper } from "./words.js";

let mine = null; // the lesson whose outline is looked at
let found = null; // its outline
let taken = null; // the term in which its cut is taken over

export function setUpOutline() {
  byId("outline-show").addEventListener("click", () => {
    if (!byId("outline").hidden) close();
    else attempt(async () => (await open()) && goTo("outline-head"));
  });
  byId("outline-take").addEventListener("click", takeOver);
  byId("outline-back").addEventListener("click", () =>
    attempt(async () => {
      await undo();
      goTo("lesson-head");
    }),
  );
  byId("outline-copy").addEventListener("click", () => attempt(copyForPupils));
  byId("copy-print").addEventListener("click", () => byId("copy").contentWindow.print());
}

export function hideOutline() {
  mine = found = taken = null;
  close();
}

// The lesson that is picked now; its outline is looked at anew where it was open.
export function tellOutline(lesson) {
  const same = mine && name(mine) === name(lesson);
  if (!same) hideOutline();
  mine = lesson;
  byId("outline-show").hidden = lesson.delivered || !hasParts(lesson);
  if (byId("outline-show").hidden) close();
  else if (same && !byId("outline").hidden) attempt(open);
}

const name = (lesson) => `${lesson.class}:${lesson.unit}/${lesson.lesson}`;

function hasParts({ unit, lesson }) {
  const listed = scenario().units.find((each) => each.id === unit)?.lessons ?? [];
  return listed.some((each) => each.id === lesson && each.parts?.length);
}

function close() {
  show("outline", false);
  show("copy-box", false);
  byId("outline-show").setAttribute("aria-expanded", "false");
}

function ask(more = {}, accept = "application/json") {
  const query = new URLSearchParams({ lesson: name(mine), seconds: String(seconds()), ...more });
  const body = { scenario: scenario(), sequence: { lessons: term().plan.lessons } };
  return call("POST", `/v1/outlines?${query}`, { ...asJson(body), accept });
}

async function open() {
  const asked = mine;
  const { lessons } = await (await ask()).json();
  if (asked !== mine) return false;
  found = lessons[0];
  say("outline-head", found.why_not ? "It does not fit" : `What is done in it: ${count(found.minutes, "minute")} to fill`);
  tellWhy(found.why_not);
  fill("outline-list", ...remarks().map((text) => el("li", {}, text)));
  byId("outline-take").hidden = !cut();
  byId("outline-back").hidden = taken !== term();
  byId("outline-copy").hidden = !found.parts.length;
  say("outline-title", found.proven ? "Proven best" : "Best found");
  fill("outline-parts", ...found.parts.map(partRow));
  show("outline-wide", found.parts.length > 0);
  show("copy-box", false);
  show("outline");
  byId("outline-show").setAttribute("aria-expanded", "true");
  return true;
}

// The scenario with the cheapest cut made; null where there is none, or a part has no lesson to go to.
function cut() {
  return found.why_not?.cuts.length ? fitted(scenario(), found) : null;
}

function tellWhy(why) {
  if (!why) {
    say("outline-says", "");
  } else if (why.cost === null) {
    say("outline-says", "These cannot all hold, and no cut of its parts makes it fit:");
  } else {
    const cuts = why.cuts.map((each) => each.text).join("; ");
    const moved = why.goes_to.filter(Boolean).map((each) => titled(each));
    const where = moved.length ? ` There is room in ${moved.join(", ")}.` : "";
    say("outline-says", `The cheapest cut with which it fits: ${cuts}.${where} Without it these cannot all hold:`);
  }
}

function titled(ref) {
  return answer().lessons.find((each) => `${each.unit}/${each.lesson}` === ref)?.title ?? ref;
}

function remarks() {
  const of = (words) => found.objectives.filter((each) => words.includes(each.id)).map((each) => each.title);
  const left = found.carried_over.length ? [`Left to the unit's next lesson: ${of(found.carried_over).join(", ")}.`] : [];
  const bare = found.to_prepare.map((each) => `To prepare: ${each} has no material for set work.`);
  return [...(found.why_not?.conflict ?? []), ...found.not_kept, ...found.cautions].map(sentence).concat(left, bare);
}

function partRow(part) {
  const late = part.when_late.filter((each) => each.cuts.length).map((each) => `${each.late} minutes late: ${each.text}.`);
  const things = [...part.needs, part.material].filter(Boolean).join("; ");
  const facts = [things, ...late].filter(Boolean).map((text) => el("span", { class: "facts" }, text));
  return row(
    cell(String(part.start), "count"),
    cell(String(part.minutes), "count"),
    el("th", { scope: "row" }, part.title, ...facts),
    cell(upper(part.pupils)),
    cell(String(part.latest_start), "count"),
  );
}

function takeOver() {
  const next = { ...term(), scenario: cut() };
  taken = next;
  change(next, `the cut of ${mine.title}`, answer());
  goTo("lesson-head");
  announce("The cut is taken over.");
}

async function copyForPupils() {
  const html = await (await ask({ format: "sheet", copy: "true" }, "text/html")).text();
  show("copy-box");
  await layOut("copy", html);
  goTo("copy-head");
}
