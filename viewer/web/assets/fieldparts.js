// Parts of the phone's page: elements, lines to type in, words in the language that was chosen.

/**
 * An element with its properties, its listeners (onclick, ...) and what stands in it.
 * @param {string} tag
 * @param {Record<string, any>} [properties]
 * @param {...(Node | string | null)} inside
 * @returns {any}
 */
export function part(tag, properties = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [key, value] of Object.entries(properties)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key.startsWith("aria-") || key.startsWith("data-") || key === "for" || key === "role") made.setAttribute(key, value);
    else made[key] = value;
  }
  made.append(...inside.filter((one) => one !== null && one !== ""));
  return made;
}

let counted = 0;

/** A label with a line to type in; figures bring up the keys for figures. */
export function lineFor(label, value, typed, { figures = true, wide = false } = {}) {
  const id = `entry-${++counted}`;
  const line = part("input", {
    id, value, type: "text", inputMode: figures ? "decimal" : "text", autocomplete: "off", spellcheck: false,
    autocapitalize: figures ? "off" : "characters", oninput: (event) => typed(event.target.value),
  });
  return part("div", { className: wide ? "entry wide" : "entry" }, part("label", { for: id }, label), line);
}

/** A label with a list to choose from; `choices` are [value, words]. */
export function chosenFrom(label, choices, value, chosen) {
  const id = `entry-${++counted}`;
  const options = choices.map(([key, words]) => part("option", { value: key }, words));
  const list = part("select", { id, onchange: (event) => chosen(event.target.value) }, ...options);
  list.value = value;
  return part("div", { className: "entry" }, part("label", { for: id }, label), list);
}

/** A button with words on it. */
export const pressed = (words, act, kind = "") => part("button", { type: "button", className: kind, onclick: act }, words);

/** A button that acts at the second press only. */
export function pressedTwice(words, again, act) {
  const made = pressed(words, () => {
    if (made.dataset.asked) {
      act();
      return;
    }
    made.dataset.asked = "yes";
    made.textContent = again;
    setTimeout(() => { delete made.dataset.asked; made.textContent = words; }, 4000);
  }, "plain");
  return made;
}

/** Some buttons of which one holds. */
export function oneOf(label, choices, value, chosen) {
  const buttons = choices.map(([key, words]) => part("button", {
    type: "button", "aria-pressed": String(key === value),
    onclick: () => {
      buttons.forEach((one, k) => one.setAttribute("aria-pressed", String(choices[k][0] === key)));
      chosen(key);
    },
  }, words));
  return part("div", { className: "choices", role: "group", "aria-label": label }, ...buttons);
}

/** Texts in the language chosen: English where a catalogue has none. */
export class Tongues {
  constructor(catalogues, code) {
    this.catalogues = catalogues;
    this.code = code;
  }

  /** A message with its {names} filled in. */
  say(message, values = {}) {
    const told = this.catalogues[this.code]?.[message] || message;
    return told.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
  }
}
