// What a rod reading says at a stake and at a shot, and how measures are read as they are typed. Metres inside.

import { INCH } from "./measures.js";
import { showLength, unitLength } from "./units.js";

/** @typedef {"ft" | "m"} Units */

const LEAST = { ft: INCH / 8, m: 0.0025 }; // nearer than this is on grade: less than the step of a rule
const NUMBER = /^(?:(\d+)[ -](\d+)\/(\d+)|(\d+)\/(\d+)|(\d+\.?\d*|\.\d+))$/;
const VULGAR = { "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8" };
const UNITS_TYPED = [
  [/^(?:ft\.?|foot|feet|pies?|pieds?|pi|'|′|’)$/, "ft", 12], [/^(?:in\.?|inch|inches|pulg\.?|pulgadas?|po|pouces?|"|″|”|'')$/, "in", 1],
  [/^m$/, "m", 0], [/^cm$/, "cm", 0], [/^mm$/, "mm", 0],
];

function numberOf(text) {
  const found = NUMBER.exec(text);
  if (!found) return NaN;
  const [, whole, top, bottom, first, second, plain] = found;
  if (plain !== undefined) return Number(plain);
  return first !== undefined ? Number(first) / Number(second) : Number(whole) + Number(top) / Number(bottom);
}

const METRES = { ft: () => unitLength("ft"), in: () => INCH, m: () => 1, cm: () => 0.01, mm: () => 0.001 };

/**
 * A length in metres as somebody types it: "4.62", "4,62", "31 ft 6 1/2 in", "45 cm"; NaN where it is none.
 * @param {string} typed
 * @param {Units} units of a bare number
 */
export function typedLength(typed, units) {
  let text = typed.trim().toLowerCase().replace(/(\d),(\d)/g, "$1.$2");
  for (const [sign, plain] of Object.entries(VULGAR)) text = text.replaceAll(sign, plain);
  text = text.split(/\s+/).filter(Boolean).join(" ");
  const sign = text.startsWith("-") ? -1 : 1;
  text = text.replace(/^[-+]\s*/, "");
  if (/^(?:\d+\.?\d*|\.\d+)$/.test(text)) return sign * Number(text) * unitLength(units);
  return sign * sumOfTerms(text);
}

function sumOfTerms(text) {
  const terms = [...text.matchAll(/(\d+[ -]\d+\/\d+|\d+\/\d+|\d+\.?\d*|\.\d+)[ -]?([^\d\s.-]+\.?)\s*/g)];
  if (!terms.length || terms.map((one) => one[0]).join("") !== text) return NaN;
  let [whole, last] = [0, Infinity];
  for (const [, number, unit] of terms) {
    const named = UNITS_TYPED.find(([pattern]) => /** @type {RegExp} */ (pattern).test(unit));
    if (!named) return NaN;
    const size = METRES[/** @type {string} */ (named[1])]();
    if (size >= last) return NaN;
    whole += numberOf(number) * size;
    last = size;
  }
  return whole;
}

/**
 * What to do at a mark: how far the rod's foot is under it. Fill is positive, cut negative.
 * @param {number} instrument height of instrument, metres
 * @param {number} rod reading, metres
 * @param {number} grade elevation of the mark, metres
 */
export const toBuild = (instrument, rod, grade) => grade - (instrument - rod);

/** "fill", "cut" or "none" of a depth, and how much in words. @param {Units} units */
export function buildWords(depth, units) {
  if (Math.abs(depth) < LEAST[units]) return { kind: "none", much: "" };
  return { kind: depth > 0 ? "fill" : "cut", much: showLength(Math.abs(depth), units) };
}

/** How a built shot stands to its mark: "within", "low" or "high", and by how much. @param {Units} units */
export function builtWords(off, tolerance, units) {
  const kind = Math.abs(off) <= tolerance + 1e-9 ? "within" : off < 0 ? "low" : "high";
  return { kind, much: showLength(Math.abs(off), units) };
}
