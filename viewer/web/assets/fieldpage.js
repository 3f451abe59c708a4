// The page for the phone: level book, tapes, stakes, built shots and files, kept as they are typed.

import { find } from "./dom.js";
import { Field, decoded, unpacked } from "./field.js";
import { FilesTab } from "./fieldhand.js";
import { LevelsTab } from "./fieldlevels.js";
import { Tongues, part } from "./fieldparts.js";
import { BuiltTab, StakesTab, instrumentOf } from "./fieldstakes.js";
import { EntryStore } from "./fieldstore.js";
import { TapesTab, placedTies, typedPoints } from "./fieldtapes.js";
import { showLength, unitLength } from "./units.js";

const TABS = { levels: LevelsTab, tapes: TapesTab, stakes: StakesTab, built: BuiltTab, files: FilesTab };
const COMMA = ["fr"]; // languages with a decimal comma

/** Entries whose level book starts on the yard's own benchmark, where nothing else was written. */
function withBenchmark(entries, { benchmark, units }) {
  const { book } = entries;
  if (!benchmark || book.benchmark || book.elevation) return entries;
  book.benchmark = benchmark.name;
  book.elevation = showLength(benchmark.elevation, units, "elevation").split(" ")[0];
  book.lines[0].point ||= benchmark.name;
  return entries;
}

class FieldApp {
  constructor(values, grades) {
    this.values = values;
    this.grades = grades;
    this.store = new EntryStore(values.job);
    this.entries = withBenchmark(this.store.read(), values);
    this.words = new Tongues(values.words, this.entries.language || values.language);
    this.show(this.entries.tab in TABS ? this.entries.tab : "levels");
  }

  get units() { return this.values.site ? this.values.units : this.entries.units || this.values.units; }

  get unitName() { return this.measure(`1 ${this.units}`).slice(2); }

  known() {
    return [...this.values.known.map((one) => ({ name: one.name, at: [one.x, one.y] })), ...typedPoints(this.entries.known, this.units)];
  }

  tied() { return placedTies(this.entries.ties, this.known(), this.units); }

  points() { return this.tied().points; }

  builtPlaces() { return new BuiltTab(this).places(); }

  instrument() { return instrumentOf(this.entries, this.units, this.values.allowance); }

  /** Elevation of day one at a place, metres; NaN off the grid that came along. */
  gradeAt([x, y]) {
    if (!this.grades) return NaN;
    const [east, north, up] = this.values.field.origin;
    const { field } = this.grades;
    return field.holds(x - east, y - north) ? field.existingAt(x - east, y - north) + up : NaN;
  }

  /** A measure in this language: its unit's name and its decimal mark. */
  measure(shown) {
    const told = COMMA.includes(this.words.code) ? shown.replace(/(\d)\.(?=\d)/g, "$1,") : shown;
    const names = this.values.unit_names[this.words.code] ?? {};
    return told.replace(/(?<=[\d ])(ft|in)\b/g, (name) => names[name] ?? name);
  }

  level(metres) { return this.measure(showLength(metres, this.units, "elevation")); }

  distance(metres) { return this.measure(showLength(metres, this.units, "distance")); }

  /** A figure in the job's unit without its name. */
  bare(metres) { return showLength(metres, this.units, "elevation").split(" ")[0]; }

  signed(metres) {
    const figure = (metres / unitLength(this.units)).toFixed(3);
    return this.measure(`${metres > 0 ? "+" : ""}${Number(figure) === 0 ? figure.replace("-", "") : figure} ${this.units}`);
  }

  changed() {
    this.store.write(this.entries);
    this.tab.refresh();
    this.tell();
  }

  tell() {
    const kept = find("kept");
    kept.textContent = this.store.keeps
      ? this.words.say("Kept on this phone") : this.words.say("Not kept: hand the files over before you close");
    kept.className = this.store.keeps ? "good" : "over";
  }

  speak(code) {
    this.entries.language = code;
    this.words = new Tongues(this.values.words, code);
    this.show("files");
  }

  measureIn(units) {
    this.entries.units = units;
    this.show("files");
  }

  replace(entries) {
    this.entries = withBenchmark(entries, this.values);
    this.show(entries.tab);
  }

  show(name) {
    const say = this.words.say.bind(this.words);
    this.entries.tab = name;
    document.documentElement.lang = this.words.code;
    this.tab = new TABS[name](this);
    find("work").replaceChildren(this.tab.node);
    const names = { levels: say("Levels"), tapes: say("Tapes"), stakes: say("Stakes"), built: say("Built"), files: say("Files") };
    find("tabs").replaceChildren(...Object.entries(names).map(([key, words]) => part("button", {
      type: "button", "aria-current": key === name ? "page" : "false", "data-tab": key, onclick: () => this.show(key),
    }, words)));
    find("caution").textContent = say("Planning figures. Locate buried services before any dig; local code and licensed practice decide.");
    find("grade").textContent = this.values.site ? say("Every grade here is that of day one, as it is built.") : "";
    this.store.write(this.entries);
    this.tell();
    globalThis.scrollTo(0, 0);
  }
}

async function openField() {
  const values = JSON.parse(find("yard").textContent);
  let grades = null;
  if (values.field) {
    const { grid, grade } = values.field;
    const heights = decoded(grade, await unpacked(grade.codes, grid.nx, grid.ny));
    grades = { field: new Field(grid, heights, new Float64Array(heights.length)) };
  }
  const app = new FieldApp(values, grades);
  document.documentElement.dataset.ready = "yes";
  return app;
}

globalThis.hummock = openField();
