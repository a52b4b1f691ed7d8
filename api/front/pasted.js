// A field for pasted lessons, and under it how the server understands each line.

import { announce, cell, el, row, table } from "./dom.js";
import { asJson, json } from "./service.js";
import { attempt } from "./views.js";
import { count } from "./words.js";

const PAUSE = 700; // milliseconds after a key before the lines are read
const EXAMPLE = "Waves that build and destroy\nHeadlands and bays (hard)\nA labelled cliff sketch (practice)\nCoasts test (test)";

export class PastedLessons {
  constructor(id, label, className) {
    this.className = className;
    this.area = el("textarea", { id, rows: "8", spellcheck: "false", placeholder: EXAMPLE, "aria-describedby": `${id}-says` });
    this.list = el("div", { id: `${id}-list` });
    const says =
      "Mark a line where it is not new content: (practice), (test), (feedback), (quiz); where it is (hard); where it takes two " +
      "periods: (double). A line that ends with a colon names a unit. Rows of a spreadsheet can be pasted too.";
    this.box = el(
      "div",
      { class: "field" },
      el("label", { for: id }, label),
      el("p", { id: `${id}-says`, class: "small" }, says),
      this.area,
      this.list,
    );
    this.area.addEventListener("input", () => {
      clearTimeout(this.waiting);
      this.waiting = setTimeout(() => this.read(), PAUSE);
    });
  }

  get text() {
    return this.area.value;
  }

  async read() {
    if (!this.text.trim()) return this.list.replaceChildren();
    const mine = this.text;
    const found = await attempt(() => understood([{ class: "class", text: mine }]));
    if (!found || mine !== this.text) return null;
    return this.tell(found.lists[0].lines);
  }

  tell(lines) {
    const lessons = lines.filter((each) => each.lesson && !each.wrong).length;
    const asked = lines.filter((each) => each.hint || each.wrong).length;
    const looked = asked ? `; ${count(asked, "line needs", "lines need")} a look` : "";
    const says = `Understood: ${count(lessons, "lesson")}${looked}.`;
    const rows = lines.map((each) =>
      row(
        el("th", { scope: "row", class: "count" }, String(each.line)),
        cell(each.text),
        el("td", {}, each.wrong ? el("strong", { class: "wrong" }, each.wrong) : each.says, ...this.asked(each)),
      ),
    );
    const shown = table(`${this.list.id}-title`, says, ["Line", "What stands there", "Taken for"], rows);
    this.list.replaceChildren(shown);
    announce(says);
  }

  // A question, with the button that changes the line.
  asked({ line, hint, instead }) {
    if (!hint) return [];
    const button = el("button", { type: "button", class: "slight" }, "Yes");
    button.setAttribute("aria-label", `Yes, line ${line}: ${instead}`);
    button.addEventListener("click", () => {
      const lines = this.text.split(/\r\n|\r|\n/);
      lines[line - 1] = instead;
      this.area.value = lines.join("\n");
      this.area.focus();
      this.read();
    });
    return [el("span", { class: "asked" }, hint, " ", button)];
  }
}

// How the server understands lists of lessons, and the units that they make.
export function understood(lists) {
  return json("POST", "/v1/lesson-lists", asJson({ lists }));
}
