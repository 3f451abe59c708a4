// The questions of a new yard as the command has them: what was typed, how it was understood, what it still asks.

import { find } from "./dom.js";
import { part } from "./fieldparts.js";
import { press, say } from "./yardforms.js";

/** Questions of one line each, which are sent when the line is left. */
export const SINGLE = ["top", "slope", "price", "truck", "keep_off"];
/** What readings may be asked about, and the box that it stands in. */
export const NEAR_DOUBT = { keep: "ask-keep", sign: "ask-sign" };
const LINES = { again: "again", bed: "bed-size", ...Object.fromEntries(SINGLE.map((key) => [key, key])) };
const UNSAID = { units: "", high: "", measured: "Taken: not at all, the ground is flat." };
const SMALL = { ft: "in", m: "cm" };
const VOLUME = { ft: "cu yd", m: "m3" };

/** Whether a question's rows are its texts: a bed by length and width is one text of four corners. */
export const ownRows = ({ questions, plan }, key) => key !== "bed" || questions.bed.texts.length === plan.corners.length;

/** Units and ways of measuring in the words of the forms, and the forms that are there at all. */
export function showLabels({ questions, units }) {
  const told = { unit: units, small: SMALL[units], volume: VOLUME[units] };
  for (const [name, text] of Object.entries(told)) {
    document.querySelectorAll(`[data-${name}]`).forEach((one) => { one.textContent = text; });
  }
  const readings = { rod: `Rod, ${units}`, string: `String, ${SMALL[units]}` };
  find("reading-label").textContent = readings[questions.measured.texts[0]] ?? `Elevation, ${units}`;
  for (const [id, key] of [["shots", "shots"], ["again-form", "again"], ["keep-off-entry", "keep_off"]]) {
    find(id).hidden = !(key in questions);
    if (!(key in questions)) say(key, "");
  }
}

/** The buttons that are pressed. */
export function showChoices({ questions, units }) {
  press("units", units);
  for (const group of ["measured", "high"]) press(group, questions[group].texts[0] ?? "");
}

/** What stood in the lines of the forms when they were last filled: what somebody has begun to type since is theirs. */
const filled = new Map();

/** One question: what was typed in its line, how it was understood or what is taken. */
export function showQuestion(state, key) {
  const { taken, texts, told } = state.questions[key];
  const typed = key === "bed" && ownRows(state, key) ? "" : texts.slice(0, 1).join("");
  const anew = filled.get(key) !== typed;
  // A line that was refused and still stands there keeps the words beside it.
  if (anew || !isRefused(key)) sayTold(key, texts, told, UNSAID[key] ?? `Taken: ${taken}.`);
  if (!anew) return;
  filled.set(key, typed);
  if (key in LINES) find(LINES[key]).value = typed;
  if (key === "house") showHouse(typed);
}

const isRefused = (key) => key in LINES && find(LINES[key]).value !== filled.get(key) && find(`said-${key}`).classList.contains("trouble");

/** What was understood of the last row, but where a pressed button says it already; with no row what is taken. */
function sayTold(key, texts, told, taken) {
  if (!told.length) say(key, taken, "taken");
  else say(key, told.at(-1) === texts.at(-1) ? "" : told.at(-1));
}

function showHouse(text) {
  const [side, ...away] = text.split(" ");
  find("house-side").value = side === "none" ? "" : side;
  find("house-away").value = away.join(" ");
}

/** What has to be settled: in a box of its own with its answers, or beside its question. */
export function showDoubts(waits) {
  for (const [key, box] of Object.entries(NEAR_DOUBT)) {
    const open = waits.find((one) => one.key === key);
    find(box).hidden = !open;
    if (open) find(box).querySelector("p").textContent = open.words;
  }
  for (const { key, words } of waits) if (!(key in NEAR_DOUBT)) say(key, words, "open");
}

/** The ends that a tape to a tree can start from. */
export function showCorners(names) {
  for (const [id, usual] of [["trees-first", "A"], ["trees-second", "B"]]) {
    const list = find(id);
    const before = list.value;
    list.replaceChildren(...names.map((name) => part("option", { value: name }, name)));
    list.value = names.includes(before) ? before : usual;
  }
}
