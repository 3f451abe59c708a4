// Lengths as a crew reads them; the same words as terrain/units.py, which a test holds them to.

import { FOOT, INCH } from "./measures.js";

/** @typedef {"ft" | "m"} Units */

// Python rounds halves to the even neighbour.
function rounded(value) {
  const low = Math.floor(value);
  if (value - low !== 0.5) return Math.round(value);
  return low % 2 === 0 ? low : low + 1;
}

// toFixed takes exact halves up; a number's own digits end long before the sixtieth place.
function fixed(value, places) {
  const half = /^5?0*$/.test(value.toFixed(60).split(".")[1].slice(places)) && Math.abs(value) < 1e20;
  const text = (half ? rounded(value * 10 ** places) / 10 ** places : value).toFixed(places);
  return Number(text) === 0 ? text.replace("-", "") : text;
}

function inches(value, parts) {
  const count = rounded(Math.abs(value) * parts);
  const whole = Math.floor(count / parts);
  let top = count % parts;
  let bottom = parts;
  while (top && top % 2 === 0) { top /= 2; bottom /= 2; }
  const words = [];
  if (whole || !top) words.push(String(whole));
  if (top) words.push(`${top}/${bottom}`);
  return `${value < 0 && count ? "-" : ""}${words.join(" ")} in`;
}

function feetInches(value) {
  const halves = rounded(Math.abs(value) * 2);
  const feet = Math.floor(halves / 24);
  const rest = halves % 24;
  const words = [];
  if (feet || !rest) words.push(`${feet} ft`);
  if (rest) words.push(inches(rest / 2, 2));
  return (value < 0 && halves ? "-" : "") + words.join(" ");
}

/**
 * Metres in the unit of length.
 * @param {Units} units
 */
export function unitLength(units) { return units === "ft" ? FOOT : 1; }

/**
 * A length in words.
 * @param {number} metres
 * @param {Units} units
 * @param {"depth" | "distance" | "elevation"} kind
 */
export function showLength(metres, units, kind = "depth") {
  if (kind === "elevation") return `${fixed(metres / unitLength(units), units === "ft" ? 2 : 3)} ${units}`;
  if (units === "m") {
    if (kind === "distance") return `${fixed(metres, 2)} m`;
    return `${fixed(rounded(200 * metres) / 2, 1).replace(/\.0$/, "")} cm`;
  }
  return kind === "depth" ? inches(metres / INCH, 4) : feetInches(metres / INCH);
}

/** @param {number} riseRun */
export function showSlope(riseRun) {
  const slope = Math.abs(riseRun);
  if (slope < 0.0005) return "level";
  return `${(1 / slope).toFixed(1)}:1 (${(100 * slope).toFixed(1).replace(/\.0$/, "")} %)`;
}

/**
 * The number alone that stands beside a spot on a plan: whole inches or centimetres.
 * @param {number} metres
 * @param {Units} units
 */
export function spotDepth(metres, units) {
  return String(Math.round(metres / (units === "ft" ? INCH : 0.01)));
}
