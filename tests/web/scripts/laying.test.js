// A picture under the plan: judged by its first bytes, and laid by what is taped in it.

import assert from "node:assert/strict";
import { test } from "node:test";

import { MOST_BYTES, MOST_PIXELS, firstLay, laidAt, pictureSize, refusedPicture, shrunk, tapedLay } from "../../../viewer/web/assets/laying.js";
import { partsOf } from "../../../viewer/web/assets/yardforms.js";

/** Signature and head of a PNG (W3C PNG specification, 11.2.2): width and height as four bytes each. */
function png(wide, high) {
  const four = (value) => [24, 16, 8, 0].map((by) => (value >>> by) & 255);
  return Uint8Array.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 13, 73, 72, 68, 82, ...four(wide), ...four(high)]);
}

/** Start, a mark of the camera, tables, and the head of a frame (ITU T.81, B.2.2): height before width. */
function jpeg(wide, high, frame = 0xc0) {
  const two = (value) => [value >> 8, value & 255];
  const camera = [0xff, 0xe1, ...two(302), ...new Array(300).fill(0xff)];
  const tables = [0xff, 0xc4, ...two(4), 9, 9];
  return Uint8Array.from([0xff, 0xd8, ...camera, ...tables, 0xff, frame, ...two(17), 8, ...two(high), ...two(wide), 3, 0, 0, 0]);
}

test("a picture's size is read from its head", () => {
  assert.deepEqual(pictureSize(png(1200, 900)), { wide: 1200, high: 900 });
  assert.deepEqual(pictureSize(png(70000, 3)), { wide: 70000, high: 3 });
  for (const frame of [0xc0, 0xc1, 0xc2]) assert.deepEqual(pictureSize(jpeg(4032, 3024, frame)), { wide: 4032, high: 3024 });
});

test("what is no picture, or too much of one, is refused in words before it is unpacked", () => {
  assert.equal(refusedPicture(1e6, png(4000, 3000)), "");
  assert.equal(refusedPicture(MOST_BYTES, jpeg(MOST_PIXELS / 5000, 5000)), "");
  assert.match(refusedPicture(MOST_BYTES + 1e6, png(10, 10)), /has 41 MB. Accepted: 40 MB at most/);
  assert.match(refusedPicture(900, png(30000, 30000)), /has 900 megapixels. Accepted: 50 at most/);
  assert.match(refusedPicture(900, jpeg(65535, 65535)), /megapixels/);
  for (const bytes of [[], [0x89, 0x50], [..."GIF89a"].map((one) => one.charCodeAt(0)), [0xff, 0xd8], [0xff, 0xd8, 0xff, 0xe1, 0, 0, 1, 2, 3, 4, 5, 6]]) {
    assert.match(refusedPicture(900, Uint8Array.from(bytes)), /no picture that can be read/);
  }
  assert.match(refusedPicture(900, png(0, 10)), /no picture/);
  assert.match(refusedPicture(900, png(10, 0)), /no picture/);
});

test("any bytes at all end in a size or in none", () => {
  let seed = 1;
  const random = () => { seed = (seed * 16807) % 2147483647; return seed; };
  for (let k = 0; k < 2000; k++) {
    const bytes = Uint8Array.from({ length: random() % 400 }, () => (random() % 3 ? 0xff : random() % 256));
    bytes.set([0xff, 0xd8].slice(0, bytes.length));
    assert.equal(typeof refusedPicture(bytes.length, bytes), "string");
  }
});

const near = (a, b, off = 1e-9) => a.forEach((one, k) => assert.ok(Math.abs(one - b[k]) < off, `${a} is not ${b}`));

test("what is taped becomes the line along, from 0 on, wherever it lies in the picture", () => {
  for (const [p, q] of [[[200, -700], [900, -600]], [[5, -5], [5, -900]], [[900, -600], [200, -700]], [[0, 0], [1, 0]]]) {
    const first = firstLay(1200, 900, [4, 2], 20);
    near(laidAt(first, [600, -450]), [4, 2]);
    const lay = tapedLay(first, laidAt(first, p), laidAt(first, q), 7.9248);
    near(laidAt(lay, p), [0, 0]);
    near(laidAt(lay, q), [7.9248, 0]);
    // All else keeps its shape: a third point makes the same triangle, on the same side.
    const third = [640, -333];
    const [apart, across] = [Math.hypot(q[0] - p[0], q[1] - p[1]), (q[0] - p[0]) * (third[1] - p[1]) - (q[1] - p[1]) * (third[0] - p[0])];
    near([laidAt(lay, third)[1]], [((across / apart) * 7.9248) / apart]);
    // Taped once more, between other points, it lies anew.
    const again = tapedLay(lay, laidAt(lay, q), laidAt(lay, third), 3);
    near(laidAt(again, q), [0, 0]);
    near(laidAt(again, third), [3, 0]);
  }
});

test("nothing is laid by one place, or by no length", () => {
  const lay = firstLay(10, 10, [0, 0], 5);
  for (const metres of [0, -1, NaN]) assert.equal(tapedLay(lay, [0, 0], [1, 1], metres), null);
  assert.equal(tapedLay(lay, [3, 4], [3, 4], 2), null);
});

test("a large picture is kept smaller, a small one as it is", () => {
  assert.equal(shrunk(4800, 100), 0.5);
  assert.equal(shrunk(100, 2400), 1);
  assert.equal(shrunk(10, 10), 1);
});

test("a row falls into its figures between commas, or blanks where there are none", () => {
  assert.deepEqual(partsOf("4, 6, 14 1/2"), ["4", "6", "14 1/2"]);
  assert.deepEqual(partsOf("4 6 4.32"), ["4", "6", "4.32"]);
  assert.deepEqual(partsOf("bur oak, 57, A 18, B 21, near"), ["bur oak", "57", "A 18", "B 21", "near"]);
});
