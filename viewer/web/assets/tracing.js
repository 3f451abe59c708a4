// The plan of a new yard: what was typed lies on it to scale, and it can be tapped, dragged and looked at nearer.

import { levelLines, thinned } from "./contours.js";
import { laidAt } from "./laying.js";
import { path, shape, words } from "./svg.js";
import { stepsBetween, tick } from "./ticks.js";
import { showLength, unitLength } from "./units.js";

const REACH = 24; // pixels a finger may miss a point by that it drags
const NEAR = 14; // pixels within which a tap is on a point that is there, and not on the ground beside it
const STILL = 6; // pixels a finger may shake by and still tap
const SIDES = { near: [0.5, 0], far: [0.5, 1], left: [0, 0.5], right: [1, 0.5] };

export class YardPlan {
  /** `on.tap(place)` and `on.move(kind, index, place)` tell what the reader does; places are [along, out] in metres. */
  constructor(svg, canvas, on) {
    this.svg = svg;
    this.canvas = canvas;
    this.on = on;
    this.state = null; // what the command says of the yard
    this.field = null; // ground and mound, once they are worked out
    this.look = null;
    this.next = null;
    this.mark = null;
    this.taps = []; // ends of what is taped in the picture
    this.picture = null; // { drawn, lay }
    this.view = { x: 4, y: 2, size: 40 }; // place in the middle, and pixels a metre
    this.dragged = null;
    this.groups = {};
    for (const name of ["lines", "bed", "things", "points", "marks"]) this.groups[name] = shape("g", { class: name }, svg);
    new ResizeObserver(() => this.draw()).observe(svg);
    this.watch();
  }

  get wide() { return this.svg.clientWidth; }

  get high() { return this.svg.clientHeight; }

  /**
   * Pixels of a place.
   * @returns {[number, number]}
   */
  at([x, y]) { return [this.wide / 2 + (x - this.view.x) * this.view.size, this.high / 2 - (y - this.view.y) * this.view.size]; }

  /** @returns {[number, number]} */
  placeOf(px, py) { return [this.view.x + (px - this.wide / 2) / this.view.size, this.view.y - (py - this.high / 2) / this.view.size]; }

  /**
   * The nearest place that a tape shows: 0.05 ft or 1 cm.
   * @returns {[number, number]}
   */
  taped([x, y]) {
    const step = this.state.units === "ft" ? 0.05 * unitLength("ft") : 0.01;
    return [Math.round(x / step) * step, Math.round(y / step) * step];
  }

  setState(state) { this.state = state; this.draw(); }

  setField(field, look, next) { Object.assign(this, { field, look, next }); this.draw(); }

  setMark(mark) { this.mark = mark; this.draw(); }

  /** Look so near that all of it shows, with some room about it. */
  showAll() {
    const spots = this.spots();
    if (!this.wide || !spots.length) return;
    const [xs, ys] = [0, 1].map((k) => spots.map((spot) => spot[k]));
    const [west, east, south, north] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const size = Math.min((this.wide - 112) / Math.max(east - west, 1), (this.high - 96) / Math.max(north - south, 1));
    this.view = { x: (west + east) / 2, y: (south + north) / 2, size: Math.min(Math.max(size, 1), 2000) };
    this.draw();
  }

  spots() {
    const { corners = [], shots = [], trees = [] } = this.state?.plan ?? {};
    const spots = [...corners, ...shots, ...trees].map(({ at }) => at);
    if (!this.picture) return spots;
    const { drawn, lay } = this.picture;
    return [...spots, ...[[0, 0], [drawn.width, 0], [0, -drawn.height], [drawn.width, -drawn.height]].map((one) => laidAt(lay, one))];
  }

  /** Nearer or farther about a pixel, which stays where it is. */
  zoom(factor, px = this.wide / 2, py = this.high / 2) {
    const [x, y] = this.placeOf(px, py);
    const size = Math.min(Math.max(this.view.size * factor, 1), 2000);
    const share = this.view.size / size;
    this.view = { x: x + (this.view.x - x) * share, y: y + (this.view.y - y) * share, size };
    this.draw();
  }

  draw() {
    if (!this.wide || !this.state) return;
    this.svg.setAttribute("viewBox", `0 0 ${this.wide} ${this.high}`);
    for (const group of Object.values(this.groups)) group.replaceChildren();
    this.drawPicture();
    this.drawContours();
    this.drawBed();
    this.drawThings();
    this.drawPoints();
    this.drawMarks();
    this.drawScale();
  }

  drawPicture() {
    const { canvas, picture } = this;
    const ratio = Math.min(devicePixelRatio || 1, 2);
    canvas.width = Math.round(this.wide * ratio);
    canvas.height = Math.round(this.high * ratio);
    if (!picture) return;
    const pen = canvas.getContext("2d");
    const [[x0, y0], [x1, y1]] = [[0, 0], [1, 0]].map((pixel) => this.at(laidAt(picture.lay, pixel)));
    const [a, b] = [(x1 - x0) * ratio, (y1 - y0) * ratio];
    pen.setTransform(a, b, -b, a, x0 * ratio, y0 * ratio);
    pen.drawImage(picture.drawn, 0, 0);
  }

