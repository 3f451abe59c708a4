// The 3D picture: what is drawn, when, and from where.

import { bodiesOf } from "./bodies.js";
import { Eye, meets } from "./eye.js";
import { watchHands } from "./hands.js";
import { Relief } from "./relief.js";
import { shadedPlan } from "./shade.js";
import { grainOf, laidOf, treesOf } from "./scenery.js";
import { coverOf, skinOf } from "./skin.js";
import { showLength } from "./units.js";

export const LOOKS = { street: 22, above: 89 };
const HASTY = 0.42; // of the pixels across, while a machine without graphics moves the picture

const calm = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** Behind the eye or beside the picture. */
function isOut({ x, y, depth }, wide, tall) { return depth < 0 || x < 0 || y < 0 || x > wide || y > tall; }

export class Stage {
  /** `onMark(place)` is called with {x, y} where the reader points at the ground, or null. */
  constructor(canvas, tags, yard, field, onMark) {
    this.canvas = canvas;
    this.tags = tags;
    this.yard = yard;
    this.field = field;
    this.onMark = onMark;
    this.outline = yard.wish.outline;
    this.water = yard.water;
    this.after = 1;
    this.shown = 1;
    this.lift = 1;
    this.mark = null;
    this.tinted = false;
    this.coarse = false;
    this.trees = [];
    this.laid = [];
    this.waiting = [];
    this.base = field.range().low; // stays while the mound changes, so that the picture does not jump
    this.eye = new Eye(yard.toward, LOOKS.street, [0, 0, 0], 30);
    try {
      this.relief = new Relief(canvas, yard.look, yard.scenery);
    } catch {
      this.relief = null;
    }
    if (this.relief) this.start(); else this.drape();
    this.dressed = this.relief ? this.dress() : Promise.resolve();
    new ResizeObserver(() => this.resize()).observe(canvas);
    this.resize();
    this.look("street");
  }

  start() {
    this.setField(this.field);
    this.drape();
    this.stand();
    watchHands(this.canvas, {
      turn: (dx, dy) => { this.eye.turn(-dx * 0.35, dy * 0.3); this.hurry(); },
      slide: (dx, dy) => { this.eye.slide(dx, dy, this.canvas.clientHeight); this.hurry(); },
      zoom: (factor) => { this.zoom(factor); this.hurry(); },
      point: (px, py) => this.pointAt(px, py),
      leave: () => this.setMark(null),
      home: () => this.look("street"),
    });
    this.canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    this.canvas.addEventListener("webglcontextrestored", () => {
      this.relief = new Relief(this.canvas, this.yard.look, this.yard.scenery);
      this.relief.setField(this.field);
      this.drape();
      this.dress();
    });
  }

  /** Unpack grain and trees; until then the ground is plain. */
  async dress() {
    const { scenery, laid } = this.yard;
    const [grain, trees, stones] = await Promise.all([grainOf(scenery), treesOf(scenery), laidOf(laid)]);
    this.trees = trees;
    this.told ??= laid;
    if (this.told === laid) this.laid = stones;
    this.relief.setGrain(grain);
    this.stand();
    this.redraw();
  }

  heightAt(x, y) {
    return this.lift * (this.field.existingAt(x, y) + this.shown * this.field.changeAt(x, y) - this.base);
  }

  zoom(factor) {
    this.eye.distance = Math.min(Math.max(this.eye.distance * factor, 2), 400);
    this.redraw();
  }

  /** Look from the "street" or from "above". */
  look(name) {
    this.eye.down = LOOKS[name];
    this.eye.toward = name === "above" ? 90 : this.yard.toward;
    const corners = this.mustShow(name === "above");
    const [wide, tall] = [this.canvas.clientWidth || 300, this.canvas.clientHeight || 200];
    this.eye.fit(corners, wide, tall, 0.94);
    this.redraw();
  }

