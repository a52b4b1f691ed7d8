// What a new plan would move, to be taken or left; where none exists, why.

import { announce, byId, cell, el, fill, row, say, table } from "./dom.js";
import { tellNoPlan } from "./no_plan.js";
import { plan } from "./search.js";
import { Refused } from "./service.js";
import { change } from "./term.js";
import { current, goToView, openPanel, tellRefusal } from "./views.js";
import { count, place, sentence } from "./words.js";

let proposed = null;

export function setUpMoves() {
  byId("moves-take").addEventListener("click", () => {
    const { found, what, then } = proposed;
    change(found.term, what, found.answer);
    goToView(then);
    announce("The new plan is taken.");
  });
  byId("moves-leave").addEventListener("click", () => {
    goToView(proposed.from);
    announce("The plan is as it was.");
  });
}

// Plans a term, and puts what moves before whoever asked; `what` names the change. Nothing is held until it is taken.
export async function propose(next, what, then = current()) {
  const from = current();
  const found = await plan(next);
  if (!found) return;
  if (found.done === "no sequence") {
    tellNoPlan(next, found.answer.explanation, (mended) => propose(mended, what, then));
  } else if (found.done === "none found") {
    tellRefusal(new Refused("No plan was found in the time", "Whether one exists is not known. Allow more time, and try again."));
  } else if (found.done === "planned") {
    change(found.term, what, found.answer);
    goToView(then);
  } else {
    proposed = { found, what, then, from };
    tellMoves(found);
  }
}

function tellMoves({ done, changed, said, answer }) {
  const moved = changed.filter((each) => each.from && each.to).length;
  say("moves-head", done === "nothing" ? "Nothing to plan again" : "What would move");
  say("moves-says", done === "nothing" ? said.join(" ") : headline(moved, changed.length, answer));
  const rows = changed.map((each) =>
    row(cell(each.class), el("th", { scope: "row" }, each.title), cell(each.from ? place(each.from) : "new"), cell(place(each.to))),
  );
  fill(
    "moves-list",
    ...(rows.length ? [table("moves-title", "Lessons that lie elsewhere", ["Class", "Lesson", "Until now", "Then"], rows)] : []),
    el("ul", {}, ...said.filter((each) => done !== "nothing" && !/^ /.test(each)).map((each) => el("li", {}, sentence(each)))),
  );
  byId("moves-take").hidden = done === "nothing";
  openPanel("moves");
}

function headline(moved, changed, answer) {
  if (changed === 0) return "No lesson moves.";
  const said = moved ? `${count(moved, "lesson")} ${moved === 1 ? "moves" : "move"}` : "No lesson moves";
  const fewest = answer?.disruption && answer.disruption.value === answer.disruption.bound;
  return `${said}${fewest ? "; no plan keeps more of what people have in their diaries" : ""}.`;
}
