// What leaves the phone and comes back: the three files, by the phone's share, by download, or as text to copy.

import { builtCsv, cellsOf, kindOf, levelsCsv, tiesCsv } from "./fieldfiles.js";
import { readingsOf } from "./fieldlevels.js";
import { lineFor, oneOf, part, pressed, pressedTwice } from "./fieldparts.js";
import { emptyEntries } from "./fieldstore.js";
import { typedLength } from "./rodwork.js";
import { unitLength } from "./units.js";

/** The three files out of the entries: name and text of each that holds anything. */
export function filesOf(entries, units) {
  const unit = unitLength(units);
  const whole = new Set(readingsOf(entries.book, units).map((one) => one.row));
  const lines = entries.book.lines.filter((_, k) => whole.has(k + 1)).map((line) => ({
    point: line.point.trim(), note: "", backsight: NaN, intermediate: NaN, foresight: NaN, [line.sight]: typedLength(line.rod, units),
  }));
  const ties = entries.ties.map((tie) => ({
    name: tie.name.trim(), left: tie.left,
    tapes: tie.tapes
      .map((tape) => ({ from: tape.from, metres: typedLength(tape.typed, units) }))
      .filter((tape) => tape.from && tape.metres > 0),
  })).filter((tie) => tie.name && tie.tapes.length > 1);
  const found = [];
  if (lines.length) found.push(["levels.csv", levelsCsv(lines, typedLength(entries.book.elevation, units), unit)]);
  if (ties.length) found.push(["ties.csv", tiesCsv(ties, unit)]);
  if (entries.built.length) found.push(["built.csv", builtCsv(entries.built, unit)]);
  return found;
}

/** The line of a site file that names the points which the tapes start from; "" where none do. */
export function pointsLine(entries, known, units) {
  const unit = unitLength(units);
  const used = new Set(entries.ties.flatMap((tie) => tie.tapes.filter((tape) => tape.typed).map((tape) => tape.from)));
  const told = known.filter((one) => used.has(one.name))
    .map((one) => `"${one.name}" = [${one.at.map((metres) => (metres / unit).toFixed(3)).join(", ")}]`);
  return told.length ? `points = { ${told.join(", ")} }` : "";
}

/** A level book read back; on one row the foresight comes before the backsight, as in the library. */
function bookFrom(rows, entries) {
  const lines = rows.flatMap((row) => ["intermediate", "foresight", "backsight"]
    .filter((sight) => row[sight]).map((sight) => ({ point: row.point, sight, rod: row[sight] })));
  const level = rows.find((row) => row.elevation);
  const { benchmark, elevation } = entries.book;
  return { ...entries.book, lines, benchmark: level?.point ?? benchmark, elevation: level?.elevation ?? elevation };
}

function tiesFrom(rows) {
  return rows.map((row) => ({
    name: row.point,
    tapes: ["", " 2", " 3"]
      .map((n) => ({ from: row[`from${n}`] ?? "", typed: row[`distance${n}`] ?? "" }))
      .filter((tape, k) => k < 2 || tape.from),
    left: row.side ? /^l/i.test(row.side) : null,
  }));
}

function builtFrom(rows, places, units) {
  return rows.map((row) => {
    const at = [row.x, row.y].map((one) => typedLength(one, units));
    const near = places.find((one) => Math.hypot(one.at[0] - at[0], one.at[1] - at[1]) < 0.001);
    return { name: row.point, place: near?.name ?? "", at, elevation: typedLength(row.elevation, units), grade: near?.grade ?? NaN };
  });
}

/**
 * The entries with what a file holds in place of what was there; null where it is none of the three.
 * @param {string} text
 */
export function withFile(text, entries, places, units) {
  const [kind, rows] = [kindOf(text), cellsOf(text)];
  if (kind === "levels") return { ...entries, book: bookFrom(rows, entries), tab: "levels" };
  if (kind === "ties") return { ...entries, ties: tiesFrom(rows), tab: "tapes" };
  return kind === "built" ? { ...entries, built: builtFrom(rows, places, units), tab: "built" } : null;
}

export class FilesTab {
  constructor(app) {
    this.app = app;
    this.node = part("section", { id: "files" });
    this.build();
  }

  build() {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    this.list = part("ul", { className: "cards" });
    this.text = part("textarea", { id: "text", rows: 6, "aria-label": say("Text to copy, or to read back"), spellcheck: false });
    this.told = part("p", { className: "open", role: "status", id: "hand-told" });
    const picked = part("input", { type: "file", id: "back", accept: ".csv,text/csv,text/plain", onchange: async (event) => {
      const [file] = event.target.files;
      if (file) this.readBack(await file.text());
    } });
    const tongues = [["en", "English"], ["es", "Español"], ["fr", "Français"]].filter(([code]) => app.values.languages.includes(code));
    this.node.replaceChildren(
      part("h2", {}, say("Files")),
      oneOf(say("Language"), tongues, app.words.code, (code) => app.speak(code)),
      ...(app.values.site ? [] : [
        lineFor(say("Job"), app.entries.job, (typed) => { app.entries.job = typed; app.changed(); }, { figures: false }),
        oneOf(say("Units"), [["ft", say("feet")], ["m", say("metres")]], app.units, (units) => app.measureIn(units)),
      ]),
      this.list,
      part("h3", {}, say("Read back")),
      part("label", { for: "back" }, say("A file from this phone")), picked, this.text,
      pressed(say("Read the text above"), () => this.readBack(this.text.value)),
      this.told,
      pressedTwice(say("Begin anew"), say("All entries go. Press again"), () =>
        app.replace({ ...emptyEntries(), language: app.words.code, units: app.units, tab: "files" })),
    );
    this.refresh();
  }

  refresh() {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    const files = filesOf(app.entries, app.units);
    if (!files.length) {
      this.list.replaceChildren(part("li", {}, say("Nothing to hand over yet.")));
      return;
    }
    this.list.replaceChildren(...files.map(([name, text]) => part("li", {}, part("b", {}, name), part("div", { className: "choices" },
      pressed(say("Share"), () => this.share(name, text), "main"),
      pressed(say("Save"), () => this.save(name, text)),
      pressed(say("Show"), () => { this.text.value = text; this.text.select(); })),
    ...(name === "ties.csv" ? [this.needed()] : []))));
  }

  /** What the site file must hold beside the tapes: where they start. */
  needed() {
    const line = pointsLine(this.app.entries, this.app.known(), this.app.units);
    return part("p", { className: "help", id: "needed" }, this.app.words.say("Under [survey] in the site file: {line}", { line }));
  }

  /** By the phone's own share where it takes files, else by download. */
  async share(name, text) {
    const file = new File([text], name, { type: "text/csv" });
    if (!navigator.canShare?.({ files: [file] })) {
      this.save(name, text);
      return;
    }
    try {
      await navigator.share({ files: [file], title: name });
    } catch (error) {
      if (error.name !== "AbortError") this.save(name, text);
    }
  }

  save(name, text) {
    const href = URL.createObjectURL(new Blob([text], { type: "text/csv" }));
    part("a", { href, download: name }).click();
    setTimeout(() => URL.revokeObjectURL(href), 10000);
    this.text.value = text;
  }

  readBack(text) {
    const { app } = this;
    const read = withFile(text, app.entries, app.builtPlaces(), app.units);
    if (read) app.replace(read);
    else this.told.textContent = app.words.say("This is none of levels.csv, ties.csv and built.csv.");
  }
}
