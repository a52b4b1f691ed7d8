// The steps of the page put together; what was chosen and found lives here, and is gone when the page is closed.

import { offerScenarios } from "./choose.js";
import { hideClosure, offerClosure, setUpClosure } from "./closure.js";
import { byId, goTo, say, show } from "./dom.js";
import { hidePlan, setUpPlan, showPlan } from "./plan.js";
import { offerSearch, searchFor } from "./search.js";
import { onKeyWanted } from "./service.js";

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

setUpPlan();
setUpClosure();

offerSearch(
  () => {
    hidePlan();
    hideClosure();
  },
  (scenario, answer) => {
    showPlan(scenario, answer);
    if (answer.verdict) offerClosure(scenario, answer);
  },
);

offerScenarios((scenario) => {
  hidePlan();
  hideClosure();
  searchFor(scenario);
});
