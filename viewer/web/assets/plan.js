// The plan: ground, contours, bed, trees, depths, a mark to read heights at, and section lines; north is up.

import { levelLines, thinned } from "./contours.js";
import { paintShaded } from "./shade.js";
import { northArrow, path, shape, words } from "./svg.js";
import { Pane } from "./pane.js";
import { watchPinch } from "./pinch.js";
import { stepsBetween } from "./ticks.js";
import { showLength, spotDepth, unitLength } from "./units.js";

export class Plan {
  /** `on.mark(place)` and `on.section(start, end, event)` tell what the reader does; places are {x, y} in metres. */
  constructor({ svg, under, canvas }, yard, field, on) {
    this.svg = svg;
    this.under = under;
    this.canvas = canvas;
    this.yard = yard;
    this.field = field;
    this.on = on;
    this.outline = yard.wish.outline;
    this.water = yard.water;
    this.after = 1;
    this.mark = null;
    this.section = null;
    this.tool = "read";
    this.avoid = []; // places that numbers keep clear of
    this.lean = false; // leave light and shade out while the ground changes
    this.groups = {};
    this.air = null; // a picture of the ground from above
    this.pane = new Pane();
    this.from = null; // where a drag over the ground began
    this.pinched = this.grabbed = false; // by two fingers; a point of it by one
    svg.parentElement.style.setProperty("--aspect", String(field.width / field.height));
    // What moves with a finger lies on a sheet of its own, so that the contours are not drawn again with it.
    for (const name of ["land", "trees", "lines"]) this.groups[name] = shape("g", { class: name }, under);
    for (const name of ["bed", "sections", "depths", "mark", "handles"]) {
      this.groups[name] = shape("g", { class: name, "aria-hidden": name === "handles" ? "false" : "true" }, svg);
    }
    new ResizeObserver(() => this.resize()).observe(svg);
    this.resize();
    this.watch();
    this.seenFromAbove = yard.air ? this.layAir(yard.air) : Promise.resolve();
  }

  /** Lay a picture of the ground from above under the drawing. */
  async layAir(link) {
    const picture = new Image();
    picture.src = link;
    await picture.decode();
    this.air = picture;
    this.draw();
  }

  resize() {
    const wide = this.svg.clientWidth;
    if (!wide) return;
    this.wide = wide;
    const high = (this.field.height * wide) / this.field.width;
    this.high = high;
    for (const sheet of [this.svg, this.under]) sheet.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    const ratio = Math.min(devicePixelRatio || 1, 2);
    this.canvas.width = Math.round(wide * ratio);
    this.canvas.height = Math.round(high * ratio);
    this.drawAll();
  }

  drawAll() {
    this.size = (this.wide / this.field.width) * this.pane.times;
    this.drawLand();
    this.draw();
    this.on.redrawn?.();
  }

  /**
   * Pixels of a place in metres; `place` is the way back.
   * @param {number[]} place
   * @returns {[number, number]}
   */
  at([x, y]) {
    const [west, south] = this.pane.corner(this.field);
    return [(x - west) * this.size, this.high - (y - south) * this.size];
  }

  place(px, py) {
    const [west, south] = this.pane.corner(this.field);
    return { x: west + px / this.size, y: south + (this.high - py) / this.size };
  }

  /** Whether a pixel lies on the sheet. */
  isOn([px, py]) { return px >= 0 && py >= 0 && px <= this.wide && py <= this.high; }

  /** Draw the plan larger by a factor, with what is at a pixel there still, or shifted by pixels. */
  enlarge(factor, [px, py] = [this.wide / 2, this.high / 2], [dx, dy] = [0, 0]) {
    const { x, y } = this.place(px, py);
    this.pane.enlarge(factor);
    this.size = (this.wide / this.field.width) * this.pane.times;
    const [nx, ny] = this.at([x, y]);
    this.pane.slide((nx - px - dx) / this.wide, (py + dy - ny) / this.high);
    this.drawAll();
  }

  showWhole() { this.pane.whole(); this.drawAll(); }

  /** Bring a place onto the sheet. */
  reveal(place) {
    const [px, py] = this.at(place);
    if (this.isOn([px, py])) return;
    this.enlarge(1, [px, py], [this.wide / 2 - px, this.high / 2 - py]);
  }

