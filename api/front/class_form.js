// A class that is being set up: its name, the cells of its timetable, and its lessons, pasted one to a line.

import { choice, el, row } from "./dom.js";
import { PastedLessons } from "./pasted.js";
import { count, WEEKDAYS } from "./words.js";

const PERIODS = [4, 5, 6, 7, 8, 9, 10].map((each) => [String(each), `${each} periods a day`]);

let numbered = 0;

export class ClassForm {
  // `others` tells the forms of all classes; `removed` is called when this one is to go.
  constructor(others, removed) {
    this.number = ++numbered;
    this.others = others;
    this.met = new Set(); // "A Mon 1"
    this.periods = "5";
    const id = (part) => `class-${this.number}-${part}`;
    this.name = el("input", { id: id("name"), maxlength: "40", autocomplete: "off", size: "8" });
    this.teacher = el("input", { id: id("teacher"), maxlength: "60", autocomplete: "off" });
    this.grids = el("div", { class: "two" });
    this.same = el("select", { id: id("same"), onchange: () => this.tellSame() });
    this.pasted = new PastedLessons(id("lessons"), "Its lessons, one to a line", () => this.name.value.trim());
    this.sameLine = el("p", { class: "line", hidden: true }, el("label", { for: id("same") }, "Its lessons are"), this.same);
    const remove = el("button", { type: "button", onclick: removed }, "Leave this class out");
    this.remove = el("p", { hidden: this.number === 1 }, remove);
    this.counted = el("p", { class: "small", "aria-live": "polite" });
    this.box = el(
      "fieldset",
      {},
      el("legend", {}, `Class ${this.number}`),
      el(
        "p",
        { class: "line" },
        el("label", { for: id("name") }, "Its name"),
        this.name,
        el("label", { for: id("teacher") }, "taught by"),
        this.teacher,
        choice("Periods a day", PERIODS, this.periods, (value) => {
          this.periods = value;
          this.draw();
        }),
      ),
      this.grids,
      this.counted,
      this.sameLine,
      this.pasted.box,
      this.remove,
    );
  }

  show(labels) {
    this.labels = labels;
    this.draw();
  }

  draw() {
    const weeks = this.labels.length > 1 ? [...this.labels].sort() : ["every"];
    this.met = new Set([...this.met].filter((each) => weeks.includes(each.split(" ")[0]) && Number(each.split(" ")[2]) <= this.periods));
    this.grids.replaceChildren(...weeks.map((week) => this.grid(week)));
    this.tellCounted();
  }

  grid(week) {
    const title = week === "every" ? "Tick the cells in which it meets" : `Week ${week}: tick the cells in which it meets`;
    const days = WEEKDAYS.slice(0, 5);
    const rows = Array.from({ length: Number(this.periods) }, (_, at) => {
      const period = at + 1;
      const cells = days.map((weekday) => {
        const key = `${week} ${weekday} ${period}`;
        const called = `${week === "every" ? "" : `week ${week}, `}${weekday} period ${period}`;
        const box = el("input", { type: "checkbox", "aria-label": called });
        box.checked = this.met.has(key);
        box.addEventListener("change", () => {
          if (box.checked) this.met.add(key);
          else this.met.delete(key);
          this.tellCounted();
        });
        return el("td", {}, el("label", { class: "cell" }, box));
      });
      return row(el("th", { scope: "row" }, String(period)), ...cells);
    });
    const heads = ["Period", ...days].map((head) => el("th", { scope: "col" }, head));
    return el("table", { class: "grid" }, el("caption", {}, title), el("thead", {}, row(...heads)), el("tbody", {}, ...rows));
  }

  tellCounted() {
    const weeks = this.labels.length > 1 ? " in two weeks" : " a week";
    this.counted.textContent = this.met.size ? `${count(this.met.size, "period")}${weeks}.` : "";
  }

  // Which other class has the same lessons can be said from the second class on.
  offerSame() {
    const others = this.others().filter((each) => each !== this && each.same.value === "");
    const before = this.same.value;
    const named = others.map((each) => [String(each.number), `those of ${each.name.value.trim() || `class ${each.number}`}`]);
    this.same.replaceChildren(...[["", "these"], ...named].map(([value, text]) => el("option", { value }, text)));
    this.same.value = named.some(([value]) => value === before) ? before : "";
    this.sameLine.hidden = named.length === 0;
    this.remove.hidden = this.others().length === 1;
    this.tellSame();
  }

  tellSame() {
    this.pasted.box.hidden = this.same.value !== "";
  }

  // What is not there yet, in a sentence, with the field that wants it.
  wanting() {
    if (!this.name.value.trim()) return ["Name the class.", this.name];
    if (!this.met.size) return [`Tick the cells in which ${this.name.value.trim()} meets.`, this.grids.querySelector("input")];
    if (!this.same.value && !this.pasted.text.trim()) return [`Paste the lessons of ${this.name.value.trim()}.`, this.pasted.area];
    return null;
  }

  timetable() {
    const found = {};
    for (const key of [...this.met].sort()) {
      const [week, weekday, period] = key.split(" ");
      ((found[week] ??= {})[weekday] ??= []).push(Number(period));
    }
    return found;
  }
}
