// The crew's view of the page to send: the grade of day one under the finger, the stakes, and where the level is set.

import { find } from "./dom.js";
import { Field } from "./field.js";
import { reading } from "./plan.js";
import { shape, words } from "./svg.js";
import { showLength } from "./units.js";

const CREW = 2; // the state in which the kept version of the ground is shown: here that of day one
const NEAR = 14; // pixels from a stake at which it is read

/** The same ground built to day one: soil that settles stands higher by a factor, what is dug does not. */
export function builtField(field, factor) {
  return new Field(field, field.existing, Float32Array.from(field.change, (depth) => (depth > 0 ? factor * depth : depth)));
}

/** What a place reads on day one, metres from the page's corner; a stake's own figures where one is meant. */
export function crewReading(yard, field, mark, stake) {
  const { units, origin } = yard;
  const existing = stake ? stake.existing : field.existingAt(mark.x, mark.y) + origin[2];
  const grade = stake ? stake.day_one : existing + field.changeAt(mark.x, mark.y);
  const build = grade - existing;
  const what = Math.abs(build) < 0.002 ? "build nothing" : `${build > 0 ? "build" : "cut"} ${showLength(Math.abs(build), units)}`;
  const where = stake ? `Stake ${stake.name} (${stake.what})` : "Day one";
  const told = `${where}: ${what}; grade ${showLength(grade, units, "elevation")}, ground ${showLength(existing, units, "elevation")}.`;
  const { benchmark } = yard.crew;
  if (!benchmark) return told;
  const over = showLength(Math.abs(grade - benchmark.elevation), units);
  return `${told} That is ${over} ${grade < benchmark.elevation ? "under" : "over"} ${benchmark.name}.`;
}

export class CrewView {
  constructor(desk) {
    this.desk = desk;
    this.yard = desk.yard;
    this.built = builtField(desk.field, this.yard.crew.factor);
    this.group = shape("g", { class: "crew", "aria-hidden": "true" }, desk.plan.svg);
    desk.tell = (yard, field, mark, state) => (
      state === CREW ? crewReading(yard, field, mark, this.near(mark)) : reading(yard, field, mark, state)
    );
    // Before the desk shows another state, it must know what the crew's is.
    find("state").addEventListener("change", (event) => { desk.kept = Number(event.target.value) === CREW ? this.built : null; }, true);
    find("state").addEventListener("change", () => this.draw());
    desk.plan.on.redrawn = () => this.draw();
  }

  /** The stake under the finger, if any. */
  near(mark) {
    const { plan } = this.desk;
    const [px, py] = plan.at([mark.x, mark.y]);
    const away = (stake) => Math.hypot(plan.at(stake.at)[0] - px, plan.at(stake.at)[1] - py);
    const nearest = this.yard.crew.stakes.reduce((a, b) => (away(b) < away(a) ? b : a));
    return away(nearest) < NEAR ? nearest : null;
  }

  draw() {
    const shown = this.desk.state === CREW;
    this.group.replaceChildren();
    for (const sheet of [this.desk.plan.svg, this.desk.plan.under]) sheet.classList.toggle("for-crew", shown);
    const level = find("benchmark");
    if (level) level.hidden = !shown;
    for (const item of find("key").querySelectorAll("li")) {
      if (item.querySelector(".stroke.proposed")) item.lastChild.textContent = shown ? "day-one contour" : "finished contour";
    }
    if (!shown) return;
    const { known, stakes, benchmark } = this.yard.crew;
    const taken = [];
    for (const point of benchmark ? [benchmark, ...known] : known) this.point(point, "known", taken);
    for (const stake of stakes) this.point(stake, "stake", taken);
  }

  /** A mark, and its name where no other stands. */
  point({ name, at }, kind, taken) {
    const [x, y] = this.desk.plan.at(at);
    if (kind === "stake") shape("circle", { cx: x, cy: y, r: 4, class: kind }, this.group);
    else shape("rect", { x: x - 5, y: y - 5, width: 10, height: 10, class: kind }, this.group);
    const wide = 4 * name.length + 4;
    if (taken.some(([a, b, w]) => Math.abs(a - x) < wide + w && Math.abs(b - y) < 15)) return;
    taken.push([x, y, wide]);
    const room = this.desk.plan.svg.clientWidth - wide;
    words(name, [Math.min(Math.max(x, wide), room), y - 7], "crew-name", this.group);
  }
}
