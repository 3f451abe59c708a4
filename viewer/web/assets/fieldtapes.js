// Tapes on the phone: two and the side, or three; a sketch that grows, and warnings where tapes cross too flat.

import { chosenFrom, lineFor, oneOf, part, pressed, pressedTwice } from "./fieldparts.js";
import { pointKey } from "./levelling.js";
import { sketched } from "./sketch.js";
import { northArrow, shape, words } from "./svg.js";
import { FLAT, TIE_BOUND_FEET, placeByTapes, worstResidual } from "./tapefix.js";
import { typedLength } from "./rodwork.js";
import { unitLength } from "./units.js";

/** The tapes of a tie that are whole, in metres. */
const wholeTapes = (tie, units) => tie.tapes
  .map((tape) => ({ from: tape.from, metres: typedLength(tape.typed, units) }))
  .filter((tape) => tape.from && tape.metres > 0);

/** Points that were typed in by their coordinates. */
export const typedPoints = (known, units) => known.flatMap((one) => {
  const at = [typedLength(one.x, units), typedLength(one.y, units)];
  return one.name.trim() && at.every(Number.isFinite) ? [{ name: one.name.trim(), at }] : [];
});

/**
 * Every tie placed, in the order that they follow from one another: `points` of all that is known, and the answer of each.
 * @returns {{ points: Map<string, { name: string, at: any }>, answers: any[] }}
 */
export function placedTies(ties, known, units) {
  const points = new Map(known.map((one) => [pointKey(one.name), one]));
  const answers = ties.map(() => null);
  const bound = TIE_BOUND_FEET * unitLength("ft");
  for (let round = 0; round < ties.length; round++) {
    ties.forEach((tie, k) => {
      const tapes = wholeTapes(tie, units);
      if (answers[k]?.fix || !tapes.length || !tapes.every((tape) => points.has(pointKey(tape.from)))) return;
      const anchors = tapes.map((tape) => points.get(pointKey(tape.from)).at);
      answers[k] = { tapes, anchors, ...placeByTapes(anchors, tapes.map((tape) => tape.metres), tie.left, bound) };
      if (answers[k].fix && tie.name.trim() && !points.has(pointKey(tie.name))) {
        points.set(pointKey(tie.name), { name: tie.name.trim(), at: answers[k].fix.at });
      }
    });
  }
  return { points, answers };
}

export class TapesTab {
  constructor(app) {
    this.app = app;
    this.node = part("section", { id: "tapes" });
    this.build();
  }

  build() {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    this.sketch = shape("svg", { id: "sketch", role: "img" });
    // Where a yard lies on earth is known of some alone, and not every survey's y runs to the north.
    const told = { null: say("Sketch, y is up"), 0: say("Sketch, north is up") }[app.values.north];
    this.sketch.setAttribute("aria-label", told ?? say("Sketch, y is up, the arrow points north"));
    const { ties, known } = app.entries;
    this.cards = ties.map((tie, k) => this.card(tie, k));
    this.node.replaceChildren(
      part("h2", {}, say("Tapes")),
      this.sketch,
      part("ol", { className: "cards" }, ...this.cards),
      pressed(say("Add a point"), () => {
        ties.push({ name: "", tapes: [{ from: "", typed: "" }, { from: "", typed: "" }], left: null });
        app.changed();
        this.build();
      }, "main"),
      part("h3", {}, say("Known points")),
      part("p", {}, say("{count} from the site file.", { count: app.values.known.length })),
      part("ol", { className: "cards" }, ...known.map((one, k) => this.knownCard(one, k))),
      pressed(say("Add a known point"), () => {
        known.push({ name: "", x: "", y: "" });
        app.changed();
        this.build();
      }),
    );
    this.refresh();
  }

  change(act) {
    act();
    this.app.changed();
  }

  knownCard(one, k) {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    return part("li", {},
      lineFor(say("Name"), one.name, (typed) => this.change(() => { one.name = typed; }), { figures: false }),
      part("div", { className: "pair" },
        lineFor("x", one.x, (typed) => this.change(() => { one.x = typed; })),
        lineFor("y", one.y, (typed) => this.change(() => { one.y = typed; }))),
      pressedTwice(say("Delete"), say("Delete? Press again"), () => {
        app.entries.known.splice(k, 1);
        app.changed();
        this.build();
      }));
  }

