// Level lines of a grid by marching squares, joined into lines.

/** @typedef {[number, number]} Spot */

/**
 * Lines where `values` equals `level`: arrays of [column, row] pairs in nodes, fractions included.
 * `wanted(k)` may leave out cells by the index of their south-west node.
 * @param {ArrayLike<number>} values
 * @param {number} nx
 * @param {number} ny
 * @param {number} level
 * @param {(k: number) => boolean} [wanted]
 * @returns {Spot[][]}
 */
export function levelLines(values, nx, ny, level, wanted) {
  /** @type {Map<number, number>} */
  const next = new Map();
  /** @type {Map<number, number>} */
  const before = new Map();
  /** @type {(edge: number) => Spot} */
  const crossing = (edge) => {
    const upright = edge % 2 === 1;
    const k = (edge - (upright ? 1 : 0)) / 2;
    const share = (level - values[k]) / (values[upright ? k + nx : k + 1] - values[k]);
    const i = k % nx;
    const j = (k - i) / nx;
    return upright ? [i, j + share] : [i + share, j];
  };
  const join = (from, to) => { next.set(from, to); before.set(to, from); };
  for (let j = 0; j < ny - 1; j++) {
    for (let i = 0; i < nx - 1; i++) {
      const k = j * nx + i;
      const a = values[k] > level;
      const b = values[k + 1] > level;
      const c = values[k + nx + 1] > level;
      const d = values[k + nx] > level;
      if (a === b && b === c && c === d) continue;
      if (wanted && !wanted(k)) continue;
      joinCell(join, a, b, c, d, [2 * k, 2 * (k + 1) + 1, 2 * (k + nx), 2 * k + 1]);
    }
  }
  return chained(next, before, crossing);
}

// Edges are south, east, north, west. Higher ground lies to the left of every piece, so that pieces of neighbouring
// cells always run the same way round.
function joinCell(join, a, b, c, d, [south, east, north, west]) {
  if (a && !b) join(south, entry(south));
  if (b && !c) join(east, entry(east));
  if (c && !d) join(north, entry(north));
  if (d && !a) join(west, entry(west));
  function entry(from) {
    // From where the boundary leaves high ground, walk round the cell to where it comes back up.
    const around = [[south, a, b], [east, b, c], [north, c, d], [west, d, a]];
    const at = around.findIndex(([edge]) => edge === from);
    for (let step = 1; step < 4; step++) {
      const [edge, first, second] = around[(at + step) % 4];
      if (!first && second) return edge;
    }
    return from;
  }
}

function chained(next, before, crossing) {
  const lines = [];
  while (next.size) {
    let start = next.keys().next().value;
    const first = start;
    while (before.has(start) && next.has(before.get(start)) && before.get(start) !== first) start = before.get(start);
    const edges = [start];
    let edge = start;
    while (next.has(edge)) {
      const to = next.get(edge);
      next.delete(edge);
      edges.push(to);
      edge = to;
    }
    lines.push(edges.map(crossing));
  }
  return lines;
}

/**
 * The line without the points that lie within `off` of it anyway: Douglas and Peucker (1973).
 * @param {Spot[]} line
 * @param {number} off
 * @returns {Spot[]}
 */
export function thinned(line, off) {
  if (line.length < 4) return line;
  const kept = new Uint8Array(line.length);
  // A closed line is split at its far side, or it would have no direction.
  const half = line.length >> 1;
  kept[0] = kept[half] = kept[line.length - 1] = 1;
  const spans = [[0, half], [half, line.length - 1]];
  while (spans.length) {
    const [first, last] = spans.pop();
    const [[x0, y0], [x1, y1]] = [line[first], line[last]];
    const length = Math.hypot(x1 - x0, y1 - y0) || 1e-12;
    let [far, at] = [off, 0];
    for (let k = first + 1; k < last; k++) {
      const away = Math.abs((line[k][0] - x0) * (y1 - y0) - (line[k][1] - y0) * (x1 - x0)) / length;
      if (away > far) [far, at] = [away, k];
    }
    if (!at) continue;
    kept[at] = 1;
    spans.push([first, at], [at, last]);
  }
  return line.filter((_, k) => kept[k]);
}
