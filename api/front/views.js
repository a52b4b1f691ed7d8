// The parts of the page: one is shown at a time, and stands in the address, so that the browser's own back button works.

import { byId, goTo, say, show, fill, el, announce } from "./dom.js";
import { Refused } from "./service.js";
import { term } from "./term.js";

const VIEWS = ["begin", "week", "term", "what-if", "next"];
const PANELS = ["search", "moves", "no-plan"]; // each stands in the place of a view until it is dealt with

const shown = new Map();
let panel = null;

// Calls a function each time a view comes to be shown.
export function onView(name, listener) {
  shown.set(name, [...(shown.get(name) ?? []), listener]);
}

export function current() {
  const asked = window.location.hash.slice(1);
  if (!VIEWS.includes(asked) || (asked !== "begin" && !term())) return "begin";
  return asked !== "begin" && asked !== "next" && !term().plan ? "begin" : asked;
}

export function showViews() {
  for (const name of VIEWS) show(name, !panel && name === current());
  for (const name of PANELS) show(name, name === panel);
  for (const link of byId("views").children) {
    const name = link.getAttribute("href").slice(1);
    link.hidden = name !== "begin" && name !== "next" && !term()?.plan;
    if (!panel && name === current()) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  if (!panel) for (const listener of shown.get(current()) ?? []) listener();
}

export function goToView(name) {
  panel = null;
  show("failed", false);
  if (window.location.hash === `#${name}`) showViews();
  else window.location.hash = name;
  showViews();
  goTo(`${name}-head`);
}

export function openPanel(name) {
  panel = name;
  show("failed", false);
  showViews();
  goTo(`${name}-head`);
}

export function closePanel() {
  panel = null;
  showViews();
}

export function followAddress() {
  window.addEventListener("hashchange", () => {
    if (panel === "search" || !VIEWS.includes(window.location.hash.slice(1))) return;
    panel = null;
    show("failed", false);
    showViews();
    goTo(`${current()}-head`);
  });
  byId("failed-close").addEventListener("click", () => {
    show("failed", false);
    goTo(`${panel ?? current()}-head`);
  });
}

// Does something that the server may refuse, and says so in words where it does.
export async function attempt(what) {
  try {
    return await what();
  } catch (error) {
    if (error.name === "AbortError") return undefined;
    if (!(error instanceof Refused)) throw error;
    tellRefusal(error);
    return undefined;
  }
}

export function tellRefusal(refused) {
  say("failed-head", refused.title);
  say("failed-says", refused.problems.length ? "" : refused.detail);
  fill("failed-list", ...refused.problems.map((problem) => el("li", {}, problem.message, placed(problem))));
  show("failed");
  announce(refused.title);
  goTo("failed-head");
}

function placed(problem) {
  const at = problem.line ? `line ${problem.line}, column ${problem.column}` : problem.where;
  return at ? el("span", { class: "path" }, ` (${at})`) : "";
}
