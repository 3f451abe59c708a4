// Changes of a wish: each gives a new wish and leaves the old one as it was.

/**
 * A berm that is wished for, metres: rings of corners, high points with their heights, and the rest as in a site file.
 * @typedef {[number, number]} Place
 * @typedef {[number, number, number]} HighPoint
 * @typedef {{ outline: Place[][], crest: HighPoint[], max_slope: number, toe: number | null,
 *   gentle_side: string | null, soil: number | null, streams: Place[][] }} Wish
 */

/**
 * A copy with `count` items from `at` on replaced.
 * @template Item
 * @param {Item[]} list
 * @param {number} at
 * @param {number} count
 * @param {Item[]} items
 */
function spliced(list, at, count, ...items) {
  return [...list.slice(0, at), ...items, ...list.slice(at + count)];
}

/**
 * @param {Wish} wish
 * @param {number} ring
 * @param {Place[]} points
 */
function withRing(wish, ring, points) { return wish.outline.map((one, k) => (k === ring ? points : one)); }

/**
 * Move a high point.
 * @param {Wish} wish
 * @param {number} index
 * @param {Place} place
 * @returns {Wish}
 */
export function withCrestAt(wish, index, [x, y]) {
  return { ...wish, crest: wish.crest.map((point, k) => (k === index ? [x, y, point[2]] : point)) };
}

/**
 * Set the height of a high point, metres.
 * @param {Wish} wish
 * @param {number} index
 * @param {number} height
 * @returns {Wish}
 */
export function withHeight(wish, index, height) {
  return { ...wish, crest: wish.crest.map((point, k) => (k === index ? [point[0], point[1], height] : point)) };
}

/**
 * Move a point of a stream; it counts through all streams.
 * @param {Wish} wish
 * @param {number} index
 * @param {Place} place
 * @returns {Wish}
 */
export function withStreamAt(wish, index, [x, y]) {
  const [line, at] = ringOf(wish.streams, index);
  return { ...wish, streams: wish.streams.map((one, k) => (k === line ? spliced(one, at, 1, [x, y]) : one)) };
}

/**
 * Put a high point into the crest line where it lengthens it least.
 * @param {Wish} wish
 * @param {Place} place
 * @param {number} height
 * @returns {{ wish: Wish, index: number }}
 */
export function withCrestPoint(wish, [x, y], height) {
  const far = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const { crest } = wish;
  /** @type {HighPoint} */
  const added = [x, y, height];
  let best = { at: crest.length, cost: far(crest.at(-1), added) };
  if (far(crest[0], added) < best.cost) best = { at: 0, cost: far(crest[0], added) };
  for (let k = 1; k < crest.length; k++) {
    const cost = far(crest[k - 1], added) + far(added, crest[k]) - far(crest[k - 1], crest[k]);
    if (cost < best.cost) best = { at: k, cost };
  }
  return { wish: { ...wish, crest: spliced(crest, best.at, 0, added) }, index: best.at };
}

/**
 * @param {Wish} wish
 * @param {number} index
 * @returns {Wish}
 */
export function withoutCrestPoint(wish, index) {
  return { ...wish, crest: spliced(wish.crest, index, 1) };
}

/**
 * Ring and place in it of a corner that counts through all rings.
 * @param {Place[][]} outline
 * @param {number} index
 * @returns {[number, number]}
 */
export function ringOf(outline, index) {
  let rest = index;
  for (let ring = 0; ring < outline.length; ring++) {
    if (rest < outline[ring].length) return [ring, rest];
    rest -= outline[ring].length;
  }
  throw new RangeError(`no corner ${index}`);
}

/**
 * Move a corner; within `reach` metres along the edge its neighbours come along, the nearer the more.
 * @param {Wish} wish
 * @param {number} index
 * @param {Place} place
 * @returns {Wish}
 */
export function withCornerAt(wish, index, [x, y], reach = 0) {
  const [ring, at] = ringOf(wish.outline, index);
  const points = wish.outline[ring];
  const shift = [x - points[at][0], y - points[at][1]];
  const share = shares(points, at, reach);
  /** @type {Place[]} */
  const moved = points.map((point, k) => (k === at ? [x, y] : [point[0] + share[k] * shift[0], point[1] + share[k] * shift[1]]));
  return { ...wish, outline: withRing(wish, ring, moved) };
}

/**
 * How far each corner comes along: 1 at the one that is held, 0 from `reach` metres away along the edge.
 * @param {Place[]} points
 * @param {number} at
 * @param {number} reach
 */
function shares(points, at, reach) {
  const n = points.length;
  const share = points.map(() => 0);
  for (const way of [1, -1]) {
    let walked = 0;
    for (let step = 1; step < n; step++) {
      const [here, before] = [(at + n * n + way * step) % n, (at + n * n + way * (step - 1)) % n];
      walked += Math.hypot(points[here][0] - points[before][0], points[here][1] - points[before][1]);
      if (walked >= reach) break;
      share[here] = Math.max(share[here], 0.5 + 0.5 * Math.cos((Math.PI * walked) / reach));
    }
  }
  return share;
}

/**
 * Put a corner into the nearest edge; gives the wish and the corner's index.
 * @param {Wish} wish
 * @param {Place} place
 * @returns {{ wish: Wish, index: number }}
 */
export function withCorner(wish, place) {
  let best = { off: Infinity, ring: 0, at: 0, index: 0 };
  let first = 0;
  wish.outline.forEach((points, ring) => {
    points.forEach((start, k) => {
      const end = points[(k + 1) % points.length];
      const off = distanceToEdge(place, start, end);
      if (off < best.off) best = { off, ring, at: k + 1, index: first + k + 1 };
    });
    first += points.length;
  });
  const points = spliced(wish.outline[best.ring], best.at, 0, place);
  return { wish: { ...wish, outline: withRing(wish, best.ring, points) }, index: best.index };
}

/**
 * @param {Place} place
 * @param {Place} start
 * @param {Place} end
 */
function distanceToEdge([x, y], [x0, y0], [x1, y1]) {
  const [dx, dy] = [x1 - x0, y1 - y0];
  const along = Math.min(Math.max(((x - x0) * dx + (y - y0) * dy) / (dx * dx + dy * dy || 1), 0), 1);
  return Math.hypot(x - x0 - along * dx, y - y0 - along * dy);
}

/**
 * Take a corner away; a ring keeps three.
 * @param {Wish} wish
 * @param {number} index
 * @returns {Wish}
 */
export function withoutCorner(wish, index) {
  const [ring, at] = ringOf(wish.outline, index);
  if (wish.outline[ring].length <= 3) return wish;
  return { ...wish, outline: withRing(wish, ring, spliced(wish.outline[ring], at, 1)) };
}
