// Even steps along a length. Every loop of the pages that walks a length asks here, so that none can run on for ever:
// a length or a step of 0, of no number or without end gives no steps.

const MOST = 2000; // steps that anybody could tell apart on a screen

/**
 * A round number (1, 2 or 5 times a power of ten) that parts a span into at most `most` steps; 0 where there is none.
 * @param {number} span
 * @param {number} most
 */
export function tick(span, most) {
  const least = span / most;
  if (!(least > 0) || !Number.isFinite(least)) return 0;
  const decade = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((n) => n * decade).find((n) => n >= least - 1e-9 * decade) ?? 0;
}

/**
 * Whole numbers n with low <= n * step < high; `inclusive` takes in the upper end.
 * @param {number} low
 * @param {number} high
 * @param {number} step
 * @returns {number[]}
 */
export function stepsBetween(low, high, step, inclusive = false) {
  const [first, last] = [Math.ceil(low / step - 1e-9), Math.floor(high / step + 1e-9)];
  const count = last - first + 1;
  if (!(step > 0) || !(count > 0) || count > MOST) return [];
  const steps = Array.from({ length: count }, (_, k) => first + k);
  return inclusive || last * step < high ? steps : steps.slice(0, -1);
}
