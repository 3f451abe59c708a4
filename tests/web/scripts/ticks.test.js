// No loop of the pages may run on for ever, whatever length it is given.

import assert from "node:assert/strict";
import { test } from "node:test";

import { isSection } from "../../../viewer/web/assets/section.js";
import { stepsBetween, tick } from "../../../viewer/web/assets/ticks.js";

const ODD = [0, -0, 1e-320, 1e-300, 1e-12, 0.1, 1, 7.3, 1e6, 1e300, Infinity, -Infinity, NaN, -1, -1e-9, undefined];

test("every length and every step ends in a bounded number of steps", () => {
  for (const low of ODD) {
    for (const high of ODD) {
      for (const step of ODD) {
        const steps = stepsBetween(low, high, step);
        assert.ok(steps.length <= 2000, `${low} to ${high} by ${step}`);
        assert.ok(steps.every((n) => Number.isFinite(n) && n * step <= high + 1e-6 * Math.abs(step)));
      }
    }
  }
});

test("steps are the whole multiples between two ends", () => {
  assert.deepEqual(stepsBetween(0.5, 3.2, 1), [1, 2, 3]);
  assert.deepEqual(stepsBetween(-0.25, 0.25, 0.1), [-2, -1, 0, 1, 2]);
  assert.deepEqual(stepsBetween(0, 3, 1), [0, 1, 2]);
  assert.deepEqual(stepsBetween(0, 3, 1, true), [0, 1, 2, 3]);
  assert.deepEqual(stepsBetween(0, 0.3, 0.1, true), [0, 1, 2, 3], "0.3 / 0.1 is a little under 3");
  assert.deepEqual(stepsBetween(5, 4, 1), []);
});

test("a tick is round, and parts any span into few steps", () => {
  for (const span of ODD) {
    for (const most of [1, 2, 3, 7, 20]) {
      const step = tick(span, most);
      if (!(span > 0) || !Number.isFinite(span / most) || span / most === 0) {
        assert.equal(step, 0, `span ${span}`);
        continue;
      }
      const digit = step / 10 ** Math.floor(Math.log10(step) + 1e-9);
      if (step > 1e-300) assert.ok([1, 2, 5].some((n) => Math.abs(digit - n) < 1e-6), `${span} by ${most}: ${step}`);
      assert.ok(stepsBetween(0, span, step).length <= most + 1);
    }
  }
});

test("a line of no length is no section", () => {
  const at = { x: 3, y: 4 };
  assert.equal(isSection({ start: at, end: at }), false);
  assert.equal(isSection({ start: at, end: { x: 3.0001, y: 4 } }), false);
  assert.equal(isSection({ start: at, end: { x: NaN, y: 4 } }), false);
  assert.equal(isSection({ start: at, end: { x: 3, y: 5 } }), true);
});
