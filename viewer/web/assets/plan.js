// The plan: ground, contours, bed, trees, depths, a mark to read heights at, and section lines; north is up.

import { levelLines, thinned } from "./contours.js";
import { paintShaded } from "./shade.js";
import { path, shape, words } from "./svg.js";
import { stepsBetween } from "./ticks.js";
import { showLength, spotDepth, unitLength } from "./units.js";

export class Plan {
  /** `on.mark(place)` and `on.section(start, end)` tell what the reader does; places are {x, y} in metres. */
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
    // What moves with a finger lies on a sheet of its own, so that the contours are not drawn again with it.
    for (const name of ["land", "trees", "lines"]) this.groups[name] = shape("g", { class: name }, under);
    for (const name of ["bed", "sections", "depths", "mark", "handles"]) {
      this.groups[name] = shape("g", { class: name, "aria-hidden": name === "handles" ? "false" : "true" }, svg);
    }
    new ResizeObserver(() => this.resize()).observe(svg);
    this.resize();
    this.watch();
  }

  resize() {
    const wide = this.svg.clientWidth;
    if (!wide) return;
    this.size = wide / this.field.width;
    const high = this.field.height * this.size;
    this.high = high;
    for (const sheet of [this.svg, this.under]) sheet.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    const ratio = Math.min(devicePixelRatio || 1, 2);
    this.canvas.width = Math.round(wide * ratio);
    this.canvas.height = Math.round(high * ratio);
    this.drawLand();
    this.draw();
  }

  /** Pixels of a place in metres, and the way back. */
  /**
   * @param {number[]} place
   * @returns {[number, number]}
   */
  at([x, y]) { return [(x - this.field.x0) * this.size, this.high - (y - this.field.y0) * this.size]; }

  place(px, py) { return { x: this.field.x0 + px / this.size, y: this.field.y0 + (this.high - py) / this.size }; }

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

  /** The water of streams, rings of places. */
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
    const [wide, high] = [this.svg.clientWidth, this.svg.clientHeight];
    words(name, [Math.min(Math.max(x, half), wide - half), Math.min(Math.max(y - 8, 14), high - 6)], "name", group);
  }

  nameIn(outline, name, group) {
    const { x0, y0, width, height } = this.field;
    const inside = outline.map(([x, y]) => [Math.min(Math.max(x, x0), x0 + width), Math.min(Math.max(y, y0), y0 + height)]);
    const [xs, ys] = [inside.map((p) => p[0]), inside.map((p) => p[1])];
    const [low, high] = [[Math.min(...xs), Math.min(...ys)], [Math.max(...xs), Math.max(...ys)]];
    const [wide, tall] = [(high[0] - low[0]) * this.size, (high[1] - low[1]) * this.size];
    const middle = this.at([(low[0] + high[0]) / 2, (low[1] + high[1]) / 2]);
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
    const [x, y] = [this.svg.clientWidth - 22, 30];
    shape("path", { d: `M${x} ${y - 20}L${x - 7} ${y + 4}L${x} ${y - 2}L${x + 7} ${y + 4}Z`, class: "north" }, group);
    words("N", [x, y + 20], "north-letter", group);
  }

  drawBed() {
    const { bed } = this.groups;
    const data = this.outline.map((ring) => path(ring.map((p) => this.at(p)), true)).join("");
    const water = this.water.map((ring) => path(ring.map((p) => this.at(p)), true)).join("");
    bed.replaceChildren(shape("path", { d: water, class: "water" }), shape("path", { d: data, class: "outline" }));
  }

  draw() {
    if (!this.size) return;
    /** @type {[number, number, number, number]} */
    const frame = [0, 0, this.canvas.width, this.canvas.height];
    paintShaded(this.canvas, this.yard, this.field, this.after, this.lean ? 0 : 0.55, frame);
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
  node(i, j) { return [i * this.field.cell * this.size, this.high - j * this.field.cell * this.size]; }

  /** The level's elevation on its longest line. */
  nameLevel(found, level, kind, group) {
    const longest = found.reduce((a, b) => (b.length > a.length ? b : a));
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
    let from = null;
    svg.addEventListener("pointerdown", (event) => {
      if (event.button > 0 || this.on.grab?.(event)) return;
      svg.setPointerCapture(event.pointerId);
      from = this.fromEvent(event);
      if (this.tool === "read") this.on.mark(from);
    });
    svg.addEventListener("pointermove", (event) => {
      const here = this.fromEvent(event);
      if (from && this.tool === "section") this.on.section(from, here);
      else if (this.tool === "read" && (from || event.pointerType === "mouse")) this.on.mark(here);
    });
    const end = (event) => {
      const here = this.fromEvent(event);
      if (from && this.tool === "section") this.on.section(from, here);
      from = null;
    };
    svg.addEventListener("pointerup", end);
    svg.addEventListener("pointercancel", () => { from = null; });
    svg.addEventListener("keydown", (event) => this.key(event));
  }

  /** Arrow keys move the mark by a foot or a quarter of a metre, with Shift five times as far. */
  key(event) {
    if (event.target !== this.svg) return;
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
