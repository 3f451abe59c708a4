// The forms of a new yard: each hands over texts as they were typed, and shows how the command understood them.

import { find } from "./dom.js";
import { part } from "./fieldparts.js";

/** The figures of a row as they were typed. */
export function partsOf(text) {
  const found = text.split(/[,;\t]/).map((one) => one.trim());
  return found.length > 1 ? found : text.trim().split(/\s+/);
}

/** A question that takes a row for each thing: a form for one of them, and the list of those there are. */
export class RowForm {
  /**
   * `told.text(form)` makes the text of a row out of what stands in the form, and `told.fill(form, text)` the other way
   * round; `ask(message, then)` sends it.
   */
  constructor(key, words, told, ask) {
    this.key = key;
    this.words = words;
    this.told = told;
    this.ask = ask;
    this.row = 0; // the row that is being changed, from 1 on; 0: a new one
    this.texts = [];
    this.form = find(`${key}-form`);
    this.form.addEventListener("submit", (event) => { event.preventDefault(); this.take(); });
    find(`${key}-leave`).addEventListener("click", () => this.leave());
  }

  take() {
    const message = { do: this.row ? "change" : "add", key: this.key, row: this.row, text: this.told.text() };
    this.ask(message, () => this.leave());
  }

  /** Ready for a new row. */
  leave() {
    this.row = 0;
    this.told.fill("");
    this.label();
  }

  edit(row, text) {
    this.row = row;
    this.told.fill(text);
    this.label();
    this.form.querySelector("input").focus();
  }

  label() {
    find(`${this.key}-take`).textContent = this.row ? `Change ${this.words.one} ${this.row}` : this.words.add;
    find(`${this.key}-leave`).hidden = !this.row;
  }

  /** The rows as they are now, each as it was understood. */
  show(texts, told) {
    if (this.row > texts.length) this.leave();
    const list = find(`rows-${this.key}`);
    const held = list.contains(document.activeElement);
    const alike = JSON.stringify([texts, told]);
    if (alike === this.shown) return;
    this.shown = alike;
    list.replaceChildren(...texts.map((text, k) => this.line(k + 1, text, told[k])));
    list.scrollTop = list.scrollHeight; // the newest is at the end
    if (held) (list.querySelector("li:last-child button") ?? this.form.querySelector("input")).focus();
  }

  line(row, text, told) {
    const name = `${this.words.one} ${row}`;
    const button = (sign, said, act) => part("button", { type: "button", className: "small", onclick: act, "aria-label": said }, sign);
    return part("li", {},
      part("span", {}, told),
      button("Change", `Change ${name}`, () => this.edit(row, text)),
      button("✕", `Take ${name} out`, () => this.ask({ do: "drop", key: this.key, row, text: "" }, () => {})));
  }
}

/** Words beside a question: how it was understood, what is still missing, or why it was refused. */
export function say(key, text, kind = "") {
  const line = find(`said-${key}`);
  if (!line) return false;
  line.textContent = text;
  line.className = `said ${kind}`.trim();
  return true;
}

/** The radio button of a group with a value, pressed; none where there is no such. */
export function press(group, value) {
  for (const one of find(group).querySelectorAll("input")) one.checked = one.value === value;
}

/** Small pieces of HTML that the command made, every text in them escaped; and plain lines. */
export function fillIn(panels) {
  for (const id of ["order", "limits", "look"]) find(id).innerHTML = panels[id];
  for (const id of ["first", "sure"]) find(id).replaceChildren(...panels[id].map((text) => part("p", {}, text)));
  find("falls").textContent = panels.falls;
}
