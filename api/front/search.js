// The second step: the search, watched aim by aim, and stopped by hand where somebody wants that.

import { byId, el, fill, say, show, tellRefusal } from "./dom.js";
import { call, events, Refused } from "./service.js";
import { count, STATUS, upper } from "./words.js";

const OFFERED = [5, 10, 30, 60, 120, 300, 600]; // seconds
const USUAL = 30;
const QUIET = 4000; // milliseconds between two things that are read out

let scenario = null;
let running = null;
let told = new Map();
let lastSaid = 0;

// Sets the step up; `started` is called when a search begins and `ended` with its scenario and answer.
export function offerSearch(started, ended) {
  byId("search-form").addEventListener("submit", (event) => {
    event.preventDefault();
    if (!running) search(started, ended);
  });
  byId("stop").addEventListener("click", stop);
}

// Makes ready for another scenario, or for none; what still runs for an earlier one is given up.
export function searchFor(next) {
  if (running) {
    running.leave.abort();
    running = null;
    busy(false);
  }
  scenario = next;
  told = new Map();
  for (const id of ["aims", "failed"]) show(id, false);
  say("said", "");
  show("search", next !== null);
  if (next) offerSeconds(next.read.most_seconds);
}

// No more than the server allows; what was chosen for the scenario before stays chosen.
function offerSeconds(most) {
  const before = Number(byId("seconds").value) || USUAL;
  const offered = OFFERED.filter((each) => each < most).slice(0, 5);
  if (most <= OFFERED[offered.length] || offered.length === 0) offered.push(most);
  fill(
    "seconds",
    ...offered.map((each) =>
      el("option", { value: each }, each < 60 || each % 60 ? count(each, "second") : count(each / 60, "minute")),
    ),
  );
  byId("seconds").value = offered.findLast((each) => each <= before) ?? offered[0];
}

async function search(started, ended) {
  const mine = { scenario, leave: new AbortController(), stopAt: null };
  const seconds = Number(byId("seconds").value);
  running = mine;
  told = new Map();
  started();
  busy(true);
  show("failed", false);
  announce("Searching.", true);
  showAims();
  const ticking = clock(seconds);
  try {
    const answer = await streamed(mine, seconds);
    if (running !== mine) return;
    told = new Map(answer.aims.map((aim) => [aim.aim, new Map([["", aim]])]));
    showAims();
    show("aims", answer.verdict !== null);
    busy(false);
    ended(mine.scenario, answer);
    announce(STATUS[answer.status], true);
  } catch (error) {
    if (running !== mine) return;
    busy(false);
    if (error.name === "AbortError") announce("Stopped.", true);
    else if (error instanceof Refused) tellRefusal("failed", error);
    else throw error;
  } finally {
    clearInterval(ticking);
    if (running === mine) running = null;
  }
}

async function streamed(mine, seconds) {
  const { body, media } = mine.scenario.sent;
  const accept = "text/event-stream";
  const response = await call("POST", `/v1/sequences?seconds=${seconds}`, { body, media, accept, signal: mine.leave.signal });
  for await (const event of events(response)) {
    if (event.name === "begun") mine.stopAt = event.data.stop;
    if (event.name === "progress") heard(event.data);
    if (event.name === "problem") throw Refused.by(event.data);
    if (event.name === "answer") return event.data;
  }
  throw new Refused("The search broke off", "The server ended before it had an answer. Nothing of it is kept: try again.");
}

// Asks the server for the best so far; where it cannot give that, the search is left.
async function stop() {
  const mine = running;
  if (!mine) return;
  byId("stop").disabled = true;
  announce("Stopping.", true);
  try {
    if (!mine.stopAt) throw new Refused("", "");
    await call("DELETE", mine.stopAt);
  } catch {
    mine.leave.abort();
  }
}

function busy(is) {
  const hadFocus = [byId("go"), byId("stop")].includes(document.activeElement);
  show("go", !is);
  show("stop", is);
  show("running", is);
  byId("stop").disabled = false;
  byId("seconds").disabled = is;
  if (hadFocus) byId(is ? "stop" : "go").focus();
}

function clock(seconds) {
  const began = performance.now();
  const tick = () => {
    const used = (performance.now() - began) / 1000;
    byId("bar").max = seconds;
    byId("bar").value = Math.min(used, seconds);
    say("clock", `${Math.floor(used)} of ${seconds} seconds`);
  };
  tick();
  return setInterval(tick, 250);
}

function heard(progress) {
  if (!told.has(progress.aim)) told.set(progress.aim, new Map());
  told.get(progress.aim).set(progress.classes.join(", "), progress);
  showAims();
  announce(`${progress.aim}: ${progress.value}, not below ${progress.bound}.`);
}

// Read out at once, or only when nothing was for a while.
function announce(text, atOnce = false) {
  const now = performance.now();
  if (!atOnce && now - lastSaid < QUIET) return;
  lastSaid = now;
  say("said", text);
}

function showAims() {
  const named = [...new Set([...scenario.read.aims, ...told.keys()])];
  const groups = new Set([...told.values()].flatMap((each) => [...each.keys()]));
  const rows = named.flatMap((aim) => {
    const reached = [...(told.get(aim) ?? new Map())];
    if (reached.length === 0) return [row(aim, "", null)];
    return reached.map(([classes, values]) => row(aim, groups.size > 1 ? classes : "", values));
  });
  fill("aims-list", ...rows);
  show("aims");
}

function row(aim, classes, values) {
  const head = el("th", { scope: "row" }, upper(aim), classes ? el("span", { class: "small" }, ` ${classes}`) : "");
  if (!values) return el("tr", {}, head, cell("–"), cell("–"), el("td", {}, "not reached yet"));
  return el("tr", {}, head, cell(number(values.value)), cell(number(values.bound)), nearness(values));
}

function cell(text) {
  return el("td", { class: "count" }, text);
}

function number(value) {
  return value === null ? "–" : String(value);
}

function nearness({ value, bound }) {
  if (value === null || bound === null) return el("td", {}, "not known");
  const words = value === bound ? "proven best" : `at most ${value - bound} better`;
  const bar = el("progress", {
    max: Math.max(value, 1),
    value: value === bound ? Math.max(value, 1) : bound,
    "aria-hidden": "true",
  });
  return el("td", { class: "near" }, bar, ` ${words}`);
}
