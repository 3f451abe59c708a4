// Where tapes meet, as terrain/survey/tapes.py and ties.py have it. Metres; a place is [east, north].

/** @typedef {[number, number]} Place */
/** @typedef {{ at: Place, residuals: number[], dilution: number }} TapeFix */

export const TIE_BOUND_FEET = 0.1; // that three tapes may disagree by
export const FLAT = 4; // a slip moves the point by this much more: tapes that cross at less than about 20 degrees
const ROUNDS = 100;
const STILL = 1e-12;
const ONE_PLACE = 1e-6;
const APART = 0.01;

const distance = (a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]);

/** By how much two tapes fail to meet; zero or less where they do. */
export function tapeGap(a, b, fromA, fromB) {
  const apart = distance(a, b);
  return Math.max(apart - fromA - fromB, Math.abs(fromA - fromB) - apart);
}

function besideLine(a, b, foot, off) {
  const apart = distance(a, b);
  const along = [(b[0] - a[0]) / apart, (b[1] - a[1]) / apart];
  const [east, north] = [a[0] + foot * along[0], a[1] + foot * along[1]];
  return [[east - off * along[1], north + off * along[0]], [east + off * along[1], north - off * along[0]]];
}

/** The places left and right of the line from a to b at two distances; null where the tapes do not meet. */
export function twoTapes(a, b, fromA, fromB) {
  const apart = distance(a, b);
  if (apart < ONE_PLACE || tapeGap(a, b, fromA, fromB) > 1e-9 * apart) return null;
  const foot = (fromA ** 2 - fromB ** 2 + apart ** 2) / (2 * apart);
  return besideLine(a, b, foot, Math.sqrt(Math.max(0, (fromA - foot) * (fromA + foot))));
}

function nearLine(a, b, fromA, fromB) {
  const apart = distance(a, b);
  if (apart < ONE_PLACE) return [];
  return besideLine(a, b, (fromA ** 2 - fromB ** 2 + apart ** 2) / (2 * apart), 0.1 * apart);
}

/** How far a place lies to the left of the line from a to b; negative to the right. */
export function sideOf(a, b, place) {
  const [east, north] = [b[0] - a[0], b[1] - a[1]];
  return (east * (place[1] - a[1]) - north * (place[0] - a[0])) / Math.hypot(east, north);
}

/** The three sums of slopes that a step and the dilution are worked from. */
function normalOf(anchors, place) {
  const slopes = anchors.map((one) => {
    const away = Math.max(distance(one, place), 1e-12);
    return [(place[0] - one[0]) / away, (place[1] - one[1]) / away];
  });
  const of = (i, j) => slopes.reduce((whole, one) => whole + one[i] * one[j], 0);
  return { slopes, xx: of(0, 0), xy: of(0, 1), yy: of(1, 1) };
}

/** @returns {TapeFix} */
function fixAt(anchors, radii, place) {
  const { xx, xy, yy } = normalOf(anchors, place);
  const least = (xx + yy) / 2 - Math.hypot((xx - yy) / 2, xy);
  return {
    at: [place[0], place[1]],
    residuals: radii.map((radius, k) => radius - distance(anchors[k], place)),
    dilution: least > 1e-12 ? 1 / Math.sqrt(least) : Infinity,
  };
}

const misfit = (anchors, radii, place) => (
  anchors.reduce((whole, one, k) => whole + (radii[k] - distance(one, place)) ** 2, 0)
);

function stepFrom(anchors, radii, place, damping) {
  const { slopes, xx, xy, yy } = normalOf(anchors, place);
  const off = radii.map((radius, k) => radius - distance(anchors[k], place));
  const right = [0, 1].map((i) => slopes.reduce((whole, one, k) => whole + one[i] * off[k], 0));
  const [a, d] = [xx + damping, yy + damping];
  const det = a * d - xy * xy;
  return [(d * right[0] - xy * right[1]) / det, (a * right[1] - xy * right[0]) / det];
}

/** The least-squares place near a start, by damped Gauss-Newton steps. */
function settledFix(anchors, radii, start) {
  let [place, damping] = [start, 1e-6];
  let best = misfit(anchors, radii, place);
  for (let round = 0; anchors.length > 2 && round < ROUNDS; round++) {
    const step = stepFrom(anchors, radii, place, damping);
    const next = [place[0] + step[0], place[1] + step[1]];
    const off = misfit(anchors, radii, next);
    if (off > best) {
      damping *= 10;
      continue;
    }
    [place, best, damping] = [next, off, Math.max(damping / 10, 1e-9)];
    if (Math.hypot(step[0], step[1]) < STILL) break;
  }
  return fixAt(anchors, radii, place);
}

/**
 * Places that least squares finds for two or more tapes, best first; none for two tapes that do not meet.
 * @param {Place[]} anchors
 * @param {number[]} radii
 * @returns {TapeFix[]}
 */
export function fixByTapes(anchors, radii) {
  const fixes = [];
  for (let i = 0; i < radii.length; i++) {
    for (let j = i + 1; j < radii.length; j++) {
      const starts = twoTapes(anchors[i], anchors[j], radii[i], radii[j]);
      if (starts === null && radii.length === 2) return [];
      for (const start of starts ?? nearLine(anchors[i], anchors[j], radii[i], radii[j])) {
        const fix = settledFix(anchors, radii, start);
        if (fixes.every((other) => distance(fix.at, other.at) > APART)) fixes.push(fix);
      }
    }
  }
  const whole = (fix) => fix.residuals.reduce((total, one) => total + one ** 2, 0);
  return fixes.sort((a, b) => whole(a) - whole(b));
}

export const worstResidual = (fix) => Math.max(...fix.residuals.map(Math.abs));

/**
 * The one place of a tied point, or why there is none: "few", "one place", "no meeting", "disagree", "side".
 * @param {Place[]} anchors
 * @param {number[]} radii
 * @param {boolean | null} left of the line from the first anchor to the second; null where nobody said
 * @param {number} bound metres that three tapes may disagree by
 * @returns {{ fix: TapeFix | null, why: string, best: TapeFix | null }}
 */
export function placeByTapes(anchors, radii, left, bound) {
  if (radii.length < 2) return { fix: null, why: "few", best: null };
  if (anchors.some((one, k) => anchors.some((other, j) => j < k && distance(one, other) < ONE_PLACE))) {
    return { fix: null, why: "one place", best: null };
  }
  const fixes = fixByTapes(anchors, radii);
  if (!fixes.length) return { fix: null, why: "no meeting", best: null };
  const fits = fixes.filter((fix) => worstResidual(fix) <= bound + 1e-9);
  if (!fits.length) return { fix: null, why: "disagree", best: fixes[0] };
  const chosen = left === null ? fits : onSide(fits, anchors, left);
  return chosen.length === 1 ? { fix: chosen[0], why: "", best: chosen[0] } : { fix: null, why: "side", best: fits[0] };
}

function onSide(fits, anchors, left) {
  const [a, b] = anchors;
  const least = fits.length > 1 ? 0 : -1e-6;
  return fits.filter((fix) => (left ? 1 : -1) * sideOf(a, b, fix.at) > least);
}
