// What the pages compute from the heights they are given: units, level lines, sections, readings, changes of a wish.

import assert from "node:assert/strict";
import { test } from "node:test";

import { levelLines, thinned } from "../../../viewer/web/assets/contours.js";
import { builtField, crewReading } from "../../../viewer/web/assets/crewview.js";
import { Field, decoded } from "../../../viewer/web/assets/field.js";
import { reading } from "../../../viewer/web/assets/plan.js";
import { inCircle, profileOf } from "../../../viewer/web/assets/section.js";
import { showLength, showSlope, spotDepth } from "../../../viewer/web/assets/units.js";
import {
  ringOf, withCorner, withCornerAt, withCrestAt, withCrestPoint, withHeight, withStreamAt, withoutCorner,
  withoutCrestPoint,
} from "../../../viewer/web/assets/wishes.js";

const near = (a, b, off = 1e-9) => assert.ok(Math.abs(a - b) <= off, `${a} is not ${b}`);

/** A plane z = 10 + 0.1 x + 0.05 y, and a cone of fill in its middle. */
function yard() {
  const grid = { x0: 1, y0: 2, cell: 0.5, nx: 41, ny: 31 };
  const count = grid.nx * grid.ny;
  const at = (k) => [grid.x0 + (k % grid.nx) * grid.cell, grid.y0 + Math.floor(k / grid.nx) * grid.cell];
  const existing = Float64Array.from({ length: count }, (_, k) => 10 + 0.1 * at(k)[0] + 0.05 * at(k)[1]);
  const change = Float64Array.from({ length: count }, (_, k) => Math.max(1 - Math.hypot(at(k)[0] - 11, at(k)[1] - 9.5) / 4, 0));
  return new Field(grid, existing, change);
}

test("lengths in the words of a crew", () => {
  assert.equal(showLength(0.6096, "ft"), "24 in");
  assert.equal(showLength(0.0254 * 13.75, "ft"), "13 3/4 in");
  assert.equal(showLength(0.3048 * 7.5, "ft", "distance"), "7 ft 6 in");
  assert.equal(showLength(0.3048 * 101.854, "ft", "elevation"), "101.85 ft");
  assert.equal(showLength(0.255, "m"), "25.5 cm");
  assert.equal(showLength(7.005, "m", "distance"), "7.00 m");
  assert.equal(showLength(-1e-12, "m"), "0 cm");
  assert.equal(showSlope(0.25), "4.0:1 (25 %)");
  assert.equal(showSlope(0), "level");
  assert.equal(spotDepth(0.3048, "ft"), "12");
  assert.equal(spotDepth(0.3048, "m"), "30");
});

test("a plane is read exactly everywhere, and its rim beyond it", () => {
  const field = yard();
  for (const [x, y] of [[1, 2], [3.3, 4.7], [20.999, 16.9], [21, 17], [7.77, 2]]) near(field.existingAt(x, y), 10 + 0.1 * x + 0.05 * y);
  near(field.existingAt(-50, 2), field.existingAt(1, 2));
  assert.equal(field.holds(21, 17), true);
  assert.equal(field.holds(21.001, 17), false);
  const top = field.top();
  assert.deepEqual([top.x, top.y, top.depth], [11, 9.5, 1]);
  assert.equal(field.dug(), null);
});

test("codes come back as metres", () => {
  assert.deepEqual([...decoded({ low: -0.5, step: 0.25 }, Uint16Array.from([0, 2, 6]))], [-0.5, 0, 1]);
});

test("a level line of a cone is a circle that closes", () => {
  const field = yard();
  for (const level of [0.1, 0.5, 0.9]) {
    const [line, ...more] = levelLines(field.change, field.nx, field.ny, level);
    assert.equal(more.length, 0);
    assert.deepEqual(line[0], line.at(-1));
    for (const [i, j] of line) near(Math.hypot(i * 0.5 - 10, j * 0.5 - 7.5), 4 * (1 - level), 0.08);
  }
  assert.deepEqual(levelLines(field.change, field.nx, field.ny, 2), []);
});

test("level lines of any numbers end, and cross every edge once that they cross", () => {
  let seed = 7;
  const draw = () => { seed = (seed * 16807) % 2147483647; return seed / 2147483647 - 0.5; };
  for (let round = 0; round < 60; round++) {
    const [nx, ny] = [2 + (round % 9), 2 + (round % 7)];
    const values = Array.from({ length: nx * ny }, draw);
    const lines = levelLines(values, nx, ny, 0);
    let crossed = 0;
    values.forEach((value, k) => {
      if (k % nx < nx - 1 && value > 0 !== values[k + 1] > 0) crossed++;
      if (k + nx < values.length && value > 0 !== values[k + nx] > 0) crossed++;
    });
    const spots = new Set(lines.flat().map(([i, j]) => `${i.toFixed(9)} ${j.toFixed(9)}`));
    assert.equal(spots.size, crossed);
  }
  assert.deepEqual(levelLines([NaN, NaN, NaN, NaN], 2, 2, 0), []);
});

test("a line is thinned to within its bound and keeps its ends", () => {
  const line = Array.from({ length: 100 }, (_, k) => [k, Math.sin(k / 9)]);
  const kept = thinned(line, 0.05);
  assert.ok(kept.length < 40);
  assert.deepEqual([kept[0], kept.at(-1)], [line[0], line.at(-1)]);
  assert.deepEqual(thinned([[0, 0], [0, 0], [0, 0], [0, 0], [0, 0]], 0.1).length >= 2, true);
});

