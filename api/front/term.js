// The term that is being worked on, as the file holds it, and what was last said of its plan. It lives here until it is saved.

import { announce, byId, say, show } from "./dom.js";
import { asJson, json } from "./service.js";

const MOST_STEPS = 30;

const listeners = [];
let held = null; // { term, answer }: answer is the plan as the server shows it, with bounds where it was just made
let steps = []; // what was held before each change, and what the change is called
let unsaved = false;
let name = "term";

window.addEventListener("beforeunload", (event) => {
  if (unsaved) event.preventDefault();
});

export function onTerm(listener) {
  listeners.push(listener);
}

export const term = () => held?.term ?? null;
export const answer = () => held?.answer ?? null;
export const scenario = () => held?.term.scenario ?? null;
export const calledFile = () => name;

export function titleOf() {
  return scenario()?.title ?? "The term";
}

// Begins with another term: nothing before it can be brought back.
export function begin(next, called, { saved = false, shown = null } = {}) {
  name = called;
  steps = [];
  held = { term: next, answer: shown };
  unsaved = !saved;
  tell();
}

// Goes on with a changed term; `what` names the change for the button that takes it back.
export function change(next, what, shown = null) {
  steps = [...steps, { held, what }].slice(-MOST_STEPS);
  held = { term: next, answer: shown };
  unsaved = true;
  tell();
}

// The same term with something filled in that is no step of its own.
export function fillIn(next) {
  held = { ...held, term: next };
  unsaved = true;
  tell(false);
}

export function saved(called = name) {
  name = called;
  unsaved = false;
  tell(false);
}

// Takes back the last change made here; without one, the last plan that the file knows of.
export async function undo() {
  const step = steps.pop();
  if (step) {
    held = step.held;
    unsaved = true;
    tell();
    announce(`Taken back: ${step.what}.`);
    return;
  }
  const found = await json("POST", "/v1/weeks?undo=true", asJson(held.term));
  held = { term: found.term, answer: null };
  unsaved = true;
  tell();
  announce(found.said.join(" "));
}

// The plan as the server shows it; asked for where nothing is known of it yet.
export async function shownAnswer() {
  const mine = held;
  if (!mine || mine.answer || !mine.term.plan) return mine?.answer ?? null;
  const body = { scenario: mine.term.scenario, sequence: { lessons: mine.term.plan.lessons } };
  mine.answer = await json("POST", "/v1/plans?format=json", asJson(body));
  return mine.answer;
}

function tell(anew = true) {
  const undoable = steps.length > 0 || held.term.earlier.length > 0;
  byId("undo").disabled = !undoable;
  say("undo", steps.length ? `Undo: ${steps.at(-1).what}` : "Undo");
  say("kept-says", unsaved ? "Not saved yet: this page keeps nothing when it is closed." : `Saved as ${name}.`);
  say("called", titleOf());
  for (const id of ["file-line", "views"]) show(id);
  if (anew) for (const listener of listeners) listener();
}
