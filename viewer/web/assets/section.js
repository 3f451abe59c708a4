// A section through the ground along a line: existing and finished grade, fill between, keep-offs crossed.

import { path, shape, words } from "./svg.js";
import { stepsBetween, tick } from "./ticks.js";
import { showLength, unitLength } from "./units.js";

const SAMPLES = 240;
const ROOM = { left: 50, right: 14, top: 60, foot: 34 };
const LEAST = 0.2; // metres; two places nearer than this are one, and no section runs between them

/**
 * @typedef {{ x: number, y: number }} Point
 * @typedef {{ start: Point, end: Point, letter?: string }} Line
 */

/**
 * Whether a section can be drawn along a line.
 * @param {Line} line
 */
export function isSection({ start, end }) { return Math.hypot(end.x - start.x, end.y - start.y) >= LEAST; }

/**
 * Heights along the line, metres.
 * @param {import("./field.js").Field} field
 * @param {Line} line
 */
export function profileOf(field, { start, end }) {
  const length = Math.hypot(end.x - start.x, end.y - start.y);
  const stations = Array.from({ length: SAMPLES + 1 }, (_, k) => (length * k) / SAMPLES);
  /** @type {(s: number) => [number, number]} */
  const at = (s) => [start.x + (s / length) * (end.x - start.x), start.y + (s / length) * (end.y - start.y)];
  const existing = stations.map((s) => field.existingAt(...at(s)));
  const finished = stations.map((s, k) => existing[k] + field.changeAt(...at(s)));
  return { length, stations, existing, finished };
}

/**
 * The stretch [from, to] in metres of the line inside a circle; null where there is none.
 * @param {Line} line
 * @param {number[]} middle
 * @param {number} radius
 */
export function inCircle({ start, end }, [x, y], radius) {
  const length = Math.hypot(end.x - start.x, end.y - start.y);
  const [dx, dy] = [(end.x - start.x) / length, (end.y - start.y) / length];
  const along = (x - start.x) * dx + (y - start.y) * dy;
  const off = Math.hypot(x - start.x, y - start.y) ** 2 - along ** 2;
  if (off >= radius ** 2) return null;
  const half = Math.sqrt(radius ** 2 - off);
  const [from, to] = [Math.max(along - half, 0), Math.min(along + half, length)];
  return to > from ? [from, to] : null;
}

/** How many times heights are drawn: a whole number that gives the relief `room` pixels, true where the paper allows. */
function stretch(profile, size, units, room) {
  const relief = Math.max(...profile.finished, ...profile.existing) - Math.min(...profile.finished, ...profile.existing);
  const wished = room / Math.max(relief * size, 1);
  return Math.min(Math.max(Math.floor(wished), 1), units === "ft" ? 6 : 5);
}

/**
 * Draw the section into an SVG and say it in a sentence. `kept` is another field to compare with, or null; `room` is
 * how many pixels the relief should get, 0 for heights as they are.
 */
export function drawSection(svg, yard, field, section, kept = null, room = 90) {
  svg.replaceChildren();
  const wide = svg.clientWidth;
  if (!wide || !section || !isSection(section)) return "";
  const { units } = yard;
  const profile = profileOf(field, section);
  const size = (wide - ROOM.left - ROOM.right) / profile.length;
  const times = stretch(profile, size, units, room);
  const all = [...profile.existing, ...profile.finished];
  const [low, high] = [Math.min(...all) - 0.3 / times, Math.max(...all)];
  const tall = ROOM.top + (high - low) * size * times + ROOM.foot;
  svg.setAttribute("viewBox", `0 0 ${wide} ${tall.toFixed(0)}`);
  svg.setAttribute("height", tall.toFixed(0));
  const at = (s, z) => [ROOM.left + s * size, tall - ROOM.foot - (z - low) * size * times];
  const line = (values) => profile.stations.map((s, k) => at(s, values[k]));
  const [existing, finished] = [line(profile.existing), line(profile.finished)];
  const base = [at(profile.length, low), at(0, low)];
  shape("path", { d: path([...existing, ...base], true), class: "earth" }, svg);
  words(times === 1 ? "true scale" : `heights ×${times}`, [ROOM.left, 19], "axis", svg, "start");
  drawAxes(svg, yard, { profile, low, high, at, tall, wide });
  const fill = path([...finished, ...[...existing].reverse()], true);
  shape("path", { d: fill, class: "between" }, svg);
  hatch(svg);
  shape("path", { d: fill, class: "between-hatch" }, svg);
  for (const tree of yard.trees) drawKeepOff(svg, section, tree, { at, low, high });
  shape("path", { d: path(existing), class: "existing strong" }, svg);
  if (kept) shape("path", { d: path(line(profileOf(kept, section).finished)), class: "kept" }, svg);
  shape("path", { d: path(finished), class: "proposed strong" }, svg);
  return callTop(svg, yard, profile, { at, wide, section, times });
}

