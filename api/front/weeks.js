// The weeks of a term on one sheet: days off are ticked, weeks are in school, remote or holiday, remote ones with live lessons.

import { announce, byId, cell, choice, el, row } from "./dom.js";
import { json } from "./service.js";
import { attempt } from "./views.js";
import { addDays, count, dayOfMonth, monday, shortDay, WEEKDAYS } from "./words.js";

const LONGEST = 60; // weeks
const HOW = [["school", "in school"], ["remote", "remote"], ["holiday", "holiday"]];
const LIVE = [["", "any number live"], ...[1, 2, 3, 4, 5].map((each) => [String(each), `at least ${each} live`])];

export class Weeks {
  constructor(boxId) {
    this.box = byId(boxId);
    this.off = new Map(); // date to its name
    this.how = new Map(); // Monday to one of HOW
    this.live = new Map(); // Monday to a number, as text
    this.named = []; // bank holidays
  }

  // Shows the weeks from one day to another; `labels` are those of the timetable, beginning with the first week's.
  show(first, last, labels) {
    Object.assign(this, { first, last, labels });
    const mondays = this.mondays();
    if (!mondays.length) return this.box.replaceChildren();
    this.rows = el("tbody", {});
    this.offer = el("div", {});
    const heads = ["Week", "Taught", ...WEEKDAYS.slice(0, 5)].map((head) => el("th", { scope: "col" }, head));
    const id = `${this.box.id}-title`;
    this.box.replaceChildren(
      el(
        "div",
        { class: "wide", tabindex: "0", role: "region", "aria-labelledby": id },
        el(
          "table",
          { class: "weeks" },
          el("caption", { id }, "The weeks of term: tick each day off"),
          el("thead", {}, row(...heads)),
          this.rows,
        ),
      ),
      this.offer,
    );
    this.draw();
    this.tellNamed();
    return null;
  }

  mondays() {
    const found = [];
    if (!this.first || !this.last || this.last < this.first) return found;
    for (let at = monday(this.first); at <= this.last && found.length < LONGEST; at = addDays(at, 7)) found.push(at);
    return found;
  }

  days(start) {
    return [0, 1, 2, 3, 4].map((each) => addDays(start, each)).filter((each) => each >= this.first && each <= this.last);
  }

  isHoliday(start) {
    return this.how.get(start) === "holiday" || this.days(start).every((each) => this.off.has(each));
  }

  draw() {
    let number = 0;
    const rows = this.mondays().map((start) => {
      const free = this.isHoliday(start);
      const label = free ? "" : `${number + 1} ${this.labels.length > 1 ? this.labels[number % this.labels.length] : ""}`;
      number += free ? 0 : 1;
      const days = [0, 1, 2, 3, 4].map((each) => this.dayCell(addDays(start, each)));
      return row(el("th", { scope: "row" }, free ? "–" : label.trim()), this.howCell(start), ...days);
    });
    this.rows.replaceChildren(...rows);
  }

  dayCell(date) {
    if (date < this.first || date > this.last) return cell("");
    const id = `${this.box.id}-${date}`;
    const box = el("input", { type: "checkbox", id, "aria-label": `${dayOfMonth(date)}, ${shortDay(date).slice(0, 3)}: off` });
    box.checked = this.off.has(date) || this.how.get(monday(date)) === "holiday";
    box.disabled = this.how.get(monday(date)) === "holiday";
    box.addEventListener("change", () => {
      if (box.checked) this.off.set(date, this.named.find((each) => each.on === date)?.name ?? "Day off");
      else this.off.delete(date);
      this.redraw(id);
    });
    const name = this.off.get(date);
    return el(
      "td",
      { class: box.checked ? "off" : null },
      box,
      el("label", { for: id }, box.checked ? el("s", {}, dayOfMonth(date)) : dayOfMonth(date)),
      name && name !== "Day off" ? el("span", { class: "facts" }, name) : "",
    );
  }

  howCell(start) {
    const week = `the week of ${dayOfMonth(start)}`;
    const how = choice(`How lessons are taught in ${week}`, HOW, this.how.get(start) ?? "school", (value) => {
      this.how.set(start, value);
      this.redraw(how.id);
    });
    how.id = `${this.box.id}-how-${start}`;
    if (this.how.get(start) !== "remote") return el("td", {}, how);
    const live = choice(`Live lessons of each class in ${week}`, LIVE, this.live.get(start) ?? "", (value) => this.live.set(start, value));
    return el("td", {}, how, " ", live);
  }

  // Labels of later weeks change with a holiday; the focus stays where it was.
  redraw(id) {
    this.draw();
    document.getElementById(id)?.focus();
    this.tellNamed();
  }

  // Offers the bank holidays of a country; none is taken off before somebody says so.
  async askBankHolidays(country) {
    this.named = [];
    if (country && this.mondays().length) {
      const query = new URLSearchParams({ country, first: this.first, last: this.last });
      const found = await attempt(() => json("GET", `/v1/holidays?${query}`));
      this.named = found?.holidays ?? [];
      announce(`${count(this.named.length, "bank holiday")} in these weeks.`);
    }
    this.tellNamed();
    return this.named;
  }

  tellNamed() {
    const left = this.named.filter((each) => !this.off.has(each.on) && this.how.get(monday(each.on)) !== "holiday");
    if (!left.length) return this.offer?.replaceChildren();
    const take = el("button", { type: "button" }, left.length > 1 ? "Take them off" : "Take it off");
    take.addEventListener("click", () => {
      for (const each of left) this.off.set(each.on, each.name);
      this.draw();
      this.tellNamed();
      byId(`${this.box.id}-${left[0].on}`).focus();
      announce(`Off: ${left.map((each) => each.name).join(", ")}.`);
    });
    const named = left.map((each) => `${shortDay(each.on)}, ${each.name}`).join("; ");
    return this.offer.replaceChildren(el("p", { class: "line" }, el("span", {}, `Bank holidays: ${named}.`), take));
  }

  // What the sheet says, as parts of a scenario.
  said() {
    const holidays = [];
    const closures = [];
    const remote = [];
    const lives = [];
    for (const start of this.mondays()) {
      const days = this.days(start);
      if (!days.length) continue;
      const [first, last] = [days[0], days.at(-1)];
      if (this.how.get(start) === "holiday") {
        holidays.push({ name: "Holiday", first, last });
        continue;
      }
      for (const date of days.filter((each) => this.off.has(each))) {
        const into = this.named.some((each) => each.on === date) ? holidays : closures;
        into.push({ name: this.off.get(date), on: date });
      }
      if (this.how.get(start) !== "remote") continue;
      remote.push({ name: `Remote week of ${dayOfMonth(first)}`, first, last });
      lives.push({ first, last, least: Number(this.live.get(start) ?? 0) });
    }
    return { holidays, closures, remote_spells: remote, live_quotas: quotas(lives) };
  }
}

// One for every week where all ask for the same, otherwise one for each.
function quotas(lives) {
  const asked = lives.filter((each) => each.least > 0);
  if (!asked.length) return [];
  if (asked.length === lives.length && asked.every((each) => each.least === asked[0].least))
    return [{ per: "week", least: asked[0].least }];
  return asked.map(({ first, last, least }) => ({ per: "span", first, last, least }));
}
