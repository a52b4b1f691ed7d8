// The plan on paper and in every other form: shown, printed, handed over as a file.

import { announce, byId, el, fill, say, show } from "./dom.js";
import { asJson, call, json } from "./service.js";
import { answer, calledFile, onTerm, term } from "./term.js";
import { attempt, onView } from "./views.js";
import { upper } from "./words.js";

let forms = null;

export function setUpSheets() {
  byId("sheet-show").addEventListener("click", () => (byId("sheet-box").hidden ? attempt(openSheet) : closeSheet()));
  byId("sheet-print").addEventListener("click", () =>
    attempt(async () => {
      if (byId("sheet-box").hidden) await openSheet();
      byId("sheet").contentWindow.print();
    }),
  );
  // A frame whose content has the focus is not told apart by style alone.
  const hold = () => setTimeout(() => byId("sheet").classList.toggle("held", document.activeElement === byId("sheet")));
  window.addEventListener("blur", hold);
  window.addEventListener("focus", hold);
  onTerm(closeSheet);
  onView("term", () => attempt(offerForms));
}

// The plan in a form, as it is.
export function written(format) {
  const body = { scenario: term().scenario, sequence: { lessons: term().plan.lessons } };
  return call("POST", `/v1/plans?format=${encodeURIComponent(format)}`, { ...asJson(body), accept: "*/*" });
}

async function openSheet() {
  const html = await (await written("sheet")).text();
  show("sheet-box");
  await layOut("sheet", html);
  byId("sheet-show").setAttribute("aria-expanded", "true");
  say("sheet-show", "Hide the sheets");
}

// Written into the frame a sheet is under the frame's own policy, which takes its style, runs nothing and loads nothing.
export async function layOut(id, html) {
  const frame = byId(id);
  await new Promise((resolve) => {
    frame.addEventListener("load", resolve, { once: true });
    frame.src = "page/sheet.html";
  });
  frame.contentDocument.open();
  frame.contentDocument.write(html);
  frame.contentDocument.close();
}

function closeSheet() {
  show("sheet-box", false);
  byId("sheet-show").setAttribute("aria-expanded", "false");
  say("sheet-show", "Show the sheets");
}

async function loadForms() {
  forms ??= (await json("GET", "/v1/formats")).formats;
  return forms;
}

async function offerForms() {
  const listed = await loadForms();
  if (byId("take").children.length) return;
  fill(
    "take",
    ...listed.map((each) =>
      el(
        "li",
        {},
        el("button", { type: "button", onclick: () => takeForm(each.name), "aria-describedby": `take-${each.name}` }, named(each)),
        el("span", { id: `take-${each.name}` }, ` ${each.what} (${each.ending})`),
      ),
    ),
  );
}

// A form named by its file's ending is an abbreviation.
function named(form) {
  return `.${form.name}` === form.ending ? form.name.toUpperCase() : upper(form.name);
}

export function takeForm(name) {
  return attempt(async () => {
    const form = (await loadForms()).find((each) => each.name === name);
    // What is for programs is the answer itself, with its bounds; the others are made of its lessons.
    const blob =
      name === "json"
        ? new Blob([`${JSON.stringify(answer(), null, 2)}\n`], { type: form.media_type })
        : await (await written(name)).blob();
    handOver(blob, `${calledFile()}-${name === "json" ? "answer" : name}${form.ending}`);
  });
}

// Puts a file with the browser's downloads.
export function handOver(blob, name) {
  const link = el("a", { href: URL.createObjectURL(blob), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  announce(`${name} is with your downloads.`);
}