  drawContours() {
    if (!this.field) return;
    const { field, look } = this;
    const finished = field.existing.map((z, k) => z + field.change[k]);
    const covered = (k) => Math.abs(field.change[k]) > 0.003 || Math.abs(field.change[k + 1]) > 0.003;
    const { low, high } = field.range();
    const bare = (k) => look.measured && !covered(k); // flat ground that nobody measured has no level lines
    for (const { kind, wanted } of [{ kind: "existing", wanted: bare }, { kind: "proposed", wanted: covered }]) {
      for (const n of stepsBetween(low, high, look.interval)) {
        const found = levelLines(finished, field.nx, field.ny, n * look.interval, wanted);
        const data = found.map((line) => path(thinned(line.map((node) => this.node(node)), 0.3))).join("");
        if (data) shape("path", { d: data, class: `${kind}${n % look.strong === 0 ? " strong" : ""}` }, this.groups.lines);
      }
    }
  }

  node([i, j]) { return this.at([this.field.x0 + i * this.field.cell, this.field.y0 + j * this.field.cell]); }

  drawBed() {
    const { corners, given } = this.state.plan;
    const line = corners.map(({ at }) => this.at(this.held("bed", at, corners)));
    if (!line.length) return;
    shape("path", { d: path(line, line.length > 2), class: given ? "outline" : "outline taken" }, this.groups.bed);
    if (line.length < 3) return;
    const [xs, ys] = [0, 1].map((k) => line.map((spot) => spot[k]));
    const [left, right, up, down] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    for (const [side, [across, ahead]] of Object.entries(SIDES)) {
      const out = { near: [0, 32], far: [0, -22], left: [-24, 5], right: [28, 5] }[side];
      words(side, [left + across * (right - left) + out[0], down - ahead * (down - up) + out[1]], "side", this.groups.bed);
    }
  }

  drawThings() {
    const { trees, house } = this.state.plan;
    const { things } = this.groups;
    if (house.length) {
      const line = house.map((at) => this.at(at));
      shape("path", { d: path(line, true), class: "building" }, things);
      const middle = [0, 1].map((k) => line.reduce((sum, spot) => sum + spot[k], 0) / line.length);
      words("house", [middle[0], middle[1] + 5], "name", things);
    }
    for (const { name, at, trunk } of trees) {
      const [cx, cy] = this.at(at);
      const r = Math.max((trunk / 2) * this.view.size, 4);
      shape("circle", { cx, cy, r, class: "trunk" }, things);
      words(name, [cx, cy + r + 15], "tree-name", things);
    }
  }

  /** A place, or where a finger holds it just now. */
  held(kind, at, list) {
    const { dragged } = this;
    return dragged?.kind === kind && list[dragged.index]?.at === at ? dragged.place : at;
  }

  drawPoints() {
    const { corners, shots, given } = this.state.plan;
    const { points } = this.groups;
    const line = corners.map(({ at }) => this.at(this.held("bed", at, corners)));
    const middle = [0, 1].map((k) => line.reduce((sum, spot) => sum + spot[k], 0) / line.length);
    for (const [k, [x, y]] of line.entries()) {
      if (given) shape("path", { d: `M${x - 6} ${y - 6}h12v12h-12Z`, class: "corner-mark" }, points);
      // A name stands outside the bed, away from its middle.
      const away = Math.hypot(x - middle[0], y - middle[1]) || 1;
      words(corners[k].name, [x + (18 * (x - middle[0])) / away, y + 6 + (18 * (y - middle[1])) / away], "corner-name", points);
    }
    for (const { name, at } of shots) {
      const [cx, cy] = this.at(this.held("shots", at, shots));
      shape("circle", { cx, cy, r: 5, class: "shot" }, points);
      words(name, [cx + 8, cy + 5], "shot-name", points, "start");
    }
  }

  drawMarks() {
    const { marks } = this.groups;
    if (this.next) {
      const [x, y] = this.at(this.next.at);
      shape("circle", { cx: x, cy: y, r: 12, class: "next-ring" }, marks);
      shape("path", { d: `M${x - 7} ${y}h14M${x} ${y - 7}v14`, class: "next-cross" }, marks);
    }
    for (const [k, spot] of this.taps.entries()) {
      const [cx, cy] = this.at(spot);
      shape("circle", { cx, cy, r: 8, class: "cross" }, marks);
      words(`${k + 1}`, [cx + 12, cy - 8], "corner-name", marks);
    }
    if (this.taps.length > 1) shape("path", { d: path(this.taps.map((spot) => this.at(spot))), class: "section-line" }, marks);
    if (!this.mark) return;
    const [x, y] = this.at(this.mark);
    shape("path", { d: `M${x - 13} ${y}H${x + 13}M${x} ${y - 13}V${y + 13}`, class: "cross" }, marks);
  }