/** Slanting strokes, so that fill is told from earth without its colour. */
function hatch(svg) {
  const size = { id: "hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(30)" };
  shape("path", { d: "M0 0V7", class: "hatch-stroke" }, shape("pattern", size, shape("defs", {}, svg)));
}

function drawAxes(svg, yard, { profile, low, high, at, tall, wide }) {
  const unit = unitLength(yard.units);
  const step = tick((high - low) / unit, 3);
  const [bottom, top] = [low, high].map((z) => (z + yard.origin[2]) / unit);
  for (const n of stepsBetween(bottom, top, step, true)) {
    const y = at(0, n * step * unit - yard.origin[2])[1];
    shape("path", { d: `M${ROOM.left} ${y.toFixed(1)}H${wide - ROOM.right}`, class: "rule" }, svg);
    words(String(Number((n * step).toFixed(2))), [ROOM.left - 8, y + 5], "axis", svg, "end");
  }
  const along = tick(profile.length / unit, Math.max(Math.floor(wide / 90), 2));
  for (const n of stepsBetween(0, profile.length / unit, along, true)) {
    const s = n * along;
    const [x] = at(s * unit, low);
    shape("path", { d: `M${x.toFixed(1)} ${(tall - ROOM.foot).toFixed(1)}v6`, class: "axis-line" }, svg);
    words(s ? String(Number(s.toFixed(2))) : `0 ${yard.units}`, [x, tall - ROOM.foot + 22], "axis", svg);
  }
}

function drawKeepOff(svg, section, tree, { at, low, high }) {
  const stretchOf = inCircle(section, tree.at, tree.keep_off);
  if (!stretchOf) return;
  const [from, to] = stretchOf.map((s) => at(s, low)[0]);
  const [foot, top] = [at(0, low)[1], at(0, high)[1] - 8];
  shape("path", { d: `M${from} ${foot}V${top}H${to}V${foot}`, class: "keep-off-edge" }, svg);
  words(`keep-off, ${tree.name}`, [Math.min((from + to) / 2, at(0, 0)[0] + svg.clientWidth - 130), top - 5], "keep-off-name", svg);
}

/** The highest fill, called out, and the section in one sentence. */
function callTop(svg, yard, profile, { at, wide, section, times }) {
  const { units, origin } = yard;
  let best = 0;
  const depth = (k) => profile.finished[k] - profile.existing[k];
  for (let k = 1; k <= SAMPLES; k++) if (depth(k) > depth(best)) best = k;
  const drawn = times === 1 ? "True scale." : `Heights drawn ${times} times.`;
  const length = showLength(profile.length, units, "distance");
  const name = `Section ${section.letter}–${section.letter}′, ${length} long`;
  if (depth(best) < 0.003) return `${name}: no fill on this line. ${drawn}`;
  const [x, y] = at(profile.stations[best], profile.finished[best]);
  const level = showLength(profile.finished[best] + origin[2], units, "elevation");
  shape("path", { d: `M${x} ${y}V${y - 14}`, class: "leader" }, svg);
  shape("circle", { cx: x, cy: y, r: 3, class: "spot" }, svg);
  const text = `${level}, ${showLength(depth(best), units)} of fill`;
  const half = 4.6 * text.length;
  words(text, [Math.min(Math.max(x, half), wide - half), y - 20], "call", svg);
  const spot = showLength(profile.stations[best], units, "distance");
  return `${name}: deepest fill ${showLength(depth(best), units)}, ${spot} from ${section.letter}. ${drawn}`;
}