  fromEvent(event) {
    const frame = this.svg.getBoundingClientRect();
    const { x, y } = this.place(event.clientX - frame.left, event.clientY - frame.top);
    return this.held({ x, y });
  }

  held({ x, y }) {
    const { x0, y0, width, height } = this.field;
    return { x: Math.min(Math.max(x, x0), x0 + width), y: Math.min(Math.max(y, y0), y0 + height) };
  }

  setField(field) { this.field = field; this.draw(); }

  setOutline(outline) { this.outline = outline; this.drawBed(); }

  /** The water of streams, and their banks, as rings of places. */
  setWater(water) { this.water = water; this.drawBed(); }

  setAfter(after) { this.after = after; this.draw(); }

  /** Things that never move: walks, buildings, trees. */
  drawLand() {
    const { land, trees } = this.groups;
    land.replaceChildren();
    trees.replaceChildren();
    for (const { name, outline } of this.yard.clear) {
      shape("path", { d: path(outline.map((p) => this.at(p)), true), class: "walk" }, land);
      this.nameIn(outline, name, land);
    }
    for (const { name, outline } of this.yard.buildings) {
      shape("path", { d: path(outline.map((p) => this.at(p)), true), class: "building" }, land);
      this.nameIn(outline, name, land);
    }
    for (const { line } of this.yard.retained) shape("path", { d: path(line.map((p) => this.at(p))), class: "stones" }, land);
    for (const thing of this.yard.things) this.drawThing(thing, land);
    for (const tree of this.yard.trees) this.drawTree(tree, trees);
    this.drawNorth(land);
  }

  /** A street's edge, a hydrant, a line in the ground or the air: what the mound must respect. */
  drawThing({ name, line, hidden }, group) {
    shape("path", { d: path(line.map((p) => this.at(p))), class: hidden ? "thing hidden-line" : "thing" }, group);
    const half = 4.4 * name.length; // pixels that its letters take to either side
    const [x, y] = this.at(line[Math.floor(line.length / 2)]);
    if (!this.isOn([x, y])) return;
    const [wide, high] = [this.svg.clientWidth, this.svg.clientHeight];
    words(name, [Math.min(Math.max(x, half), wide - half), Math.min(Math.max(y - 8, 14), high - 6)], "name", group);
  }

