// The sketch of points that are tied by tapes: where they lie on it, and a place for every name.

const WIDE = 340;
const EDGE = 25; // bare at its sides
const SPOT = 6; // half of the square that a point takes
/** @type {[number, number]} */
const ABOVE = [WIDE - 22, 26]; // where an arrow stands at the right
// Letters and height, from the first that gives every name a place about its point.
const TRIES = [[15, 260], [13, 260], [13, 340], [11, 340]];
const LEADS = [14, 24, 36, 50, 66, 84, 104, 126];
const WAYS = Array.from({ length: 36 }, (_, k) => (k * Math.PI) / 18);

const meet = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];

/** Whether a line crosses a box (left, top, right, bottom). @param {number[][]} line @param {number[]} box */
function crosses(line, box) {
  const [[x1, y1], [x2, y2]] = line;
  const [left, top, right, bottom] = box;
  let [from, to] = [0, 1];
  for (const [start, way, low, high] of [[x1, x2 - x1, left, right], [y1, y2 - y1, top, bottom]]) {
    if (Math.abs(way) < 1e-9) {
      if (start < low || start > high) return false;
    } else {
      const [a, b] = [(low - start) / way, (high - start) / way];
      [from, to] = [Math.max(from, Math.min(a, b)), Math.min(to, Math.max(a, b))];
    }
  }
  return from <= to;
}

/** Whether two lines cross. */
function cut([a, b], [c, d]) {
  const side = (p, q, r) => Math.sign((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]));
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

/** The places for a name of some width about its point: beside it, then farther out with a line that leads there. */
function* seats([x, y], wide, size) {
  const [up, down] = [y - 0.65 * size, y + 1.35 * size];
  const beside = [[x + 9, y + size / 3], [x - 9 - wide, y + size / 3], [x - wide / 2, up], [x - wide / 2, down]];
  const aslant = [up, down].flatMap((base) => [[x - 5, base], [x + 5 - wide, base]]);
  for (const [left, base] of [...beside, ...aslant]) yield { left, base, lead: null };
  for (const far of LEADS) {
    for (const way of WAYS) {
      const [across, rise] = [Math.cos(way), Math.sin(way)];
      const off = far + (Math.abs(across) * wide) / 2 + Math.abs(rise) * 0.6 * size;
      // The line ends a little before the letters.
      const end = off - 1 - Math.min(wide / 2 / Math.abs(across), (0.6 * size) / Math.abs(rise));
      if (end < SPOT) continue;
      const lead = [[x + SPOT * across, y + SPOT * rise], [x + end * across, y + end * rise]];
      yield { left: x + off * across - wide / 2, base: y + off * rise + 0.35 * size, lead };
    }
  }
}

/** Whether a box, with the line that leads to it from a point's own, lies on the paper and on nothing else. */
function free(box, lead, own, high, taken, leads) {
  if (box[0] < 2 || box[2] > WIDE - 2 || box[1] < 2 || box[3] > high - 2) return false;
  if (taken.some((other) => meet(box, other)) || leads.some((other) => crosses(other, box))) return false;
  return !lead || !(taken.some((other) => !meet(other, own) && crosses(lead, other)) || leads.some((other) => cut(lead, other)));
}

/** A place for every name, those of points in a crowd first; null where one finds none. */
function seated(points, kept, size, high, measure) {
  const spots = points.map(({ at: [x, y] }) => [x - SPOT, y - SPOT, x + SPOT, y + SPOT]);
  const [taken, leads, found] = [[...spots, ...kept], [], new Map()];
  const crowd = ({ at }) => points.filter((one) => Math.hypot(one.at[0] - at[0], one.at[1] - at[1]) < 60).length;
  for (const point of [...points].sort((a, b) => crowd(b) - crowd(a))) {
    const wide = measure(point.name, size);
    const own = spots[points.indexOf(point)];
    const boxed = ({ left, base }) => [left, base - 0.95 * size, left + wide, base + 0.25 * size];
    const seat = [...seats(point.at, wide, size)].find((one) => free(boxed(one), one.lead, own, high, taken, leads));
    if (!seat) return null;
    taken.push(boxed(seat));
    if (seat.lead) leads.push(seat.lead);
    found.set(point, seat);
  }
  return points.map((point) => ({ ...point, ...found.get(point) }));
}

