// The fourth step: the plan beside what it would be with a closure.

import { byId, el, fill, goTo, say, show, statements, tellRefusal } from "./dom.js";
import { asJson, json, Refused } from "./service.js";
import { count, day, SHORT_STATUS, upper } from "./words.js";

let scenario = null;
let plan = null;
let running = null;

export function setUpClosure() {
  byId("closure-form").addEventListener("submit", (event) => {
    event.preventDefault();
    if (!running) compare();
  });
  byId("compare-stop").addEventListener("click", () => running?.abort());
}

export function hideClosure() {
  running?.abort();
  running = null;
  show("closure", false);
}

export function offerClosure(forScenario, answer) {
  scenario = forScenario;
  plan = answer;
  const { first, last, classes } = scenario.read;
  for (const id of ["closed-first", "closed-last"]) {
    Object.assign(byId(id), { min: first, max: last, value: "" });
  }
  fill(
    "closed-list",
    ...classes.map((each, number) =>
      el(
        "span",
        {},
        el("input", { type: "checkbox", id: `closed-${number}`, value: each.class, name: "closed" }),
        " ",
        el("label", { for: `closed-${number}` }, each.class),
      ),
    ),
  );
  show("closed-classes", classes.length > 1);
  for (const id of ["compared", "unequal", "comparing"]) show(id, false);
  say("closed-wrong", "");
  show("closure");
}

// The closure as the scenario language states one; null, said and pointed at, where a date is wanting.
function asked() {
  const [first, last] = [byId("closed-first").value, byId("closed-last").value];
  const wrong = wrongDates(first, last);
  say("closed-wrong", wrong);
  // Of two dates in the wrong order the last is the one to look at.
  const amiss = first && last && last < first ? "closed-last" : "closed-first";
  for (const id of ["closed-first", "closed-last"])
    byId(id).setAttribute("aria-invalid", String(wrong !== "" && id === amiss));
  if (wrong) {
    // What was compared before would read as the answer to these dates.
    for (const id of ["compared", "unequal"]) show(id, false);
    say("compared-said", "");
    byId(amiss).focus();
    return null;
  }
  const classes = [...document.querySelectorAll("input[name=closed]:checked")].map((box) => box.value);
  const dates = last && last !== first ? { first, last } : { on: first };
  return { name: "Closed", ...dates, ...(classes.length ? { classes } : {}) };
}

function wrongDates(first, last) {
  if (!first) return "Say which day is closed.";
  if (last && last < first) return "The last day comes before the first.";
  const term = scenario.read;
  if ((last || first) < term.first || first > term.last)
    return `That is outside the term, ${day(term.first)} to ${day(term.last)}.`;
  return "";
}

async function compare() {
  const closure = asked();
  if (!closure) return;
  const mine = new AbortController();
  running = mine;
  for (const id of ["compared", "unequal"]) show(id, false);
  busy(true);
  say("compared-said", "Comparing.");
  try {
    const { what_ifs: _, ...alone } = scenario.read.scenario;
    const body = { scenario: alone, what_ifs: [{ name: "closed", changes: [{ change: "add closure", closure }] }] };
    // The time is shared between the scenario as it is and the scenario with the closure: each gets what the plan had.
    const seconds = Math.min(2 * plan.run.seconds_allowed, scenario.read.most_seconds);
    say("comparing-most", `for at most ${count(Math.round(seconds), "second")}`);
    const near = byId("near").checked;
    const found = await json("POST", `/v1/comparisons?seconds=${seconds}&close=${near}`, {
      ...asJson(body),
      signal: mine.signal,
    });
    if (running !== mine) return;
    busy(false);
    tell(found, closure);
  } catch (error) {
    if (running !== mine) return;
    busy(false);
    if (error.name === "AbortError") say("compared-said", "Stopped.");
    else if (error instanceof Refused) tellRefusal("unequal", error);
    else throw error;
  } finally {
    if (running === mine) running = null;
  }
}

function busy(is) {
  const hadFocus = [byId("compare"), byId("compare-stop")].includes(document.activeElement);
  show("compare", !is);
  show("compare-stop", is);
  show("comparing", is);
  if (hadFocus) byId(is ? "compare-stop" : "compare").focus();
}