  nameIn(outline, name, group) {
    const inside = outline.map((place) => this.at(place))
      .map(([x, y]) => [Math.min(Math.max(x, 0), this.wide), Math.min(Math.max(y, 0), this.high)]);
    const [xs, ys] = [inside.map((p) => p[0]), inside.map((p) => p[1])];
    const [wide, tall] = [Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)];
    /** @type {[number, number]} */
    const middle = [Math.min(...xs) + wide / 2, Math.min(...ys) + tall / 2];
    const upright = tall > wide;
    if (Math.min(wide, tall) < 14 || Math.max(wide, tall) < 8.5 * name.length) return;
    const text = words(name, middle, "name", group);
    if (upright) text.setAttribute("transform", `rotate(-90 ${middle[0].toFixed(1)} ${middle[1].toFixed(1)}) translate(0 4)`);
  }

  drawTree(tree, group) {
    const [cx, cy] = this.at(tree.at);
    const circle = (radius, kind) => shape("circle", { cx, cy, r: radius * this.size, class: kind }, group);
    circle(tree.root_zone, "root-zone");
    circle(tree.keep_off, "keep-off");
    circle(tree.flare, "flare");
    circle(tree.trunk / 2, "trunk");
    if (!this.field.holds(...tree.at)) return;
    const below = cy + 16 + tree.flare * this.size;
    words(tree.name, [cx, below], "tree-name", group);
  }

  drawNorth(group) {
    const [wide, high] = [this.svg.clientWidth, this.high];
    const taken = [...this.yard.trees.map(({ at }) => at), ...this.outline.flat()].map((place) => this.at(place));
    const room = ([x, y]) => Math.min(...taken.map(([a, b]) => Math.hypot(a - x, b - y)), 60);
    /** @type {[number, number][]} */
    const corners = [[wide - 26, 34], [26, 34], [wide - 26, high - 34], [26, high - 34]];
    const [x, y] = corners.reduce((best, corner) => (room(corner) > room(best) ? corner : best));
    northArrow([x, y], this.yard.north, group);
  }

  drawBed() {
    const { bed } = this.groups;
    const data = this.outline.map((ring) => path(ring.map((p) => this.at(p)), true)).join("");
    const water = this.water.map(({ wet }) => path(wet.map((p) => this.at(p)), true)).join("");
    bed.replaceChildren(shape("path", { d: water, class: "water" }), shape("path", { d: data, class: "outline" }));
  }

  draw() {
    if (!this.size) return;
    const sharp = this.canvas.width / this.wide;
    const [left, top] = this.at([this.field.x0, this.field.y0 + this.field.height]);
    const [wide, high] = [this.field.width * this.size * sharp, this.field.height * this.size * sharp];
    /** @type {[number, number, number, number]} */
    const frame = [left * sharp, top * sharp, wide, high];
    paintShaded(this.canvas, this.yard, this.field, this.after, this.lean ? 0 : 0.55, frame, this.air);
    this.drawBed();
    this.drawContours();
    this.drawDepths();
    this.drawSection();
    this.drawMark();
  }

  drawContours() {
    const { lines } = this.groups;
    lines.replaceChildren();
    // Trees and high points carry their words below them.
    const withWords = ([x, y]) => [[x, y], [x, y + 24]];
    const named = [...this.yard.trees.map(({ at }) => at), ...this.avoid];
    this.taken = named.flatMap((spot) => withWords(this.at(spot)));
    const { field } = this;
    const { interval, strong } = this.yard.look;
    const finished = field.existing.map((z, k) => z + this.after * field.change[k]);
    const covered = (k) => Math.abs(this.after * field.change[k]) > 0.003 || Math.abs(this.after * field.change[k + 1]) > 0.003;
    const { low, high } = field.range();
    for (const [values, kind, wanted] of [
      [finished, "existing", (k) => !covered(k)],
      [finished, "proposed", covered],
    ]) {
      for (const n of stepsBetween(low, high, interval)) {
        const found = levelLines(values, field.nx, field.ny, n * interval, wanted);
        if (!found.length) continue;
        const data = found.map((line) => path(thinned(line.map(([i, j]) => this.node(i, j)), 0.3))).join("");
        shape("path", { d: data, class: `${kind}${n % strong === 0 ? " strong" : ""}` }, lines);
        this.nameLevel(found, n * interval, kind, lines);
      }
    }
  }

  /** @returns {[number, number]} */
  node(i, j) { return this.at([this.field.x0 + i * this.field.cell, this.field.y0 + j * this.field.cell]); }

  /** The level's elevation on the line of which most is on the sheet. */
  nameLevel(found, level, kind, group) {
    const onSheet = found.map((line) => line.filter(([i, j]) => this.isOn(this.node(i, j))));
    const longest = onSheet.reduce((a, b) => (b.length > a.length ? b : a));
    if (longest.length * this.field.cell * this.size < 70) return;
    const at = longest[Math.floor(longest.length * (kind === "proposed" ? 0.62 : 0.3))];
    const number = ((level + this.yard.origin[2]) / unitLength(this.yard.units)).toFixed(this.yard.look.places);
    const [x, y] = this.node(...at);
    if (this.taken.some(([a, b]) => Math.abs(a - x) < 44 && Math.abs(b - y) < 18)) return;
    this.taken.push([x, y]);
    words(number, [x, y + 4], `level ${kind}`, group);
  }

  /** Depths of fill at spots on an even lattice: the tints' numbers. */
  drawDepths() {
    const { depths } = this.groups;
    depths.replaceChildren();
    if (!this.after) return;
    const step = Math.max(46 / this.size, 0.6);
    const { x0, y0, width, height } = this.field;
    for (const row of stepsBetween(0, height / step - 0.5, 1)) {
      for (const column of stepsBetween(0, width / step - 0.5, 1)) {
        const [x, y] = [x0 + (column + 0.5) * step, y0 + (row + 0.5) * step];
        const depth = this.field.changeAt(x, y);
        if (Math.abs(depth) < 0.01) continue;
        const [px, py] = this.at([x, y]);
        if (!this.isOn([px, py])) continue;
        if (this.taken.some(([a, b]) => Math.abs(a - px) < 34 && Math.abs(b - py) < 22)) continue;
        shape("circle", { cx: px, cy: py, r: 1.6, class: "spot" }, depths);
        words(spotDepth(depth, this.yard.units), [px, py - 5], "depth", depths);
      }
    }
  }

  setMark(mark) { this.mark = mark; this.drawMark(); }

  drawMark() {
    const { mark: group } = this.groups;
    group.replaceChildren();
    if (!this.mark) return;
    const [x, y] = this.at([this.mark.x, this.mark.y]);
    shape("path", { d: `M${x - 13} ${y}H${x + 13}M${x} ${y - 13}V${y + 13}`, class: "cross" }, group);
    shape("circle", { cx: x, cy: y, r: 7, class: "cross" }, group);
  }

  setSection(section) { this.section = section; this.drawSection(); }

  drawSection() {
    const { sections } = this.groups;
    sections.replaceChildren();
    if (!this.section) return;
    const [from, to] = [this.at([this.section.start.x, this.section.start.y]), this.at([this.section.end.x, this.section.end.y])];
    shape("path", { d: path([from, to]), class: "section-halo" }, sections);
    shape("path", { d: path([from, to]), class: "section-line" }, sections);
    const { letter } = this.section;
    const way = [to[0] - from[0], to[1] - from[1]];
    const length = Math.hypot(...way) || 1;
    for (const [spot, sign, text] of [[from, -1, letter], [to, 1, `${letter}′`]]) {
      const [x, y] = [spot[0] + (sign * 14 * way[0]) / length, spot[1] + (sign * 14 * way[1]) / length];
      const [wide, high] = [this.svg.clientWidth, this.high];
      words(text, [Math.min(Math.max(x, 10), wide - 12), Math.min(Math.max(y + 6, 16), high - 6)], "letter", sections);
    }
  }

  watch() {
    const { svg } = this;
    watchPinch(this);
    svg.addEventListener("pointerdown", (event) => {
      if (event.button > 0 || this.pinched) return;
      this.grabbed = Boolean(this.on.grab?.(event));
      if (this.grabbed) return;
      svg.setPointerCapture(event.pointerId);
      this.from = this.fromEvent(event);
      // A finger may be about to swipe the page along: its mark is set where it is lifted, or drawn across.
      if (this.tool === "read" && event.pointerType !== "touch") this.on.mark(this.from);
    });
    svg.addEventListener("pointermove", (event) => {
      const here = this.fromEvent(event);
      if (this.from && this.tool === "section") this.on.section(this.from, here, event);
      else if (this.tool === "read" && (this.from || event.pointerType === "mouse")) this.on.mark(here);
    });
    svg.addEventListener("pointerup", (event) => {
      const here = this.fromEvent(event);
      if (this.from && this.tool === "section") this.on.section(this.from, here, event);
      else if (this.from && event.pointerType === "touch") this.on.mark(here);
      this.from = null;
    });
    svg.addEventListener("pointercancel", () => { this.from = null; });
    svg.addEventListener("keydown", (event) => this.key(event));
  }

  /** Arrow keys move the mark by a foot or a quarter of a metre, with Shift five times as far. */
  key(event) {
    if (event.target !== this.svg || event.ctrlKey || event.metaKey) return;
    const sizes = { "+": 1.5, "=": 1.5, "-": 1 / 1.5 };
    if (sizes[event.key]) this.enlarge(sizes[event.key]);
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const way = ways[event.key];
    if (!way) return;
    event.preventDefault();
    const step = (this.yard.units === "ft" ? unitLength("ft") : 0.25) * (event.shiftKey ? 5 : 1);
    const { x0, y0, width, height } = this.field;
    const here = this.mark ?? { x: x0 + width / 2, y: y0 + height / 2 };
    this.on.mark(this.held({ x: here.x + step * way[0], y: here.y + step * way[1] }), true);
  }
}

/** What a place reads: depth of fill or cut, finished and existing grade. */
export function reading(yard, field, mark, after) {
  if (!mark) return "";
  const { units, origin } = yard;
  const existing = field.existingAt(mark.x, mark.y) + origin[2];
  const change = field.changeAt(mark.x, mark.y);
  const ground = `ground ${showLength(existing, units, "elevation")}`;
  if (Math.abs(change) < 0.002) return `No fill here; ${ground}.`;
  const what = change > 0 ? "Fill" : "Cut";
  const finished = showLength(existing + change, units, "elevation");
  return `${what} ${showLength(Math.abs(change), units)}; finished ${finished}, ${ground}.${after ? "" : " (Shown: before.)"}`;
}
