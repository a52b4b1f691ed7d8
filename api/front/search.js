// A search, watched aim by aim, and stopped by hand where somebody wants that; and a term planned, or planned again, by one.

import { announce, byId, cell, el, fill, options, row, say, show } from "./dom.js";
import { asJson, call, events, Refused } from "./service.js";
import { count, STATUS, today, upper } from "./words.js";
import { attempt, closePanel, openPanel } from "./views.js";

const OFFERED = [5, 10, 30, 60, 120]; // seconds
const USUAL = 30;
const QUIET = 4000; // milliseconds between two things that are read out

let running = null;
let told = new Map();
let lastSaid = 0;

export function offerSeconds() {
  options("seconds", OFFERED.map((each) => [each, each < 60 ? count(each, "second") : count(each / 60, "minute")]), USUAL);
  byId("stop").addEventListener("click", stop);
}

export const seconds = () => Number(byId("seconds").value);

// The term with its first plan, or with what was told of it recorded and the rest planned again: the server's whole answer.
// Null where it was left or refused, which is said.
export async function plan(term) {
  const found = await attempt(() => watched(`/v1/weeks?on=${today()}&seconds=${seconds()}`, term));
  if (found?.answer) announce(STATUS[found.answer.status]);
  return found ?? null;
}

async function watched(path, body) {
  const mine = { leave: new AbortController(), stopAt: null };
  running = mine;
  told = new Map();
  byId("stop").disabled = false;
  show("search-aims-wide", false);
  show("search-prices", false);
  openPanel("search");
  announce("Searching.");
  const ticking = clock(seconds());
  try {
    const accept = "text/event-stream";
    const response = await call("POST", path, { ...asJson(body), accept, signal: mine.leave.signal });
    for await (const event of events(response)) {
      if (event.name === "begun") mine.stopAt = event.data.stop;
      if (event.name === "progress") heard(event.data);
      if (event.name === "problem") throw Refused.by(event.data);
      if (event.name === "answer") return event.data;
    }
    throw new Refused("The search broke off", "The server ended before it had an answer. Nothing here is lost: try again.");
  } finally {
    clearInterval(ticking);
    running = null;
    closePanel();
  }
}

// Asks the server for the best so far; where it cannot give that, the search is left.
async function stop() {
  const mine = running;
  if (!mine) return;
  byId("stop").disabled = true;
  announce("Stopping.");
  try {
    if (!mine.stopAt) throw new Refused("", "");
    await call("DELETE", mine.stopAt);
  } catch {
    mine.leave.abort();
  }
}

function clock(allowed) {
  const began = performance.now();
  const tick = () => {
    const used = (performance.now() - began) / 1000;
    byId("bar").max = allowed;
    byId("bar").value = Math.min(used, allowed);
    say("clock", `${Math.floor(used)} of ${allowed} seconds`);
  };
  tick();
  return setInterval(tick, 250);
}

function heard(progress) {
  if (!told.has(progress.aim)) told.set(progress.aim, new Map());
  told.get(progress.aim).set(progress.classes.join(", "), progress);
  const groups = new Set([...told.values()].flatMap((each) => [...each.keys()]));
  const rows = [...told].flatMap(([aim, reached]) =>
    [...reached].map(([classes, values]) => {
      const made = aimRow(aim, values, groups.size > 1 ? classes : "");
      made.append(cell(`${values.seconds.toFixed(1)} s`, "count"));
      return made;
    }),
  );
  fill("search-aims", ...rows);
  show("search-aims-wide");
  if (progress.limits.length || progress.paying.length) {
    say("search-prices", pricesTold(progress));
    show("search-prices");
  }
  const now = performance.now();
  if (now - lastSaid < QUIET) return;
  lastSaid = now;
  announce(`${progress.aim}: ${progress.value}, not below ${progress.bound}.`);
}

// What shared rules cost most now, and which classes pay most for them.
function pricesTold({ limits, paying }) {
  const costs = limits.map((each) => each.text).join("; ");
  const pay = paying.map((each) => `${each.classes.join(" and ")} (${each.value}, by itself ${each.least})`).join(", ");
  return [costs ? `Costs most now: ${costs}.` : "", pay ? `Pay most for what is shared: ${pay}.` : ""].join(" ").trim();
}

// A row of a table of aims, with what stands beside its name: the value, what is proven of it, and how near that is.
export function aimRow(aim, values, beside = "") {
  const head = el("th", { scope: "row" }, upper(aim), beside ? el("div", { class: "small" }, beside) : "");
  return row(head, cell(number(values.value), "count"), cell(number(values.bound), "count"), nearness(values));
}

function number(value) {
  return value === null || value === undefined ? "–" : String(value);
}

function nearness({ value, bound }) {
  if (value === null || bound === null) return cell("not looked into");
  const words = value === bound ? "proven best" : `at most ${value - bound} better`;
  const bar = el("progress", {
    max: Math.max(value, 1),
    value: value === bound ? Math.max(value, 1) : bound,
    "aria-hidden": "true",
  });
  return el("td", { class: "near" }, bar, ` ${words}`);
}