function tell(found, closure) {
  const [closed] = found.what_ifs;
  const when = closure.on ? day(closure.on) : `${day(closure.first)} to ${day(closure.last)}`;
  say("compared-head", `Closed ${when}${closure.classes ? `, for ${closure.classes.join(", ")}` : ""}`);
  say("compared-says", headline(closed));
  say("compared-said", headline(closed));
  const anew = !asThePlan(found.base, closed.moves ?? []);
  say("compared-base", anew ? "Open" : "As planned");
  show("compared-anew", anew);
  const lost = closed.periods.reduce((sum, each) => sum + each.lost.length, 0);
  const rows = [
    ["Sequence", SHORT_STATUS[found.base.status], SHORT_STATUS[closed.status]],
    ["Periods lost", "–", String(lost)],
  ];
  if (closed.moved !== null) {
    rows.push(["Lessons moved", "–", String(closed.moved)]);
    rows.push(...closed.aims.map((aim) => [upper(aim.aim), String(aim.base_value), String(aim.value)]));
  }
  fill(
    "compared-list",
    ...rows.map(([head, base, other]) =>
      el(
        "tr",
        base === other || base === "–" ? {} : { class: "differs" },
        el("th", { scope: "row" }, head),
        el("td", { class: "count" }, base),
        el("td", { class: "count" }, other),
      ),
    ),
  );
  fill("moves", ...moves(closed), ...impossible(closed));
  show("compared");
  goTo("compared-head");
}

// Whether the comparison, which searches for itself, came to what the plan is: the same on every aim, both the same again with
// every search, and what is said to move lies where the plan has it.
function asThePlan(base, moves) {
  const same = base.aims.every((aim, number) => aim.value === plan.aims[number]?.value);
  const name = (each) => `${each.class} ${each.unit}/${each.lesson}`;
  const laid = new Map(plan.lessons.map((each) => [name(each), `${each.date} ${each.period}`]));
  const there = moves.every((each) => !each.from || laid.get(name(each)) === `${each.from.date} ${each.from.period}`);
  return same && there && plan.run.repeatable && base.run.repeatable;
}

function headline(closed) {
  if (closed.status === "infeasible") return "With this closure no sequence exists.";
  if (closed.moved === null) return "No sequence was found in the time: allow more of it in step 2.";
  if (closed.periods.every((each) => !each.lost.length))
    return "No period is lost: the classes do not meet then as it is.";
  const moved =
    closed.moved === 0 ? "No lesson moves" : `${count(closed.moved, "lesson")} ${closed.moved === 1 ? "moves" : "move"}`;
  return closed.fewest_moved === closed.moved && closed.moved > 0 ? `${moved}; no plan moves fewer.` : `${moved}.`;
}

function moves(closed) {
  if (!closed.moves?.length) return [];
  const at = (place) => (place ? `${day(place.date)}, period ${place.period}` : "not placed");
  const rows = closed.moves.map((each) =>
    el(
      "tr",
      {},
      el("td", {}, each.class),
      el("th", { scope: "row" }, each.title),
      el("td", {}, at(each.from)),
      el("td", {}, at(each.to)),
    ),
  );
  const head = ["Class", "Lesson", byId("compared-base").textContent, "Closed"].map((text) => el("th", { scope: "col" }, text));
  return [
    el(
      "div",
      { class: "wide", tabindex: "0", role: "region", "aria-labelledby": "moves-title" },
      el(
        "table",
        {},
        el("caption", { id: "moves-title" }, "Lessons that move"),
        el("thead", {}, el("tr", {}, ...head)),
        el("tbody", {}, ...rows),
      ),
    ),
  ];
}

function impossible(closed) {
  const conflict = closed.explanation?.conflicts[0];
  if (!conflict) return [];
  const advice =
    "To see what would mend it, put the closure into the file and choose it again: the search then lists a change that would.";
  return [
    ...statements(
      conflict.text,
      conflict.because.map((text) => el("li", {}, text)),
    ),
    el("p", {}, advice),
  ];
}
