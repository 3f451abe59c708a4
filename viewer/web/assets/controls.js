// Sliders and choices beside the plan: heights, slope, toe, gentle side, soil on hand.

import { find } from "./dom.js";
import { CUBIC_YARD, INCH } from "./measures.js";
import { showLength, showSlope, unitLength } from "./units.js";

const SIDES = ["north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"];

export class Controls {
  /** `change(wish, done)` takes a new wish; `done` is true when the hand has let go. `choose(index)` picks a high point. */
  constructor(yard, change, choose) {
    this.yard = yard;
    this.change = change;
    this.choose = choose;
    this.wish = yard.wish;
    const feet = yard.units === "ft";
    this.heightStep = feet ? INCH / 4 : 0.005;
    this.toeStep = feet ? INCH : 0.02;
    this.soilStep = feet ? CUBIC_YARD / 2 : 0.5;
    this.toe = yard.toe;
    this.order = 0;
    this.fill();
  }

  fill() {
    find("side").append(new Option("all sides alike", ""), ...SIDES.map((side) => new Option(side, side)));
    find("side").addEventListener("change", (event) => this.change({ ...this.wish, gentle_side: event.target.value || null }, true));
    this.slide("slope", (run, done) => this.change({ ...this.wish, max_slope: 1 / run }, done));
    this.slide("toe", (steps, done) => this.change({ ...this.wish, toe: steps * this.toeStep }, done));
    this.slide("soil", (steps, done) => this.change({ ...this.wish, soil: steps * this.soilStep }, done));
    find("toe-chosen").addEventListener("change", (event) => {
      const toe = event.target.checked ? null : Math.round(this.toe / this.toeStep) * this.toeStep;
      this.change({ ...this.wish, toe }, true);
    });
    find("soil-used").addEventListener("change", (event) => {
      const soil = event.target.checked ? Number(find("soil").value) * this.soilStep : null;
      this.change({ ...this.wish, soil }, true);
    });
  }

  slide(id, then) {
    const slider = find(id);
    slider.addEventListener("input", () => then(Number(slider.value), false));
    slider.addEventListener("change", () => then(Number(slider.value), true));
  }

  /** Show a wish; `built` holds [height built in metres, what held it] for each high point, or null. */
  show(wish, built, chosen) {
    this.wish = wish;
    this.showHeights(wish, built, chosen);
    const run = 1 / wish.max_slope;
    this.set("slope", Math.min(2, run), Math.max(10, run), 0.1, run, showSlope(wish.max_slope));
    const toe = wish.toe ?? this.toe;
    const most = Math.max(Math.ceil(toe / this.toeStep), Math.round(2.4 / this.toeStep));
    this.set("toe", 0, most, 1, Math.round(toe / this.toeStep), showLength(toe, this.yard.units));
    find("toe").disabled = find("toe-chosen").checked = wish.toe === null;
    find("side").value = wish.gentle_side ?? "";
    this.showSoil(wish);
  }

  showSoil(wish) {
    const soil = wish.soil ?? 10;
    const steps = Math.max(Math.round(soil / this.soilStep), 1);
    this.most = Math.max(this.most ?? 0, 2 * steps, 20);
    const unit = this.yard.units === "ft" ? "cu yd" : "m3";
    const words = `${((steps * this.soilStep) / (this.yard.units === "ft" ? CUBIC_YARD : 1)).toFixed(1)} ${unit} loose`;
    this.set("soil", 1, this.most, 1, steps, wish.soil === null ? "as much as it takes" : words);
    find("soil").disabled = wish.soil === null;
    find("soil-used").checked = wish.soil !== null;
  }

  set(id, low, high, step, value, words) {
    const slider = find(id);
    const state = [low, high, value, words].join();
    if (slider.dataset.state === state && Math.abs(Number(slider.value) - value) <= step / 2) return;
    slider.dataset.state = state;
    Object.assign(slider, { min: low, max: high, step });
    if (document.activeElement !== slider || Math.abs(Number(slider.value) - value) > step / 2) slider.value = value;
    slider.setAttribute("aria-valuetext", words);
    document.querySelector(`output[for=${id}]`).textContent = words;
  }

  showHeights(wish, built, chosen) {
    const list = find("heights");
    while (list.children.length > wish.crest.length) list.lastChild.remove();
    while (list.children.length < wish.crest.length) list.append(this.heightRow(list.children.length));
    wish.crest.forEach(([, , height], k) => {
      const row = list.children[k];
      row.classList.toggle("chosen", k === chosen);
      const most = Math.max(this.yard.units === "ft" ? 48 * INCH : 1.2, height);
      this.set(`height-${k}`, 1, Math.round(most / this.heightStep), 1, Math.round(height / this.heightStep),
        this.heightWords(height, built?.[k]));
    });
  }

  heightWords(height, built) {
    const wished = showLength(height, this.yard.units);
    if (!built || !built[1] || Math.abs(built[0] - height) < 0.006) return wished;
    return `${wished}, built ${showLength(built[0], this.yard.units)}`;
  }

  heightRow(index) {
    const row = document.createElement("div");
    row.className = "slider";
    row.innerHTML = `<label for="height-${index}">▲ High point ${index + 1} <output for="height-${index}"></output></label>
      <input type="range" id="height-${index}">`;
    const slider = row.querySelector("input");
    const then = (done) => {
      const crest = this.wish.crest.map((point, k) => (k === index ? [point[0], point[1], Number(slider.value) * this.heightStep] : point));
      this.change({ ...this.wish, crest }, done);
    };
    slider.addEventListener("input", () => then(false));
    slider.addEventListener("change", () => then(true));
    slider.addEventListener("focus", () => this.choose(index));
    return row;
  }

  /** A height a step or more up or down, never below a step. */
  raised(height, steps) {
    const step = this.yard.units === "ft" ? INCH / 2 : 0.01;
    return Math.max(Math.round((height + steps * step) / this.heightStep) * this.heightStep, this.heightStep);
  }

  /** Width in metres along the edge over which neighbours of a corner come along. */
  get reach() { return this.yard.units === "ft" ? 8 * unitLength("ft") : 2.5; }
}
