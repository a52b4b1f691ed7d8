// What could come otherwise: put beside the plan, several at once, with a beginning that is right in all of them; one taken over.

import { announce, byId, cell, el, fill, goTo, row, say, show, statements, table } from "./dom.js";
import { begins } from "./days_off.js";
import { propose } from "./moves.js";
import { openingTold } from "./opening.js";
import { seconds } from "./search.js";
import { asJson, call, events, json, Refused } from "./service.js";
import { change, onTerm, scenario, term } from "./term.js";
import { attempt, onView } from "./views.js";
import { count, day, place, SHORT_STATUS, span, upper } from "./words.js";

const MOST = 20;

let ticked = new Set(); // names of what-ifs
let running = null;

export function setUpWhatIf() {
  byId("closure-form").addEventListener("submit", (event) => {
    event.preventDefault();
    add();
  });
  byId("compare-form").addEventListener("submit", (event) => {
    event.preventDefault();
    if (!running) attempt(compare);
  });
  byId("compare-stop").addEventListener("click", () => running?.abort());
  onTerm(() => show("compared", false));
  onView("what-if", draw);
}

const listed = () => scenario().what_ifs ?? [];

function draw() {
  const { term: dates, classes } = scenario();
  for (const id of ["could-first", "could-last", "until"]) Object.assign(byId(id), { min: begins(scenario()), max: dates.last });
  byId("could-classes").hidden = classes.length < 2;
  fill("could-classes", ...(classes.length > 1 ? classes.map((each, at) => tick(`could-${at}`, each.id, `only ${each.id}`)) : []));
  const rows = listed().map((each, at) => {
    const box = tick(`what-if-${at}`, each.name, each.name);
    box.firstChild.checked = ticked.has(each.name);
    box.firstChild.addEventListener("change", (event) => {
      if (event.target.checked) ticked.add(each.name);
      else ticked.delete(each.name);
    });
    const over = el("button", { type: "button", class: "slight" }, "Take it over");
    over.setAttribute("aria-label", `Take over: ${each.name}`);
    over.addEventListener("click", () => attempt(() => takeOver(each)));
    return el("li", { class: "line" }, box, over);
  });
  fill("what-ifs", rows.length ? el("ul", { class: "plain" }, ...rows) : el("p", {}, "Nothing is on the list yet: add it above."));
  byId("compare").disabled = rows.length === 0;
}

function tick(id, value, text) {
  return el("span", {}, el("input", { type: "checkbox", id, value }), " ", el("label", { for: id }, text));
}

// -- the list

function add() {
  const [first, last] = [byId("could-first").value, byId("could-last").value || byId("could-first").value];
  const wrong = wrongDates(first, last);
  say("could-wrong", wrong);
  for (const id of ["could-first", "could-last"]) byId(id).setAttribute("aria-invalid", String(wrong !== ""));
  if (wrong) {
    byId("could-first").focus();
    return;
  }
  const remote = byId("could-what").value === "remote";
  const classes = [...byId("could-classes").querySelectorAll(":checked")].map((box) => box.value);
  const usual = `${remote ? "Remote" : "Closed"} ${span(first, last)}${classes.length ? `, ${classes.join(", ")}` : ""}`;
  const name = byId("could-name").value.trim() || usual;
  const dates = first === last ? { on: first } : { first, last };
  const entry = { name, ...dates, ...(classes.length ? { classes } : {}) };
  const made = remote ? { change: "add remote spell", spell: entry } : { change: "add closure", closure: entry };
  if (listed().some((each) => each.name === name)) {
    say("could-wrong", "Another one on the list is called so.");
    byId("could-name").focus();
    return;
  }
  ticked.add(name);
  hold([...listed(), { name, changes: [made] }], `add ${name}`);
  byId("closure-form").reset();
  byId("compare").focus();
  announce(`${name} is on the list.`);
}

function hold(whatIfs, what) {
  change({ ...term(), scenario: { ...scenario(), what_ifs: whatIfs } }, what, null);
}

function wrongDates(first, last) {
  if (!first) return "Say on which day it begins.";
  if (last < first) return "The last day comes before the first.";
  const dates = scenario().term;
  const from = begins(scenario());
  if (last < from || first > dates.last) return `That is outside the term, ${day(from)} to ${day(dates.last)}.`;
  return listed().length >= MOST ? `There can be ${MOST} on the list at most.` : "";
}

// -- side by side