  /** Points that a look must hold: the bed, what is dug, and from the side the trees; from above all the ground. */
  mustShow(above) {
    const { x0, y0, width, height } = this.field;
    const high = this.lift * (this.field.range().high - this.base);
    const upright = ([x, y]) => [[x, y, 0], [x, y, high]];
    if (above) return [x0, x0 + width].flatMap((x) => [y0, y0 + height].flatMap((y) => upright([x, y])));
    const trees = this.yard.trees.filter(({ at }) => this.field.holds(...at));
    const crowns = trees.flatMap(({ at: [x, y] }) => [-1.6, 1.6].map((off) => [x + off, y, this.lift * 4]));
    const [west, south, east, north] = this.field.dug() ?? [];
    const dug = west === undefined ? [] : [west, east].flatMap((x) => [south, north].map((y) => [x, y, 0]));
    return [...this.outline[0].flatMap(upright), ...crowns, ...dug];
  }

  /** Show soil as it looks, or in the colour of its depth. */
  setTinted(tinted) {
    this.tinted = tinted;
    this.redraw();
  }

  setAfter(after) {
    if (Boolean(after) !== Boolean(this.after)) this.drape(false, Boolean(after));
    this.after = after;
    if (calm()) this.shown = after;
    this.redraw();
  }

  setLift(lift) {
    this.lift = lift;
    this.stand();
    this.redraw();
  }

  setField(field) {
    this.field = field;
    this.highest = field.range().high;
    this.relief?.setField(field);
    this.redraw();
  }

  /** Lay another outline over the ground; coarser while it moves. */
  setOutline(outline, moving = false) {
    this.outline = outline;
    this.drape(moving);
    this.redraw();
  }

  /** The water of streams, and their banks, as rings of places. */
  setWater(water, moving = false) {
    if (water === this.water) return;
    this.water = water;
    this.drape(moving);
    this.redraw();
  }

  drape(moving = false, built = Boolean(this.after)) {
    const pixels = (this.relief?.byHand ? 1024 : 2048) / (moving ? 2 : 1);
    this.skin = skinOf(this.yard, this.field, this, pixels, built, this.skin);
    if (!this.relief) return;
    this.cover = coverOf(this.yard, this.field, this, pixels / 2, built, this.cover);
    this.relief.setSkin(this.skin, this.cover);
  }

  /** Show stones and still water as they are told; none while they are not known. */
  async setLaid(told) {
    if (told === this.told || (!told.length && !this.laid.length)) return;
    this.told = told;
    const laid = await laidOf(told);
    if (told !== this.told || !this.relief) return;
    this.laid = laid;
    this.stand();
    this.redraw();
  }

  /** Put trees, houses and the staff on the ground as it now is. */
  stand() {
    const heightAt = (x, y) => this.heightAt(x, y);
    const { lift, base, trees, laid } = this;
    this.relief?.setSolids(bodiesOf(this.yard, this.field, { lift, base, heightAt, trees, laid }));
  }

  setMark(mark) {
    this.mark = mark;
    this.redraw();
  }

  pointAt(px, py) {
    const { high } = this.field.range();
    const sight = this.eye.sight(px, py, this.canvas.clientWidth, this.canvas.clientHeight);
    const spot = meets(sight, this.field, (x, y) => this.heightAt(x, y), -1, this.lift * (high - this.base) + 0.1);
    const mark = spot && { x: spot[0], y: spot[1] };
    this.setMark(mark);
    this.onMark(mark);
  }

