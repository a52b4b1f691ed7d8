// Files: a term opened from one, from an example, and kept in one: in place where the browser can, as a download otherwise.

import { announce, byId, el, fill, say } from "./dom.js";
import { asJson, call, json, Refused } from "./service.js";
import { handOver } from "./take.js";
import { begin, calledFile, saved, term } from "./term.js";
import { attempt, goToView } from "./views.js";

const WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
const MEDIA = { yaml: "application/yaml", yml: "application/yaml", json: "application/json", xlsx: WORKBOOK };
const TYPES = [
  { description: "Workbook", accept: { [WORKBOOK]: [".xlsx"] } },
  { description: "Term for programs", accept: { "application/json": [".json"] } },
];

let handle = null; // the file that saving writes in place
let book = null; // the workbook that was opened: what is the teacher's own in it stays
let format = "xlsx";
let latest = 0;

export async function setUpFiles() {
  byId("save").addEventListener("click", () => attempt(save));
  byId("file").addEventListener("change", (event) => open(event.target.files[0]));
  byId("blank").addEventListener("click", () => attempt(blank));
  if (window.showOpenFilePicker) {
    byId("open").hidden = false;
    byId("open").addEventListener("click", () => attempt(openInPlace));
  }
  window.addEventListener("dragover", (event) => {
    event.preventDefault();
    byId("drop").classList.add("over");
  });
  window.addEventListener("dragleave", () => byId("drop").classList.remove("over"));
  window.addEventListener("drop", (event) => {
    event.preventDefault();
    byId("drop").classList.remove("over");
    open(event.dataTransfer.files[0]);
  });
  await attempt(async () => listDemos((await json("GET", "/v1/demos")).demos));
}

// Another term is not to be written over the one that was opened.
export function forgetFile() {
  handle = book = null;
}

// -- opening

function listDemos(demos) {
  fill("demo", ...demos.map((demo) => el("option", { value: demo.name }, demo.title)));
  const chosen = () => demos.find((demo) => demo.name === byId("demo").value);
  byId("demo").value = demos.some((demo) => demo.name === "half-term") ? "half-term" : (demos[0]?.name ?? "");
  const describe = () => say("demo-says", chosen()?.says ?? "No examples came with this server.");
  byId("demo").addEventListener("change", describe);
  describe();
  byId("demo-take").disabled = demos.length === 0;
  byId("demo-take").addEventListener("click", () =>
    take(chosen().name, MEDIA.yaml, async () =>
      (await call("GET", `/v1/demos/${encodeURIComponent(chosen().name)}`, { accept: MEDIA.yaml })).text(),
    ),
  );
}

function open(file, from = null) {
  if (!file) return;
  const [, stem, ending] = file.name.match(/^(.*)\.(\w+)$/) ?? [];
  const kind = (ending ?? "").toLowerCase();
  take(stem ?? file.name, MEDIA[kind], () => file.arrayBuffer(), from, kind);
}

async function openInPlace() {
  const [from] = await window.showOpenFilePicker({ types: [{ description: "Term", accept: { ...TYPES[0].accept, ...TYPES[1].accept } }] });
  open(await from.getFile(), from);
}

// Only the file chosen last counts, whichever is read first.
async function take(name, media, source, from = null, kind = "") {
  const mine = ++latest;
  await attempt(async () => {
    if (!media) throw new Refused("That kind of file is not read", "The name must end in .xlsx, .json or .yaml.");
    const body = await source();
    const read = await json("POST", "/v1/terms", { body, media });
    if (mine !== latest) return;
    handle = from;
    book = media === WORKBOOK ? inBase64(body) : null;
    if (kind === "json" || kind === "xlsx") format = kind;
    begin(read, name, { saved: true });
    announce(`${name} is read.`);
    goToView(read.plan ? "week" : "begin");
    if (!read.plan) await planFirst(read);
  });
  // So that the same file can be chosen again once it is put right.
  byId("file").value = "";
}

let planFirst = null;

// What is done with a term that has no plan yet.
export function onWithoutPlan(listener) {
  planFirst = listener;
}

async function blank() {
  handOver(await (await call("GET", "/v1/blank-workbook", { accept: WORKBOOK })).blob(), "term.xlsx");
}

// -- saving

async function save() {
  if (!handle && window.showSaveFilePicker)
    handle = await window.showSaveFilePicker({ suggestedName: `${calledFile()}.${format}`, types: TYPES });
  const ending = handle ? handle.name.split(".").at(-1).toLowerCase() : format;
  const blob = await written(ending);
  if (handle) {
    const writing = await handle.createWritable();
    await writing.write(blob);
    await writing.close();
    saved(handle.name.replace(/\.\w+$/, ""));
    announce(`Saved in ${handle.name}.`);
  } else {
    handOver(blob, `${calledFile()}.${ending}`);
    saved();
  }
}

async function written(ending) {
  if (ending === "json") return new Blob([`${JSON.stringify(term(), null, 1)}\n`], { type: MEDIA.json });
  const beside = book ? { workbook: book } : {};
  const written = await (await call("POST", "/v1/terms", { ...asJson({ ...term(), ...beside }), accept: WORKBOOK })).blob();
  book = inBase64(await written.arrayBuffer());
  return written;
}

function inBase64(bytes) {
  return btoa(Array.from(new Uint8Array(bytes), (each) => String.fromCharCode(each)).join(""));
}
