// The third step: the plan, or why there is none; the sheet to print; every form to take away.

import { byId, el, fill, goTo, say, show, statements } from "./dom.js";
import { asJson, call, json, Refused } from "./service.js";
import { count, day, shortDay, STATUS, upper } from "./words.js";

let scenario = null;
let answer = null;

export function setUpPlan() {
  byId("class").addEventListener("change", showLessons);
  byId("sheet-show").addEventListener("click", toggleSheet);
  byId("sheet-print").addEventListener("click", () => byId("sheet").contentWindow.print());
  // A frame whose content has the focus is not told apart by style alone.
  const hold = () => setTimeout(() => byId("sheet").classList.toggle("held", document.activeElement === byId("sheet")));
  window.addEventListener("blur", hold);
  window.addEventListener("focus", hold);
}

export function hidePlan() {
  answer = null;
  show("plan", false);
  closeSheet();
}

export async function showPlan(forScenario, found) {
  scenario = forScenario;
  answer = found;
  const laid = answer.verdict !== null;
  say(
    "verdict",
    answer.run.stopped_by === "hand" && laid ? `Stopped by hand. ${STATUS[answer.status]}` : STATUS[answer.status],
  );
  fill("why", ...why(answer.explanation));
  show("why", answer.explanation !== null);
  show("laid", laid);
  if (laid) {
    fill("beside", ...beside());
    const classes = scenario.read.classes.map((each) => each.class);
    fill("class", ...classes.map((id) => el("option", { value: id }, id)));
    show("class-line", classes.length > 1);
    showLessons();
  }
  show("plan");
  goTo("plan-head");
  await offerForms(laid);
}

// -- why there is none

function why(explanation) {
  if (explanation === null) return [];
  const conflicts = explanation.conflicts.flatMap((conflict) => [
    ...statements(
      conflict.text,
      conflict.statements.map((each) => el("li", {}, each.text, placed(each))),
    ),
    conflict.proven_minimal ? el("p", {}, "Without any one of these statements the others can hold; that is proven.") : "",
  ]);
  const repairs = explanation.repairs.map((repair) => el("li", {}, `${repair.text.join("; ")} (cost ${repair.cost})`));
  const offered = repairs.length
    ? [el("p", {}, `${offer(explanation)}, tried and passed by the referee:`), el("ul", {}, ...repairs)]
    : [];
  return [el("h3", {}, "These cannot all hold"), ...conflicts.filter(Boolean), ...offered];
}

function offer(explanation) {
  if (explanation.nothing_cheaper) return "The cheapest change that gives a sequence";
  return "A change that works (whether a smaller one would do was not settled)";
}

function placed(statement) {
  if (statement.line && scenario.lines) return el("span", { class: "small" }, ` (line ${statement.line})`);
  return statement.where ? el("span", { class: "small" }, ` (${statement.where})`) : "";
}

// -- the lessons

function beside() {
  const title = titles();
  const called = (each) => `${title(each)} (${each.class})`;
  const told = [
    ["Carried over to the next plan", answer.carried_over.map((each) => `${each.what} of ${called(each)}`)],
    ["Met again late", answer.late.map((each) => `${called(each)}, ${day(each.date)}`)],
    ["Left out", answer.left_out.map(called)],
    ["Wishes not granted", answer.verdict.wishes.map((each) => each.message)],
  ];
  const listed = told.filter(([, things]) => things.length).map(([head, things]) => `${head}: ${things.join("; ")}.`);
  const lines = [...listed, ...answer.notes.map(sentence), ...answer.cautions.map(sentence)];
  return ["Referee: every rule holds.", ...lines].map((line) => el("li", {}, line));
}

function sentence(text) {
  return /[.!?]$/.test(text) ? upper(text) : `${upper(text)}.`;
}

// The title of a lesson by its names; of one that is not placed its own name must do.
function titles() {
  const known = new Map();
  for (const unit of scenario.read.scenario.units) {
    for (const each of unit.lessons ?? []) known.set(`${unit.id}/${each.id}`, each.title ?? each.id);
  }
  for (const each of scenario.read.scenario.classes.flatMap((one) => one.taught_before ?? []))
    known.set(`before/${each.id}`, each.title ?? each.id);
  for (const each of answer.lessons) known.set(`${each.unit}/${each.lesson}`, each.title);
  return (each) => known.get(`${each.unit}/${each.lesson}`) ?? `${each.unit}/${each.lesson}`;
}