  /** Draw at once what a hand turns, fully when it rests. */
  hurry() {
    this.setMoving(true);
    this.redraw();
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.setMoving(false), 200);
  }

  /** While the ground moves, a machine that draws by its processor draws fewer pixels. */
  setMoving(moving) {
    const coarse = moving && Boolean(this.relief?.byHand);
    if (coarse === this.coarse) return;
    this.coarse = coarse;
    this.resize();
  }

  resize() {
    const full = Math.min(devicePixelRatio || 1, this.relief?.byHand ? 1 : 2);
    const ratio = this.coarse ? HASTY * full : full;
    const [wide, tall] = [Math.round(this.canvas.clientWidth * ratio), Math.round(this.canvas.clientHeight * ratio)];
    if (!wide || !tall || (wide === this.canvas.width && tall === this.canvas.height)) return;
    this.canvas.width = wide;
    this.canvas.height = tall;
    this.redraw();
  }

  redraw() {
    if (this.pending) return;
    this.pending = requestAnimationFrame(() => {
      this.pending = 0;
      this.draw();
    });
  }

  /** A promise that is kept when the picture on the screen shows all that was asked for up to now. */
  async painted() {
    await this.dressed;
    this.redraw();
    return new Promise((done) => { this.waiting.push(done); });
  }

  draw() {
    const off = this.after - this.shown;
    if (Math.abs(off) > 0.01 && !calm()) {
      this.shown += off * 0.22;
      this.redraw();
    } else {
      this.shown = this.after;
    }
    if (this.relief) {
      this.relief.draw(this.eye, {
        after: this.shown, lift: this.lift, base: this.base, foot: -0.5, sun: this.sun(), tinted: Number(this.tinted),
        high: this.lift * (this.highest - this.base), hasty: this.coarse,
        leaves: Math.min(Math.max((75 - this.eye.down) / 40, 0), 1),
      });
    } else {
      shadedPlan(this.canvas, this.yard, this.field, this.shown, this.skin);
    }
    this.tag();
    for (const done of this.waiting.splice(0)) done();
  }

  /**
   * Toward the sun, which keeps its place on the screen: where it stayed on the ground, a picture turned round would be lit
   * from its foot, and the mound would read as a hollow.
   */
  sun() {
    const turn = ((this.eye.toward - this.yard.toward) * Math.PI) / 180;
    const [x, y, z] = this.yard.scenery.toSun;
    return [x * Math.cos(turn) - y * Math.sin(turn), x * Math.sin(turn) + y * Math.cos(turn), z];
  }

  /** Words over the picture; the same facts stand in the page as text, so these are hidden from readers of it. */
  tag() {
    const { units } = this.yard;
    const words = [];
    const top = this.field.top();
    if (this.after && top.depth > 0.005) {
      words.push({ key: "top", spot: [top.x, top.y, this.heightAt(top.x, top.y)], text: `${showLength(top.depth, units)} high` });
    }
    for (const tree of this.yard.trees) {
      if (!this.field.holds(...tree.at)) continue;
      const z = this.heightAt(...tree.at) + this.lift * tree.clear;
      words.push({ key: `tree ${tree.name}`, spot: [...tree.at, z], text: tree.name });
    }
    if (this.mark) {
      const { x, y } = this.mark;
      words.push({ key: "mark", spot: [x, y, this.heightAt(x, y)], text: "" });
    }
    this.place(words);
  }

  /** Put each word at its spot; one that is there already is moved, not made anew. */
  place(words) {
    const [wide, tall] = [this.canvas.clientWidth, this.canvas.clientHeight];
    const kept = new Set(words.map(({ key }) => key));
    for (const tag of [...this.tags.children]) if (!kept.has(tag.dataset.key)) tag.remove();
    for (const { key, spot, text } of words) {
      const tag = this.tagOf(key);
      const at = this.relief ? this.eye.project(spot, wide, tall) : { x: -99, y: -99, depth: 1 };
      if (tag.textContent !== text) {
        tag.textContent = text;
        tag.half = 0;
      }
      tag.hidden = isOut(at, wide, tall);
      // A tree's name moves in from the edge, so that it can be read; the other two point at a spot. Its width is asked
      // for once: every answer makes the browser lay out the whole page.
      if (key.startsWith("tree")) tag.half ||= tag.offsetWidth / 2 + 4;
      const half = Math.min(tag.half || 0, wide / 2);
      const x = Math.min(Math.max(at.x, half), wide - half);
      tag.style.transform = `translate(${x.toFixed(1)}px, ${at.y.toFixed(1)}px)`;
    }
  }

  tagOf(key) {
    const found = [...this.tags.children].find((child) => child.dataset.key === key);
    if (found) return found;
    const tag = document.createElement("span");
    tag.dataset.key = key;
    tag.className = `tag tag-${key.split(" ")[0]}`;
    this.tags.append(tag);
    return tag;
  }
}