  card(tie, k) {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    const names = [["", say("choose")], ...[...app.points().values()].map((one) => [one.name, one.name])];
    const tapes = tie.tapes.map((tape, n) => part("div", { className: "pair" },
      chosenFrom(say("Tape {n} from", { n: n + 1 }), names, tape.from, (from) => this.change(() => { tape.from = from; })),
      lineFor(say("Length, {unit}", { unit: app.unitName }), tape.typed, (typed) =>
        this.change(() => { tape.typed = typed; }), { figures: false })));
    const more = tie.tapes.length < 3 ? pressed(say("A third tape"), () => {
      tie.tapes.push({ from: "", typed: "" });
      app.changed();
      this.build();
    }) : null;
    return part("li", {},
      lineFor(say("Point"), tie.name, (typed) => this.change(() => { tie.name = typed; }), { figures: false }),
      ...tapes,
      oneOf(say("Side"), [[true, say("Left")], [false, say("Right")]], tie.left, (left) => this.change(() => { tie.left = left; })),
      part("p", { className: "help side" }),
      part("div", { className: "answer" }, part("output", { className: "large" }), more,
        pressedTwice(say("Delete"), say("Delete? Press again"), () => {
          app.entries.ties.splice(k, 1);
          app.changed();
          this.build();
        })));
  }

  refresh() {
    const { app } = this;
    const placed = app.tied();
    app.entries.ties.forEach((tie, k) => {
      const output = this.cards[k]?.querySelector("output");
      if (!output) return;
      const [told, kind] = this.told(placed.answers[k]);
      output.textContent = told;
      output.className = `large ${kind}`;
      const [a, b] = tie.tapes.map((tape) => tape.from);
      this.cards[k].querySelector(".side").textContent = a && b ? app.words.say("as you look from {a} to {b}", { a, b }) : "";
    });
    this.draw(placed);
  }

  /** Where a point lies, or why it lies nowhere; and how that reads. */
  told(answer) {
    const { app } = this;
    const say = app.words.say.bind(app.words);
    if (!answer || answer.why === "few") return ["", ""];
    const off = answer.best ? app.distance(worstResidual(answer.best)) : "";
    const why = {
      "one place": say("Both tapes start in one place."),
      "no meeting": say("The tapes do not meet. Tape it again."),
      disagree: say("The tapes disagree by {off}. Tape it again.", { off }),
      side: say("Left or right?"),
    }[answer.why];
    if (why) return [why, "over"];
    const [x, y] = answer.fix.at.map((one) => app.bare(one));
    const place = `x ${x}, y ${y}`;
    if (answer.fix.dilution > FLAT) {
      return [`${place}. ${say("The tapes cross too flat: tape it from another point.")}`, "over"];
    }
    return answer.tapes.length > 2 ? [`${place}. ${say("The tapes agree to {off}.", { off })}`, "good"] : [place, "good"];
  }

  draw({ points, answers }) {
    this.sketch.replaceChildren();
    const known = [...points.values()];
    if (!known.length) return;
    const { north } = this.app.values;
    const drawn = sketched(known, letterWidth, north !== null);
    this.sketch.setAttribute("viewBox", `0 0 ${drawn.wide} ${drawn.high}`);
    for (const answer of answers) {
      for (const anchor of answer?.fix ? answer.anchors : []) {
        const [[x1, y1], [x2, y2]] = [drawn.place(anchor), drawn.place(answer.fix.at)];
        shape("line", { x1, y1, x2, y2, class: answer.fix.dilution > FLAT ? "tape flat" : "tape" }, this.sketch);
      }
    }
    for (const { name, at: [cx, cy], left, base, lead } of drawn.points) {
      if (lead) shape("line", { x1: lead[0][0], y1: lead[0][1], x2: lead[1][0], y2: lead[1][1], class: "lead" }, this.sketch);
      shape("circle", { cx, cy, r: 5, class: "spot" }, this.sketch);
      const text = words(name, [left, base], "", this.sketch, "start");
      text.style.fontSize = `${drawn.size}px`;
    }
    if (drawn.corner) northArrow(drawn.corner, north, this.sketch);
  }
}

let lettering = null; // a canvas that is never seen

/** How wide a name of the sketch is, in its letters (`#sketch text` of field.css). */
function letterWidth(text, size) {
  lettering ??= document.createElement("canvas").getContext("2d");
  lettering.font = `700 ${size}px "DejaVu Sans",Arial,sans-serif`;
  return lettering.measureText(text).width;
}
