// A lesson that was picked: why it lies where it does, where else it could, holding it, and moving it by hand.

import { announce, byId, cell, el, fill, goTo, row, say, show } from "./dom.js";
import { propose } from "./moves.js";
import { hideOutline, tellOutline } from "./outline.js";
import { factsOf, sameLesson } from "./plan.js";
import { seconds } from "./search.js";
import { asJson, json } from "./service.js";
import { answer, change, scenario, term } from "./term.js";
import { attempt } from "./views.js";
import { count, place, sentence, upper } from "./words.js";

let picked = null; // the lesson as the plan shows it
let opener = null; // what had the focus before
let tried = null; // rows of a plan with the lesson elsewhere

export function setUpLesson() {
  byId("lesson-close").addEventListener("click", () => {
    hideLesson();
    if (opener?.isConnected) opener.focus();
    else goTo("term-head");
  });
  byId("hold").addEventListener("click", holdOrLetGo);
  byId("elsewhere").addEventListener("click", () => attempt(lookElsewhere));
  byId("tried-keep").addEventListener("click", () => keep(false));
  byId("tried-hold").addEventListener("click", () => keep(true));
  byId("tried-leave").addEventListener("click", () => {
    show("tried", false);
    tried = null;
    goTo("lesson-head");
  });
}

export function hideLesson() {
  picked = tried = null;
  hideOutline();
  show("lesson", false);
  show("plan-part");
}

export function pick(lesson, button) {
  opener = button;
  tell(lesson);
  goTo("lesson-head");
}

// The lesson that was picked, in a plan that has changed; put away where it is not there any more.
export function tellAgain(shown) {
  const found = picked && shown.lessons.find((each) => sameLesson(each, picked));
  if (found) tell(found);
  else hideLesson();
}

function tell(lesson) {
  picked = lesson;
  tried = null;
  say("lesson-head", `${lesson.title}, ${lesson.class}`);
  say("lesson-says", `${place(lesson)}. ${upper(factsOf(lesson).join(", "))}.`);
  say("elsewhere-says", "");
  show("tried", false);
  tellHeld();
  byId("hold").hidden = byId("elsewhere").hidden = lesson.delivered;
  tellOutline(lesson);
  say("places-title", `The periods of ${lesson.class}`);
  tellPlaces(new Map());
  show("places-wide", !lesson.delivered);
  show("plan-part", false);
  show("lesson");
}

const planned = () => term().plan.lessons.find((each) => sameLesson(each, picked));

function tellHeld() {
  byId("hold").setAttribute("aria-pressed", String(planned().pin));
  say("hold", planned().pin ? "Let it move again" : "Hold it there");
}

function holdOrLetGo() {
  const pin = !planned().pin;
  const rows = term().plan.lessons.map((each) => (sameLesson(each, picked) ? { ...each, pin } : each));
  const what = `${pin ? "hold" : "let go of"} ${picked.title}`;
  change({ ...term(), plan: { ...term().plan, lessons: rows } }, what, answer());
  announce(pin ? "It stays there when the plan is made again." : "It may move when the plan is made again.");
}

// -- where else

async function lookElsewhere() {
  const mine = picked;
  say("elsewhere-says", "Trying every period…");
  byId("elsewhere").disabled = true;
  try {
    const named = `${mine.class}:${mine.unit}/${mine.lesson}`;
    const query = new URLSearchParams({ lesson: named, seconds: String(seconds()) });
    const body = { scenario: scenario(), sequence: { lessons: term().plan.lessons } };
    const found = await json("POST", `/v1/explanations?${query}`, asJson(body));
    if (mine !== picked) return;
    say("elsewhere-says", inShort(found.places));
    tellPlaces(new Map(found.places.map((each) => [`${each.date} ${each.period}`, meaning(each)])));
    goTo("lesson-head");
  } finally {
    byId("elsewhere").disabled = false;
    if (mine === picked && byId("elsewhere-says").textContent === "Trying every period…") say("elsewhere-says", "");
  }
}

