// The level book on the phone: benchmark, readings, turning points; heights, misclosure and page sums at once.

import { lineFor, oneOf, part, pressed, pressedTwice } from "./fieldparts.js";
import { BookFault, adjustedLevels, allowedMisclosure, pageSums, pointKey, reduceLevels } from "./levelling.js";
import { typedLength } from "./rodwork.js";

/** The readings of a book that can be read, as metres; rows count from 1. */
export function readingsOf(book, units) {
  return book.lines.flatMap((line, k) => {
    const rod = typedLength(line.rod, units);
    return Number.isFinite(rod) && line.point.trim() ? [{ point: pointKey(line.point), sight: line.sight, rod, row: k + 1 }] : [];
  });
}

/**
 * A book worked out: runs as read and adjusted, allowances, or its fault.
 * @returns {{ runs: any[], settled: any[], allowed: number[], fault: BookFault | null }}
 */
export function workedBook(book, units, allowance) {
  const none = { runs: [], settled: [], allowed: [], fault: null };
  const level = typedLength(book.elevation, units);
  const readings = readingsOf(book, units);
  if (!Number.isFinite(level) || !book.benchmark.trim() || !readings.length) return none;
  const known = { [pointKey(book.benchmark)]: level };
  try {
    const runs = reduceLevels(readings, known);
    const setups = runs.reduce((whole, run) => whole + run.instrument.length, 0);
    const length = typedLength(book.length, units);
    const allowed = runs.map((run) => allowedMisclosure(
      Number.isFinite(length) ? (length * run.instrument.length) / setups : null, allowance.per_root_km, allowance.floor,
    ));
    return { runs, settled: adjustedLevels(runs, known), allowed, fault: null };
  } catch (fault) {
    if (fault instanceof BookFault) return { ...none, fault };
    throw fault;
  }
}

/** The last height of instrument of a book, metres; NaN where there is none. */
export const lastInstrument = (worked) => worked.settled.at(-1)?.instrument.at(-1) ?? NaN;

const nextName = (name) => name.replace(/^(.*?)(\d+)$/, (_, head, number) => `${head}${Number(number) + 1}`);

export class LevelsTab {
  constructor(app) {
    this.app = app;
    this.node = part("section", { id: "levels" });
    this.build();
  }

  build() {
    const { app } = this;
    const { book } = app.entries;
    const say = app.words.say.bind(app.words);
    this.list = part("ol", { className: "cards" });
    this.told = part("div", { className: "told", role: "status", id: "levels-told" });
    this.node.replaceChildren(
      part("h2", {}, say("Level book")),
      part("div", { className: "pair" },
        lineFor(say("Benchmark"), book.benchmark, (typed) => this.change(() => { book.benchmark = typed; }), { figures: false }),
        lineFor(say("Its elevation, {unit}", { unit: app.unitName }), book.elevation, (typed) =>
          this.change(() => { book.elevation = typed; }))),
      this.list,
      pressed(say("Add a reading"), () => this.addLine(), "main"),
      lineFor(say("Length levelled, {unit} (if known)", { unit: app.unitName }), book.length, (typed) =>
        this.change(() => { book.length = typed; })),
      this.told,
    );
    this.list.replaceChildren(...book.lines.map((line, k) => this.card(line, k)));
    this.refresh();
  }

  change(act) {
    act();
    this.app.changed();
  }

  addLine() {
    const { lines, benchmark } = this.app.entries.book;
    const last = lines.at(-1);
    const turned = last?.sight === "foresight";
    lines.push({ point: !last ? benchmark : turned ? last.point : nextName(last.point) === last.point ? "" : nextName(last.point),
      sight: !last || turned ? "backsight" : "intermediate", rod: "" });
    this.app.changed();
    this.build();
    this.list.lastElementChild.querySelectorAll("input")[1].focus();
  }

  card(line, k) {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    const sights = [["backsight", say("Back +")], ["intermediate", say("Between")], ["foresight", say("Fore −")]];
    const answer = part("output", { className: "large", id: `level-${k + 1}` });
    return part("li", {},
      part("div", { className: "pair" },
        lineFor(say("Point"), line.point, (typed) => this.change(() => { line.point = typed; }), { figures: false }),
        lineFor(say("Rod reading"), line.rod, (typed) => this.change(() => { line.rod = typed; }))),
      oneOf(say("Sight"), sights, line.sight, (sight) => this.change(() => { line.sight = sight; })),
      part("div", { className: "answer" }, answer, pressedTwice(say("Delete"), say("Delete? Press again"), () => {
        app.entries.book.lines.splice(k, 1);
        app.changed();
        this.build();
      })));
  }

  refresh() {
    const { app } = this;
    const { book } = app.entries;
    const worked = workedBook(book, app.units, app.values.allowance);
    const answers = this.answers(worked);
    book.lines.forEach((_, k) => {
      const output = this.list.querySelector(`#level-${k + 1}`);
      if (output) output.textContent = answers.get(k + 1) ?? "";
    });
    this.told.replaceChildren(...this.summary(worked));
  }

  /** What stands beside each line: the height of instrument of a backsight, else the point's elevation as read. */
  answers(worked) {
    const { app } = this;
    const found = new Map();
    for (const run of worked.runs) for (const visit of run.visits) found.set(visit.row, app.level(visit.elevation));
    const instruments = worked.runs.flatMap((run) => run.instrument);
    const backsights = readingsOf(app.entries.book, app.units).filter((one) => one.sight === "backsight");
    backsights.forEach((one, k) => { if (k in instruments) found.set(one.row, `${app.words.say("HI")} ${app.level(instruments[k])}`); });
    return found;
  }

  summary(worked) {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    if (worked.fault) {
      const why = worked.fault.kind === "not turned on"
        ? say("Line {row}: this backsight stands on no known point. Read the same point before and after the level moves.",
          { row: worked.fault.row })
        : say("Line {row}: start with a backsight on the benchmark.", { row: worked.fault.row });
      return [part("p", { className: "over" }, why)];
    }
    return worked.runs.flatMap((run, k) => [this.closure(run, worked.allowed[k]), this.sums(run)]);
  }

  closure(run, allowed) {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    if (run.misclosure === null) {
      return part("p", { className: "open" }, say("Not closed: read the benchmark once more at the end."));
    }
    const over = Math.abs(run.misclosure) > allowed + 1e-9;
    const figures = { off: app.signed(run.misclosure), most: app.signed(allowed).replace("+", "") };
    return part("p", { className: over ? "over" : "good" },
      over ? say("Closes at {off}, more than the {most} allowed. Level it again.", figures)
        : say("Closes at {off}, within the {most} allowed.", figures));
  }

  sums(run) {
    const { app } = this;
    const { rise, all } = pageSums(run);
    return part("p", { className: "sums" },
      app.words.say("Sums: back {back} − fore {fore} = {rise}; last − first = {climb}. All readings: {left} = {right}.", {
        back: app.bare(run.backsights), fore: app.bare(run.foresights), rise: app.bare(rise[0]), climb: app.bare(rise[1]),
        left: app.bare(all[0]), right: app.bare(all[1]),
      }));
  }
}
