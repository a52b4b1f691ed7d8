// The parts of the page put together, and the key where the server wants one.

import { setUpBegin } from "./begin.js";
import { byId, goTo, say, show } from "./dom.js";
import { setUpFiles } from "./keep.js";
import { setUpLesson } from "./lesson.js";
import { setUpMoves } from "./moves.js";
import { setUpNext } from "./next.js";
import { setUpNoPlan } from "./no_plan.js";
import { setUpOutline } from "./outline.js";
import { setUpPlan } from "./plan.js";
import { offerSeconds } from "./search.js";
import { onKeyWanted } from "./service.js";
import { setUpSheets } from "./take.js";
import { onTerm, undo } from "./term.js";
import { attempt, followAddress, showViews } from "./views.js";
import { setUpWeek } from "./week.js";
import { setUpWhatIf } from "./what_if.js";

let given = null; // resolves the wait for a key
let wanted = null;

onKeyWanted((again) => {
  say("key-wrong", again ? "The server does not know this key." : "");
  show("key-form");
  goTo("key-head");
  wanted ??= new Promise((resolve) => {
    given = resolve;
  });
  return wanted;
});

byId("key-form").addEventListener("submit", (event) => {
  event.preventDefault();
  const key = byId("key").value.trim();
  if (!key || !given) return;
  byId("key").value = "";
  show("key-form", false);
  given(key);
  given = wanted = null;
  byId("main").focus();
});

byId("undo").addEventListener("click", () => attempt(undo));

offerSeconds();
setUpBegin();
setUpWeek();
setUpPlan();
setUpLesson();
setUpOutline();
setUpSheets();
setUpMoves();
setUpNoPlan();
setUpWhatIf();
setUpNext();
// After all others, which forget what they showed of the term before.
onTerm(showViews);
followAddress();
showViews();
setUpFiles();