  drawScale() {
    const unit = unitLength(this.state.units);
    const step = tick(this.wide / this.view.size / unit, 4);
    if (!step) return;
    const long = step * unit * this.view.size;
    const y = this.high - 12;
    shape("path", { d: `M12 ${y - 5}V${y}H${12 + long}V${y - 5}`, class: "scale" }, this.groups.marks);
    words(`${step} ${this.state.units}`, [18 + long, y], "scale-name", this.groups.marks, "start");
  }

  /** The corner or shot under a finger. */
  under(px, py, reach = REACH) {
    const { corners, shots, given } = this.state.plan;
    const spots = [
      ...shots.map(({ at }, index) => ({ kind: "shots", index, at })),
      ...(given ? corners.map(({ at }, index) => ({ kind: "bed", index, at })) : []),
    ];
    return spots
      .map((spot) => ({ ...spot, off: Math.hypot(this.at(spot.at)[0] - px, this.at(spot.at)[1] - py) }))
      .filter(({ off }) => off <= reach).sort((a, b) => a.off - b.off)[0] ?? null;
  }

  watch() {
    const { svg } = this;
    const fingers = new Map();
    const pixel = (event) => {
      const frame = svg.getBoundingClientRect();
      return [event.clientX - frame.left, event.clientY - frame.top];
    };
    svg.addEventListener("pointerdown", (event) => {
      if (event.button > 0 || !this.state) return;
      svg.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, { now: pixel(event), moved: 0, hold: fingers.size ? null : this.under(...pixel(event)) });
      if (fingers.size > 1) for (const finger of fingers.values()) Object.assign(finger, { moved: STILL + 1, hold: null });
    });
    svg.addEventListener("pointermove", (event) => {
      const finger = fingers.get(event.pointerId);
      if (!finger) return;
      const before = finger.now;
      const others = [...fingers.values()].filter((one) => one !== finger);
      finger.now = pixel(event);
      finger.moved += Math.hypot(finger.now[0] - before[0], finger.now[1] - before[1]);
      if (others.length) this.pinch(before, finger.now, others[0].now);
      else if (finger.moved > STILL) this.drag(finger, before);
    });
    const lift = (event) => {
      const finger = fingers.get(event.pointerId);
      fingers.delete(event.pointerId);
      if (finger && event.type === "pointerup") this.lift(finger);
      else { this.dragged = null; this.draw(); }
    };
    svg.addEventListener("pointerup", lift);
    svg.addEventListener("pointercancel", lift);
    svg.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoom(Math.exp(-Math.sign(event.deltaY) * Math.min(Math.abs(event.deltaY), 60) * 0.004), ...pixel(event));
    }, { passive: false });
    svg.addEventListener("keydown", (event) => this.key(event));
  }

  pinch(before, now, other) {
    const [was, is] = [before, now].map(([x, y]) => Math.hypot(x - other[0], y - other[1]));
    if (was > 10 && is > 10) this.zoom(is / was, ...other);
  }

  /** A point goes with the finger; where it holds none, the whole sheet does. */
  drag(finger, before) {
    const { hold, now } = finger;
    if (hold) this.dragged = { ...hold, place: this.taped(this.placeOf(...now)) };
    else {
      const { x, y, size } = this.view;
      this.view = { x: x - (now[0] - before[0]) / size, y: y + (now[1] - before[1]) / size, size };
    }
    this.draw();
  }

  lift({ now, moved }) {
    const { dragged } = this;
    this.dragged = null;
    if (dragged) this.on.move(dragged.kind, dragged.index, dragged.place);
    if (dragged || moved > STILL) return;
    const here = this.under(...now, NEAR);
    if (here) this.on.pick(here.kind, here.index, this.placeOf(...now)); else this.on.tap(this.placeOf(...now));
  }

  /** Arrow keys move the mark by half a foot or 10 cm, with Shift ten times as far; Enter sets what a tap would. */
  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !this.state) return;
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const go = (way) => () => this.step(way, event.shiftKey);
    const deed = {
      "+": () => this.zoom(1.25), "=": () => this.zoom(1.25), "-": () => this.zoom(0.8), Home: () => this.showAll(),
      Enter: () => this.mark && this.on.tap(this.mark),
      ...Object.fromEntries(Object.entries(ways).map(([key, way]) => [key, go(way)])),
    }[event.key];
    if (!deed) return;
    event.preventDefault();
    deed();
  }

  step(way, far) {
    const step = (this.state.units === "ft" ? 0.5 * unitLength("ft") : 0.1) * (far ? 10 : 1);
    const [x, y] = this.mark ?? this.taped([this.view.x, this.view.y]);
    this.setMark([x + step * way[0], y + step * way[1]]);
    this.on.read(this.mark);
  }

  /** A place in words. */
  wordsOf([x, y]) {
    const [along, out] = [x, y].map((one) => showLength(one, this.state.units, "distance"));
    return `${along} along, ${out} out`;
  }
}
