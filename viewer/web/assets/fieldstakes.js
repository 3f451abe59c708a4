// Stakes and shots on the phone: a rod reading becomes "fill 3 1/2 in", and a shot stands against the grade of day one.

import { lastInstrument, workedBook } from "./fieldlevels.js";
import { chosenFrom, lineFor, part, pressed, pressedTwice } from "./fieldparts.js";
import { pointKey } from "./levelling.js";
import { buildWords, builtWords, toBuild, typedLength } from "./rodwork.js";

/** Height of instrument in metres, and where it comes from: typed, by a backsight on the benchmark, or of the book. */
export function instrumentOf(entries, units, allowance) {
  const typed = typedLength(entries.instrument.height, units);
  if (Number.isFinite(typed)) return { height: typed, from: "typed" };
  const [level, back] = [entries.book.elevation, entries.instrument.backsight].map((one) => typedLength(one, units));
  if (Number.isFinite(level) && Number.isFinite(back)) return { height: level + back, from: "backsight" };
  return { height: lastInstrument(workedBook(entries.book, units, allowance)), from: "book" };
}

/** The lines that say how high the instrument stands; both tabs have them. */
function instrumentLines(tab) {
  const { app } = tab;
  const say = app.words.say.bind(app.words);
  const { instrument, book } = app.entries;
  const change = (act) => { act(); app.changed(); };
  return part("div", {},
    part("output", { className: "large instrument" }),
    part("div", { className: "pair" },
      lineFor(say("Backsight on {name}", { name: book.benchmark || say("benchmark") }), instrument.backsight,
        (typed) => change(() => { instrument.backsight = typed; })),
      lineFor(say("or HI, {unit}", { unit: app.unitName }), instrument.height, (typed) => change(() => { instrument.height = typed; }))));
}

function tellInstrument(tab) {
  const { app } = tab;
  const { height } = app.instrument();
  tab.node.querySelector(".instrument").textContent = Number.isFinite(height)
    ? `${app.words.say("HI")} ${app.level(height)}` : app.words.say("Give a backsight, or work a level book.");
}

export class StakesTab {
  constructor(app) {
    this.app = app;
    this.node = part("section", { id: "stakes" });
    this.build();
  }

  get stake() {
    const { stakes } = this.app.values;
    return stakes.find((one) => one.name === this.app.entries.stake) ?? stakes[0];
  }

  build() {
    const { app, stake } = this;
    const say = app.words.say.bind(app.words);
    const head = [part("h2", {}, say("Stakes"))];
    if (!stake) {
      const none = say("This page was made without a site file: it has no stakes.");
      this.node.replaceChildren(...head, part("p", { className: "open" }, none));
      return;
    }
    const { rods, done } = app.entries;
    this.answer = part("output", { className: "huge", id: "build", role: "status" });
    this.where = part("p", { className: "where", id: "stake-where" });
    this.mark = part("p", { className: "help", id: "stake-told" });
    this.left = part("p", { className: "open", id: "left" });
    this.tick = pressed("", () => {
      done[this.stake.name] = !done[this.stake.name];
      app.changed();
    }, "main tick");
    this.node.replaceChildren(...head, instrumentLines(this),
      chosenFrom(say("Stake"), app.values.stakes.map((one) => [one.name, `${one.name}${done[one.name] ? " ✓" : ""}`]),
        stake.name, (name) => this.go(name)),
      this.where,
      this.mark,
      lineFor(say("Rod reading at the stake, {unit}", { unit: app.unitName }), rods[stake.name] ?? "", (typed) => {
        rods[this.stake.name] = typed;
        app.changed();
      }, { wide: true }),
      this.answer,
      this.tick,
      part("div", { className: "choices" },
        pressed(`← ${say("Before")}`, () => this.step(-1)), pressed(`${say("Next")} →`, () => this.step(1))),
      this.left,
    );
    this.refresh();
  }

  go(name) {
    this.app.entries.stake = name;
    this.app.changed();
    this.build();
  }

  step(by) {
    const { stakes } = this.app.values;
    const at = stakes.indexOf(this.stake);
    this.go(stakes[(at + by + stakes.length) % stakes.length].name);
  }

  refresh() {
    const { app, stake } = this;
    if (!stake) return;
    const say = app.words.say.bind(app.words);
    tellInstrument(this);
    const rod = typedLength(app.entries.rods[stake.name] ?? "", app.units);
    const { height } = app.instrument();
    const grades = `${say("Grade of day one")} ${app.level(stake.day_one)}; ${say("ground now")} ${app.level(stake.existing)}`;
    this.where.textContent = stake.where[app.words.code];
    const what = stake.what[app.words.code];
    this.mark.textContent = `${what.charAt(0).toLocaleUpperCase(app.words.code)}${what.slice(1)}. ${grades}.`;
    const { kind, words } = this.told(toBuild(height, rod, stake.day_one));
    this.answer.textContent = words;
    this.answer.className = `huge ${kind}`;
    const done = Boolean(app.entries.done[stake.name]);
    this.tick.textContent = done ? `✓ ${say("Done")}` : say("Tick off {name}", { name: stake.name });
    this.tick.setAttribute("aria-pressed", String(done));
    const left = app.values.stakes.filter((one) => !app.entries.done[one.name]).map((one) => one.name);
    this.left.textContent = left.length
      ? say("Left to do ({count}): {names}", { count: left.length, names: left.join(", ") }) : say("All stakes are done.");
  }

