// The first step: a demo or a file is read by the server, which answers with the scenario or with everything wrong with it.

import { byId, el, fill, goTo, say, show } from "./dom.js";
import { call, json, Refused } from "./service.js";
import { count, day } from "./words.js";

const WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
const MEDIA = { yaml: "application/yaml", yml: "application/yaml", json: "application/json", xlsx: WORKBOOK };

let latest = 0;

// Sets the step up; `chosen` is called with every scenario that can be used, and with null when another is being read.
export async function offerScenarios(chosen) {
  byId("file").addEventListener("change", (event) => takeFile(event.target.files[0], chosen));
  window.addEventListener("dragover", (event) => {
    event.preventDefault();
    byId("drop").classList.add("over");
  });
  window.addEventListener("dragleave", () => byId("drop").classList.remove("over"));
  window.addEventListener("drop", (event) => {
    event.preventDefault();
    byId("drop").classList.remove("over");
    takeFile(event.dataTransfer.files[0], chosen);
  });
  try {
    listDemos((await json("GET", "/v1/demos")).demos, chosen);
  } catch (error) {
    tellWrong(error, "");
  }
}

function listDemos(demos, chosen) {
  const select = byId("demo");
  fill("demo", ...demos.map((demo) => el("option", { value: demo.name }, demo.title)));
  select.value = demos.some((demo) => demo.name === "half-term") ? "half-term" : (demos[0]?.name ?? "");
  const describe = () =>
    say("demo-says", demos.find((demo) => demo.name === select.value)?.says ?? "No examples came with this server.");
  select.addEventListener("change", describe);
  describe();
  const take = byId("demo-take");
  take.disabled = demos.length === 0;
  take.addEventListener("click", () =>
    takeDemo(
      demos.find((demo) => demo.name === select.value),
      chosen,
    ),
  );
}

async function takeDemo(demo, chosen) {
  byId("file").value = "";
  await take(`example ${demo.name}`, chosen, async () => {
    const text = await (await call("GET", `/v1/demos/${encodeURIComponent(demo.name)}`, { accept: MEDIA.yaml })).text();
    return { name: demo.name, body: text, media: MEDIA.yaml };
  });
}

async function takeFile(file, chosen) {
  if (!file) return;
  await take(file.name, chosen, async () => {
    const [, stem, ending] = file.name.match(/^(.*)\.(\w+)$/) ?? [];
    const media = MEDIA[(ending ?? "").toLowerCase()];
    if (!media)
      throw new Refused("That kind of file is not read", `The name must end in .yaml, .json or .xlsx (it is ${file.name}).`);
    return { name: stem, body: await file.arrayBuffer(), media };
  });
}

// Only the scenario chosen last counts, whichever is read first.
async function take(called, chosen, source) {
  const mine = ++latest;
  chosen(null);
  show("wrong", false);
  show("read", false);
  try {
    const file = await source();
    const read = await json("POST", "/v1/scenarios", { body: file.body, media: file.media });
    if (mine !== latest) return;
    const lines = file.media !== WORKBOOK;
    // A workbook is sent on as the scenario that it means; a text as it is, so that lines named later are its own.
    const sent = lines ? { body: file.body, media: file.media } : { body: JSON.stringify(read.scenario), media: MEDIA.json };
    tellRead(read, called);
    chosen({ name: file.name, read, sent, lines });
    goTo("read-head");
  } catch (error) {
    if (mine === latest) tellWrong(error, called);
  }
}

function tellRead(read, called) {
  say("read-head", read.title ?? called);
  say(
    "read-says",
    `Read without a problem: ${day(read.first)} to ${day(read.last)}, ${count(read.classes.length, "class", "classes")}.`,
  );
  const rows = read.classes.map((each) =>
    el(
      "li",
      {},
      el("strong", {}, each.class),
      each.teacher ? `, ${each.teacher}` : "",
      `: ${count(each.periods, "period")} for up to ${count(each.lessons, "lesson")}`,
    ),
  );
  fill("read-classes", el("ul", { class: "plain" }, ...rows));
  show("read");
}

function tellWrong(error, called) {
  if (!(error instanceof Refused)) throw error;
  const problems = error.problems;
  say("wrong-head", called ? `${called}: ${error.title.toLowerCase()}` : error.title);
  say(
    "wrong-says",
    problems.length
      ? `${count(problems.length, "thing")} to put right, in the order of the file. Change the file and choose it again.`
      : error.detail,
  );
  fill("wrong-list", ...problems.map((problem) => el("tr", {}, el("td", {}, place(problem)), el("td", {}, inWords(problem)))));
  show("wrong-wide", problems.length > 0);
  show("wrong");
  // So that the same file can be chosen again once it is put right.
  byId("file").value = "";
  goTo("wrong-head");
}

function place(problem) {
  if (problem.line) return `line ${problem.line}, column ${problem.column}`;
  return problem.where || "the whole file";
}

// In a text the path stands beside line and column; in a workbook it is the cell, which is the place itself.
function inWords(problem) {
  if (!problem.line || !problem.where) return problem.message;
  const path = el("span", { class: "path" }, problem.where);
  return el("span", {}, path, " ", problem.message);
}