async function compare() {
  const asked = listed().filter((each) => ticked.has(each.name));
  // What another one builds on has to be there with it.
  const wanted = new Set(asked.flatMap(chain).map((each) => each.name));
  if (!wanted.size) throw new Refused("Nothing is ticked", "Tick what is to be put beside the plan.");
  const mine = new AbortController();
  running = mine;
  busy(true);
  try {
    const until = byId("until").value;
    const { what_ifs: _, ...alone } = scenario();
    const planned = term().plan;
    const isThere = (row) => row.what !== "skipped" && row.what !== "lost";
    const body = {
      scenario: alone,
      what_ifs: listed().filter((each) => wanted.has(each.name)),
      ...(until ? { opening_until: until } : planned ? { plan: { lessons: planned.lessons.filter(isThere) } } : {}),
    };
    const futures = [];
    const accept = "text/event-stream";
    const query = `seconds=${seconds()}${until ? "" : "&close=true"}`;
    const response = await call("POST", `/v1/comparisons?${query}`, { ...asJson(body), accept, signal: mine.signal });
    for await (const event of events(response)) {
      if (event.name === "problem") throw Refused.by(event.data);
      if (event.name === "future") {
        futures.push(event.data);
        announce(`${count(futures.length, "future")} of ${wanted.size + 1}: ${event.data.name}, ${SHORT_STATUS[event.data.status]}.`);
        tellFutures(futures);
      }
      if (event.name === "answer") {
        tellFutures([event.data.base, ...event.data.what_ifs]);
        fill("opening", ...(event.data.shared_opening ? openingTold(event.data) : []));
        announce("Compared.");
        goTo("compared-head");
      }
    }
  } finally {
    running = null;
    busy(false);
  }
}

function busy(is) {
  show("compare", !is);
  show("compare-stop", is);
  if (is) {
    show("compared", false);
    fill("opening");
    announce("Comparing.");
    byId("compare-stop").focus();
  }
}

// A what-if and those that it builds on, the first of them first.
function chain(each) {
  const under = listed().find((other) => other.name === each.builds_on);
  return [...(under ? chain(under) : []), each];
}

function tellFutures(futures) {
  const [base, ...others] = futures;
  const names = ["What", "As planned", ...others.map((each) => each.name)];
  fill("compared-names", row(...names.map((name) => el("th", { scope: "col" }, name))));
  const lines = [
    ["Plan", (each) => SHORT_STATUS[each.status]],
    ["Periods lost", (each) => String(each.periods.reduce((sum, one) => sum + one.lost.length, 0))],
    ["Lessons moved", (each) => (each === base ? "–" : (each.moved?.toString() ?? "–"))],
    ...base.aims.map((aim) => [upper(aim.aim), (each) => each.aims.find((one) => one.aim === aim.aim)?.value?.toString() ?? "–"]),
  ];
  fill(
    "compared-list",
    ...lines.map(([head, said]) => row(el("th", { scope: "row" }, head), ...futures.map((each) => cell(said(each), differs(said, base, each))))),
  );
  fill("compared-each", ...others.map(futureTold));
  show("compared");
}

function differs(said, base, each) {
  return each !== base && said(base) !== "–" && said(base) !== said(each) ? "differs" : "";
}

function futureTold(each, at) {
  const conflict = each.explanation?.conflicts[0];
  const moves = (each.moves ?? []).map((move) =>
    row(cell(move.class), el("th", { scope: "row" }, move.title), cell(place(move.from)), cell(place(move.to))),
  );
  const told = conflict
    ? statements(conflict.text, conflict.because.map((text) => el("li", {}, text)))
    : moves.length
      ? [table(`moved-${at}`, `Lessons that move: ${each.name}`, ["Class", "Lesson", "As planned", "Then"], moves)]
      : [el("p", {}, "No lesson moves.")];
  return el("details", {}, el("summary", {}, `${each.name}: ${headline(each)}`), ...told);
}

function headline(each) {
  if (each.status === "infeasible") return "no plan exists";
  if (each.moved === null) return "no plan was found in the time";
  return each.moved === 0 ? "no lesson moves" : `${count(each.moved, "lesson")} ${each.moved === 1 ? "moves" : "move"}`;
}

// -- taking one over

// It holds from now on, so it is off the list; what builds on it stands on the plan itself.
async function takeOver(taken) {
  const left = listed()
    .filter((each) => each !== taken)
    .map(({ builds_on, ...each }) => (builds_on && builds_on !== taken.name ? { ...each, builds_on } : each));
  const changes = chain(taken).flatMap((each) => each.changes);
  const found = await json("POST", "/v1/scenarios", asJson({ scenario: { ...scenario(), what_ifs: left }, changes }));
  await propose({ ...term(), scenario: found.scenario }, `take over ${taken.name}`, "term");
}