test("a section reads the ground along its line", () => {
  const field = yard();
  const { length, stations, existing, finished } = profileOf(field, { start: { x: 5, y: 9.5 }, end: { x: 17, y: 9.5 } });
  assert.equal(length, 12);
  assert.deepEqual([stations[0], stations.at(-1)], [0, 12]);
  stations.forEach((s, k) => near(existing[k], 10 + 0.1 * (5 + s) + 0.05 * 9.5, 1e-6));
  near(Math.max(...finished.map((z, k) => z - existing[k])), 1, 1e-6);
});

test("a circle cuts the stretch of a line that lies in it", () => {
  const line = { start: { x: 0, y: 0 }, end: { x: 10, y: 0 } };
  inCircle(line, [5, 3], 5).forEach((s, k) => near(s, [1, 9][k]));
  inCircle(line, [0, 0], 2).forEach((s, k) => near(s, [0, 2][k]));
  assert.equal(inCircle(line, [5, 3], 2.99), null);
  assert.equal(inCircle(line, [-9, 0], 2), null);
});

test("a place is read in one sentence", () => {
  const told = reading({ units: "ft", origin: [0, 0, 20] }, yard(), { x: 11, y: 9.5 }, 1);
  // By hand: 20 + 10 + 1.1 + 0.475 = 31.575 m of ground, a metre of fill on it; a foot is 0.3048 m.
  assert.equal(told, "Fill 39 1/4 in; finished 106.87 ft, ground 103.59 ft.");
  assert.match(reading({ units: "m", origin: [0, 0, 20] }, yard(), { x: 1, y: 2 }, 1), /^No fill here; ground 30\.200 m\.$/);
  assert.equal(reading({ units: "m", origin: [0, 0, 0] }, yard(), null, 1), "");
});

test("a crew reads the grade of day one, and a stake's own figures", () => {
  const built = builtField(yard(), 1.08);
  near(built.changeAt(11, 9.5), 1.08 * yard().changeAt(11, 9.5), 1e-6);
  const crew = { benchmark: { name: "shot 3", elevation: 31 } };
  const told = crewReading({ units: "m", origin: [0, 0, 20], crew }, built, { x: 11, y: 9.5 }, null);
  // By hand: 31.575 m of ground and 1.08 m of soil on it.
  assert.equal(told, "Day one: build 108 cm; grade 32.655 m, ground 31.575 m. That is 165.5 cm over shot 3.");
  const stake = { name: "S4", what: "foot", existing: 30, day_one: 30 };
  assert.equal(
    crewReading({ units: "ft", origin: [0, 0, 20], crew: { benchmark: null } }, built, { x: 1, y: 1 }, stake),
    "Stake S4 (foot): build nothing; grade 98.43 ft, ground 98.43 ft.",
  );
});

const wish = {
  outline: [[[0, 0], [4, 0], [4, 4], [0, 4]], [[1, 1], [1, 2], [2, 2]]],
  crest: [[1, 3, 0.3], [3, 3, 0.5]], max_slope: 0.25, toe: null, gentle_side: null, soil: null,
};

test("a change gives a new wish and leaves the old one as it was", () => {
  const before = JSON.stringify(wish);
  assert.deepEqual(withCrestAt(wish, 1, [9, 9]).crest, [[1, 3, 0.3], [9, 9, 0.5]]);
  const streams = [[[1, 1], [2, 1]], [[3, 3], [3, 2], [3, 1]]];
  assert.deepEqual(withStreamAt({ ...wish, streams }, 3, [9, 9]).streams, [streams[0], [[3, 3], [9, 9], [3, 1]]]);
  assert.deepEqual(withHeight(wish, 0, 0.7).crest[0], [1, 3, 0.7]);
  assert.deepEqual(withCrestPoint(wish, [2, 3], 0.4), { wish: { ...wish, crest: [[1, 3, 0.3], [2, 3, 0.4], [3, 3, 0.5]] }, index: 1 });
  assert.equal(withCrestPoint(wish, [0, 3], 0.4).index, 0);
  assert.equal(withCrestPoint(wish, [9, 3], 0.4).index, 2);
  assert.deepEqual(withoutCrestPoint(wish, 0).crest, [[3, 3, 0.5]]);
  assert.deepEqual(withCornerAt(wish, 2, [5, 5]).outline[0], [[0, 0], [4, 0], [5, 5], [0, 4]]);
  assert.deepEqual(withCornerAt(wish, 5, [1, 2.5]).outline[1], [[1, 1], [1, 2.5], [2, 2]]);
  assert.deepEqual(withCorner(wish, [2, -0.1]), { wish: { ...wish, outline: [[[0, 0], [2, -0.1], [4, 0], [4, 4], [0, 4]], wish.outline[1]] }, index: 1 });
  assert.deepEqual(withoutCorner(wish, 0).outline[0].length, 3);
  assert.equal(withoutCorner(wish, 4), wish, "a ring keeps three corners");
  assert.deepEqual(ringOf(wish.outline, 6), [1, 2]);
  assert.throws(() => ringOf(wish.outline, 7), RangeError);
  assert.equal(JSON.stringify(wish), before);
});

test("neighbours come along with a corner, the nearer the more, and none where all stand in one place", () => {
  const [ring] = withCornerAt(wish, 0, [-1, 0], 6).outline;
  near(ring[0][0], -1);
  assert.ok(ring[1][0] < 4 && ring[1][0] > 3 && ring[3][0] < 0 && ring[3][0] > -1);
  assert.deepEqual(ring[2], [4, 4]);
  const point = { ...wish, outline: [[[1, 1], [1, 1], [1, 1]]] };
  assert.deepEqual(withCornerAt(point, 0, [2, 2], 0).outline[0], [[2, 2], [1, 1], [1, 1]]);
});
