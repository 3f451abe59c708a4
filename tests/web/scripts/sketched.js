// Sketches points as the phone's page does, for a Python test: yards from the input, what is drawn to the output.

import { readFileSync } from "node:fs";

import { sketched } from "../../../viewer/web/assets/sketch.js";

// As wide as the widest of common bold letters: a name is drawn no wider.
const wide = (text, size) => 0.8 * size * text.length;
const yards = JSON.parse(readFileSync(0, "utf8"));
process.stdout.write(JSON.stringify(yards.map((known) => {
  const { high, size, corner, points } = sketched(known, wide, true);
  return { high, size, corner, points: points.map((one) => ({ ...one, wide: wide(one.name, size) })) };
})));
