// Where no plan exists: what cannot all hold, and the ways out, each taken over and put back by a press.

import { announce, byId, el, fill, say, statements } from "./dom.js";
import { seconds } from "./search.js";
import { asJson, json } from "./service.js";
import { attempt, closePanel, goToView, current, openPanel } from "./views.js";
import { count } from "./words.js";

let asked = null; // the term for which there is no plan
let mended = null; // called with the term that ways out make of it
let taken = []; // ways out that were taken over

export function setUpNoPlan() {
  byId("ways-plan").addEventListener("click", () => attempt(planMended));
  byId("ways-back").addEventListener("click", () => {
    closePanel();
    goToView(current());
  });
}

export async function tellNoPlan(next, explanation, planAgain) {
  asked = next;
  mended = planAgain;
  taken = [];
  tellConflicts(explanation?.conflicts ?? []);
  offer(explanation?.repairs ?? [], "More ways out are being looked for.");
  openPanel("no-plan");
  announce("No plan exists.");
  // The first answer names one way out; there may be others.
  const query = `conflicts=3&repairs=4&seconds=${seconds()}`;
  const found = await attempt(() => json("POST", `/v1/explanations?${query}`, asJson(asked.scenario)));
  if (!found || asked !== next) return;
  if (found.conflicts.length) tellConflicts(found.conflicts);
  if (found.repairs.length) offer(found.repairs, "");
  else say("ways-says", byId("ways").children.length ? "" : "None was found in the time. Change what you asked for, or allow more time.");
}

function tellConflicts(conflicts) {
  fill(
    "no-plan-why",
    ...conflicts.flatMap((conflict) => [
      ...statements(
        conflict.text,
        conflict.statements.map((each) => el("li", {}, each.text, cellOf(each))),
      ),
      conflict.proven_minimal ? el("p", { class: "small" }, "Without any one of these the others can hold; that is proven.") : "",
    ]),
  );
}

// Where a statement stands in a workbook; a path into a scenario helps nobody here.
function cellOf(statement) {
  return /^sheet /.test(statement.where) ? el("span", { class: "small" }, ` (${statement.where})`) : "";
}

function offer(repairs, more) {
  fill(
    "ways",
    ...repairs.map((repair) => {
      const text = repair.text.join("; ");
      const button = el("button", { type: "button", "aria-pressed": "false" }, "Take it over");
      button.addEventListener("click", () => {
        const now = !taken.includes(repair);
        taken = now ? [...taken, repair] : taken.filter((each) => each !== repair);
        button.setAttribute("aria-pressed", String(now));
        button.textContent = now ? "Put it back" : "Take it over";
        byId("ways-plan").disabled = taken.length === 0;
        announce(`${text}: ${now ? "taken over" : "put back"}. ${count(taken.length, "way out", "ways out")} taken over.`);
      });
      return el("li", {}, button, ` ${text}`);
    }),
  );
  taken = [];
  byId("ways-plan").disabled = true;
  say("ways-says", more || "Each was tried, and gives a plan by itself.");
}

async function planMended() {
  const changes = taken.flatMap((each) => each.changes);
  const { scenario } = await json("POST", "/v1/scenarios", asJson({ scenario: asked.scenario, changes }));
  mended({ ...asked, scenario });
}