/**
 * The corner of the sketch that is farthest from every point: where the arrow stands.
 * @returns {[number, number]}
 */
function emptiest(points, high) {
  /** @type {[number, number][]} */
  const corners = [ABOVE, [22, 26], [WIDE - 22, high - 30], [22, high - 30]];
  const room = ([x, y]) => Math.min(...points.map(({ at }) => Math.hypot(at[0] - x, at[1] - y)));
  return corners.reduce((best, corner) => (room(corner) > room(best) ? corner : best));
}

/**
 * How ground (metres) lies on the sketch: about the middle of what is left between two edges, on so much height.
 * @returns {(spot: any) => [number, number]}
 */
function laidOut(known, [left, right], high) {
  const [xs, ys] = [0, 1].map((k) => known.map((one) => one.at[k]));
  const [west, east, south, north] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const scale = Math.min((right - left) / Math.max(east - west, 1), (high - 2 * EDGE) / Math.max(north - south, 1));
  const [across, down] = [(left + right) / 2 - ((west + east) / 2) * scale, high / 2 + ((south + north) / 2) * scale];
  return ([x, y]) => [across + x * scale, down - y * scale];
}

/** Every name in a column at the right, with a line from its point: where points stand too close for names about them. */
function inColumn(known, measure, arrow) {
  const widest = (size) => Math.max(...known.map((one) => measure(one.name, size)));
  const size = Math.min(11, (11 * (WIDE - 130)) / widest(11));
  const high = Math.max(260, known.length * 1.5 * size + 70);
  const [column, step] = [WIDE - widest(size) - 4, (high - 70) / known.length];
  const place = laidOut(known, [EDGE, column - 50], high);
  const points = known.map((one) => ({ name: one.name, at: place(one.at) })).sort((a, b) => a.at[1] - b.at[1]);
  const end = (row) => [column - 3, 60 + (row + 0.5) * step];
  // Two lines that cross change their rows; all lines together grow shorter by it, so it comes to an end.
  for (let changed = true; changed;) {
    changed = false;
    for (let a = 0; a < points.length; a++) {
      for (let b = a + 1; b < points.length; b++) {
        if (cut([points[a].at, end(a)], [points[b].at, end(b)])) {
          [points[a], points[b], changed] = [points[b], points[a], true];
        }
      }
    }
  }
  const named = points.map((one, row) => ({ ...one, left: column, base: end(row)[1] + size / 3, lead: [one.at, end(row)] }));
  return { wide: WIDE, high, size, place, corner: arrow ? ABOVE : null, points: named };
}

/**
 * Points and their names on the sketch: its height, the size of its letters, where the arrow stands, and each point
 * with its place, that of its name (left and foot of the letters) and the line that leads there, if any.
 * @param {{ name: string, at: number[] }[]} known in metres
 * @param {(text: string, size: number) => number} measure how wide a text is
 * @param {boolean} arrow whether a north arrow stands there
 */
export function sketched(known, measure, arrow) {
  for (const [size, high] of TRIES) {
    const place = laidOut(known, [EDGE, WIDE - EDGE], high);
    const points = known.map((one) => ({ name: one.name, at: place(one.at) }));
    const corner = arrow ? emptiest(points, high) : null;
    const kept = corner ? [[corner[0] - 12, corner[1] - 24, corner[0] + 12, corner[1] + 24]] : [];
    const named = seated(points, kept, size, high, measure);
    if (named) return { wide: WIDE, high, size, place, corner, points: named };
  }
  return inColumn(known, measure, arrow);
}