function inShort(places) {
  const others = places.filter((each) => !each.here);
  const could = others.filter((each) => each.possible);
  const dear = could.filter((each) => changes(each).some(([, cost]) => cost > 0)).length;
  const better = could.filter((each) => changes(each).length).length - dear;
  const free = could.length - dear - better;
  const never = others.filter((each) => each.possible === false).length;
  const open = others.length - could.length - never;
  const parts = [
    better ? `${better} would do better` : "",
    free ? `${free} would do as well` : "",
    dear ? `${dear} would cost something` : "",
    never ? `${never} cannot be` : "",
    open ? `${open} could not be settled in the time` : "",
  ].filter(Boolean);
  return `Of ${count(others.length, "other period")} ${parts.join(", ")}.`;
}

const changes = (each) => Object.entries(each.costs ?? {}).filter(([, cost]) => cost !== 0);

const MOST_REASONS = 2;

function meaning(each) {
  if (each.here) return "here it lies";
  if (each.possible === null) return "not settled in the time";
  if (!each.possible) {
    const more = each.forbidden_by.length - MOST_REASONS;
    const said = each.forbidden_by.slice(0, MOST_REASONS).map((one) => one.text);
    return `cannot be: ${[...said, ...(more > 0 ? [`and ${more} more`] : [])].join("; ")}`;
  }
  const costs = changes(each);
  if (!costs.length) return "would do as well";
  const text = costs.map(([aim, cost]) => `${aim} ${cost > 0 ? `${cost} worse` : `${-cost} better`}`).join(", ");
  return `could be: ${text}${each.proven ? "" : " at most"}`;
}

// -- every period of the class, and what lies there

function tellPlaces(meanings) {
  const shown = answer();
  const of = (listed) => listed.filter((each) => each.class === picked.class);
  const all = [...of(shown.lessons), ...of(shown.spare)].sort((a, b) => a.date.localeCompare(b.date) || a.period - b.period);
  fill(
    "places",
    ...all.map((each) => {
      const here = sameLesson(each, picked);
      const there = each.lesson ? each.title : "spare";
      const button = el("button", { type: "button", class: "slight" }, "Put it there");
      button.setAttribute("aria-label", `Put it on ${place(each)}`);
      button.addEventListener("click", () => attempt(() => tryAt(each)));
      return row(
        el("th", { scope: "row", class: "date" }, place(each)),
        cell(there),
        cell(meanings.get(`${each.date} ${each.period}`) ?? (here ? "here it lies" : "")),
        el("td", {}, here || each.delivered ? "" : button),
      );
    }),
  );
}

// -- by hand

// What lies there comes to where the picked lesson was.
async function tryAt(to) {
  const from = { date: picked.date, period: picked.period };
  tried = {
    to,
    rows: term().plan.lessons.map((each) => {
      if (sameLesson(each, picked)) return { ...each, date: to.date, period: to.period };
      return to.lesson && sameLesson(each, to) ? { ...each, ...from } : each;
    }),
  };
  const body = { scenario: scenario(), sequence: { lessons: tried.rows } };
  const verdict = await json("POST", "/v1/checks", asJson(body));
  const swapped = to.lesson ? `, and ${to.title} to ${place(from)}` : "";
  const broken = verdict.breaches.filter((each) => !each.past);
  say("tried-head", `${picked.title} to ${place(to)}${swapped}: ${verdict.sound ? "nothing breaks" : "this breaks"}`);
  const worse = verdict.sound ? aimsBeside(verdict.aims) : [];
  fill("tried-list", ...[...broken.map((each) => sentence(each.message)), ...worse].map((text) => el("li", {}, text)));
  byId("tried-keep").hidden = !verdict.sound;
  show("tried");
  goTo("tried-head");
  announce(byId("tried-head").textContent);
}

function aimsBeside(aims) {
  return answer()
    .aims.filter((aim) => aims[aim.aim] !== aim.value)
    .map((aim) => `${upper(aim.aim)}: ${aims[aim.aim]} instead of ${aim.value}.`);
}

function keep(andPlan) {
  const [{ title }, { rows, to }, lesson] = [picked, tried, picked];
  hideLesson();
  if (!andPlan) {
    change({ ...term(), plan: { ...term().plan, lessons: rows } }, `${title} moved by hand`);
    goTo("term-head");
    announce(`${title} lies on ${place(to)} now.`);
    return;
  }
  const held = term().plan.lessons.map((each) =>
    sameLesson(each, lesson) ? { ...each, date: to.date, period: to.period, pin: true } : each,
  );
  propose({ ...term(), plan: { ...term().plan, lessons: held, made_for: null } }, `${title} held on ${place(to)}`);
}