  told(depth) {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    if (!Number.isFinite(depth)) return { kind: "", words: "" };
    const { kind, much } = buildWords(depth, app.units);
    const far = { much: app.measure(much) };
    const words = { fill: say("fill {much}", far), cut: say("cut {much}", far), none: say("on grade") };
    return { kind, words: words[kind] };
  }
}

export class BuiltTab {
  constructor(app) {
    this.app = app;
    this.node = part("section", { id: "built" });
    this.build();
  }

  /** Where a shot can be taken: stakes with their grade, then taped points, whose grade is read off the grid. */
  places() {
    const { app } = this;
    const stakes = app.values.stakes.map((one) => ({ name: one.name, at: [one.x, one.y], grade: one.day_one }));
    const names = new Set(stakes.map((one) => pointKey(one.name)));
    const tied = [...app.points().values()].filter((one) => !names.has(pointKey(one.name)));
    return [...stakes, ...tied.map((one) => ({ ...one, grade: app.gradeAt(one.at) }))];
  }

  build() {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    const places = this.places();
    const { entries } = app;
    if (!places.some((one) => one.name === entries.place)) entries.place = places[0]?.name ?? "";
    this.answer = part("output", { className: "huge", id: "built-answer", role: "status" });
    this.list = part("ol", { className: "shots", id: "shots" });
    const line = lineFor(say("Rod reading on the soil, {unit}", { unit: app.unitName }), entries.reading, (typed) => {
      entries.reading = typed;
      app.changed();
    }, { wide: true });
    this.node.replaceChildren(
      part("h2", {}, say("Built shots")), instrumentLines(this),
      part("p", { className: "help" }, say("Against the grade of day one, on soil, before any mulch.")),
      chosenFrom(say("Place"), places.map((one) => [one.name, one.name]), entries.place, (name) => {
        entries.place = name;
        app.changed();
      }),
      line, this.answer,
      pressed(say("Keep this shot"), () => this.keep(), "main"),
      this.list,
    );
    this.refresh();
  }

  keep() {
    const shot = this.shotNow();
    if (!shot) return;
    this.app.entries.built.push(shot);
    const places = this.places();
    const next = places[(places.findIndex((one) => one.name === shot.place) + 1) % places.length];
    this.app.entries.place = next.name;
    this.app.entries.reading = "";
    this.app.changed();
    this.build();
    this.node.querySelectorAll("input").item(2).focus();
  }

  /** The shot that is typed in: its place and its elevation in metres; null where something lacks. */
  shotNow() {
    const { app } = this;
    const place = this.places().find((one) => one.name === app.entries.place);
    const rod = typedLength(app.entries.reading, app.units);
    const { height } = app.instrument();
    if (!place || !Number.isFinite(rod) || !Number.isFinite(height)) return null;
    const number = app.entries.built.length + 1;
    return { name: `S${number}`, place: place.name, at: place.at, elevation: height - rod, grade: place.grade };
  }

  refresh() {
    tellInstrument(this);
    const shot = this.shotNow();
    const { kind, words } = shot ? this.told(shot) : { kind: "", words: "" };
    this.answer.textContent = words;
    this.answer.className = `huge ${kind}`;
    this.list.replaceChildren(...this.app.entries.built.map((one, k) => this.kept(one, k)));
  }

  kept(one, k) {
    const { app } = this;
    const { kind, words } = this.told(one);
    return part("li", { className: kind },
      part("b", {}, `${one.name} ${one.place}`), ` ${app.level(one.elevation)} `, part("strong", {}, words),
      pressedTwice(app.words.say("Delete"), app.words.say("Delete? Press again"), () => {
        app.entries.built.splice(k, 1);
        app.changed();
      }));
  }

  told(shot) {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    if (!Number.isFinite(shot.grade)) return { kind: "", words: say("no grade here") };
    const { kind, much } = builtWords(shot.elevation - shot.grade, app.values.tolerance, app.units);
    const words = {
      within: `✓ ${say("within")}`,
      low: `▼ ${say("{much} low", { much: app.measure(much) })}`,
      high: `▲ ${say("{much} high", { much: app.measure(much) })}`,
    };
    return { kind, words: words[kind] };
  }
}