function showLessons() {
  const chosen = byId("class").value;
  const lessons = answer.lessons.filter((each) => each.class === chosen);
  const spare = answer.spare.filter((each) => each.class === chosen);
  const rows = [...lessons, ...spare].sort((a, b) => a.date.localeCompare(b.date) || a.period - b.period);
  say("lessons-title", `${chosen}: ${count(lessons.length, "lesson")}, ${count(spare.length, "spare period")}`);
  const title = titles();
  const weeks = new Map();
  for (const each of rows) {
    const name = `Week ${each.week}${each.label ? ` ${each.label}` : ""}`;
    if (!weeks.has(name)) weeks.set(name, []);
    weeks.get(name).push(lessonRow(each, title));
  }
  const bodies = [...weeks].map(([name, inside]) =>
    el("tbody", {}, el("tr", { class: "week" }, el("th", { scope: "rowgroup", colspan: 4 }, name)), ...inside),
  );
  const table = byId("lessons");
  for (const body of [...table.tBodies]) body.remove();
  table.append(...bodies);
}

function lessonRow(each, title) {
  const when = [el("td", { class: "date" }, shortDay(each.date)), el("td", {}, String(each.period))];
  if (!each.lesson) return el("tr", { class: "spare" }, ...when, el("th", { scope: "row" }, "spare"), el("td", {}));
  const facts = [each.kind];
  if (each.length > 1) facts.push(`takes ${each.length} periods`);
  if (each.taught !== "in class") facts.push(each.taught);
  if (each.revisits.length)
    facts.push(`meets again: ${each.revisits.map((other) => `${title(other)} after ${count(other.days, "day")}`).join("; ")}`);
  if (each.homework) facts.push(`homework: ${each.homework.title}`);
  return el(
    "tr",
    {},
    ...when,
    el("th", { scope: "row" }, each.title, el("span", { class: "facts" }, facts.join(" · "))),
    el("td", { class: "count" }, String(each.load)),
  );
}

// -- the sheet

// The plan in a form, as it is; where there is none, what the form says of that, for which the server has to look again.
async function written(format) {
  if (answer.verdict === null) {
    const { body, media } = scenario.sent;
    const seconds = answer.run.seconds_allowed;
    return call("POST", `/v1/sequences?format=${encodeURIComponent(format)}&seconds=${seconds}`, {
      body,
      media,
      accept: "*/*",
    });
  }
  const body = { scenario: scenario.read.scenario, sequence: { lessons: answer.lessons } };
  return call("POST", `/v1/plans?format=${encodeURIComponent(format)}`, { ...asJson(body), accept: "*/*" });
}

async function toggleSheet() {
  if (!byId("sheet-box").hidden) {
    closeSheet();
    return;
  }
  try {
    const html = await (await written("sheet")).text();
    const frame = byId("sheet");
    show("sheet-box");
    await new Promise((resolve) => {
      frame.addEventListener("load", resolve, { once: true });
      frame.src = "page/sheet.html";
    });
    // Written into the frame it is under the frame's own policy, which takes its style, runs nothing and loads nothing.
    frame.contentDocument.open();
    frame.contentDocument.write(html);
    frame.contentDocument.close();
    byId("sheet-show").setAttribute("aria-expanded", "true");
    say("sheet-show", "Hide the sheet");
    show("sheet-print");
  } catch (error) {
    tellTaken(error);
  }
}

function closeSheet() {
  show("sheet-box", false);
  show("sheet-print", false);
  byId("sheet-show").setAttribute("aria-expanded", "false");
  say("sheet-show", "Show the sheet");
}

// -- forms to take away

async function offerForms(laid) {
  say("take-said", "");
  try {
    const { formats } = await json("GET", "/v1/formats");
    const offered = formats.filter((each) => laid || !each.needs_sequence);
    fill(
      "take",
      ...offered.map((each) =>
        el(
          "li",
          {},
          el("button", { type: "button", onclick: () => take(each), "aria-describedby": `take-${each.name}` }, named(each)),
          el("span", { id: `take-${each.name}` }, ` ${each.what} (${each.ending})`),
        ),
      ),
    );
  } catch (error) {
    tellTaken(error);
  }
}

// A form named by its file's ending is an abbreviation.
function named(form) {
  return `.${form.name}` === form.ending ? form.name.toUpperCase() : upper(form.name);
}

async function take(form) {
  try {
    // What is for programs is the answer itself, with its bounds; the others are made of its lessons.
    const blob =
      form.name === "json"
        ? new Blob([`${JSON.stringify(answer, null, 2)}\n`], { type: form.media_type })
        : await (await written(form.name)).blob();
    const name = `${scenario.name}${form.name === "overview" ? "-overview" : ""}${form.ending}`;
    const link = el("a", { href: URL.createObjectURL(blob), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    say("take-said", `${name} is with your downloads.`);
  } catch (error) {
    tellTaken(error);
  }
}

function tellTaken(error) {
  if (!(error instanceof Refused)) throw error;
  say("take-said", `${error.title}: ${error.detail}`);
}
