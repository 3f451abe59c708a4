// A level book worked out as terrain/survey/levels.py does it: heights of instrument, elevations, misclosures, page sums,
// and the adjustment of every run. Metres throughout.

/** @typedef {{ point: string, sight: "backsight" | "intermediate" | "foresight", rod: number, row: number }} Reading */
/** @typedef {{ point: string, rod: number, elevation: number, setup: number, row: number, turn: boolean }} Visit */
/** @typedef {{ start: string, end: string, knownStart: number, knownEnd: number | null, instrument: number[],
 *   visits: Visit[], turns: string[], levels: number[], backsights: number, foresights: number,
 *   misclosure: number | null }} LevelRun */

/** What a point is found by, whatever its capitals and blanks. */
export const pointKey = (name) => name.trim().toLowerCase().split(/\s+/).join(" ");

/** The fault of a book: its row, and what is wrong with it. */
export class BookFault extends Error {
  constructor(row, kind) {
    super(kind);
    this.row = row;
    this.kind = kind;
  }
}

/** The readings, parted before each backsight. @param {Reading[]} readings */
function setUps(readings, known) {
  const starts = readings.flatMap((one, k) => (one.sight === "backsight" ? [k] : []));
  if (readings.length && starts[0] !== 0) throw new BookFault(readings[0].row, "no backsight before");
  return starts.map((start, k) => {
    const end = starts[k + 1] ?? readings.length;
    const sights = readings.slice(start + 1, end);
    const next = end < readings.length ? [readings[end].point] : [];
    return { backsight: readings[start], sights, turn: turnOf(sights, next, known) };
  });
}

/** The foresight on the next backsight's point, or else the last one on a benchmark, or else the last one. */
function turnOf(sights, next, known) {
  const foresights = sights.filter((one) => one.sight === "foresight").reverse();
  return foresights.find((one) => next.includes(one.point)) ?? foresights.find((one) => one.point in known)
    ?? foresights[0] ?? null;
}

/** Set-ups joined to runs: a run ends on a benchmark, and where the next set-up looks back elsewhere. */
function runsOf(readings, known) {
  const runs = [];
  const turnedOn = new Set(Object.keys(known));
  let at = null;
  for (const setup of setUps(readings, known)) {
    const { point } = setup.backsight;
    if (runs.length && point === at && !(point in known)) runs.at(-1).push(setup);
    else if (turnedOn.has(point)) runs.push([setup]);
    else throw new BookFault(setup.backsight.row, "not turned on");
    at = setup.turn ? setup.turn.point : null;
    if (at !== null) turnedOn.add(at);
  }
  return runs;
}

/** One run that starts on a point of an elevation. @returns {LevelRun} */
function runFrom(setups, start, known) {
  const [levels, instrument, visits] = [[start], [], []];
  let at = start;
  setups.forEach((setup, k) => {
    const height = at + setup.backsight.rod;
    instrument.push(height);
    for (const one of setup.sights) {
      const { point, rod, row } = one;
      visits.push({ point, rod, elevation: height - rod, setup: k + 1, row, turn: one === setup.turn });
    }
    if (setup.turn) {
      at = height - setup.turn.rod;
      levels.push(at);
    }
  });
  const turns = setups.flatMap((setup) => (setup.turn ? [setup.turn] : []));
  const last = setups.at(-1).turn;
  const [backsights, foresights] = [sum(setups.map((one) => one.backsight.rod)), sum(turns.map((one) => one.rod))];
  const knownEnd = last && last.point in known ? known[last.point] : null;
  return {
    start: setups[0].backsight.point, end: last ? last.point : setups[0].backsight.point,
    knownStart: start, knownEnd, instrument, visits,
    turns: [setups[0].backsight.point, ...turns.map((one) => one.point)], levels, backsights, foresights,
    misclosure: knownEnd === null ? null : start + backsights - foresights - knownEnd,
  };
}

const sum = (values) => values.reduce((whole, one) => whole + one, 0);

/**
 * Work a book through, set-up by set-up, as read.
 * @param {Reading[]} readings
 * @param {Record<string, number>} known elevation of each benchmark by its key, metres
 * @returns {LevelRun[]}
 */
export function reduceLevels(readings, known) {
  const carried = { ...known };
  return runsOf(readings, known).map((setups) => {
    const run = runFrom(setups, carried[setups[0].backsight.point], known);
    run.turns.forEach((turn, k) => { carried[turn] ??= run.levels[k]; });
    return run;
  });
}

/**
 * The runs of one book, adjusted together by least squares: every set-up is one rise of the same weight.
 * @param {LevelRun[]} runs
 * @param {Record<string, number>} known
 * @returns {LevelRun[]}
 */
export function adjustedLevels(runs, known) {
  const net = netLevels(runs, known);
  return runs.map((run) => movedTo(run, run.turns.map((turn) => net[turn])));
}

function netLevels(runs, known) {
  const first = { ...known };
  for (const run of runs) run.turns.forEach((turn, k) => { first[turn] ??= run.levels[k]; });
  const unknown = Object.keys(first).filter((key) => !(key in known));
  const number = new Map(unknown.map((key, k) => [key, k]));
  const rows = unknown.map(() => new Float64Array(unknown.length + 1));
  for (const run of runs) {
    for (let k = 1; k < run.levels.length; k++) {
      const [a, b] = [run.turns[k - 1], run.turns[k]];
      addRise(rows, number, [a, b], run.levels[k] - run.levels[k - 1] - (first[b] - first[a]));
    }
  }
  const found = solved(rows);
  return Object.fromEntries(Object.entries(first).map(([key, level]) => [key, level + (found[number.get(key)] ?? 0)]));
}

/** One observed rise in the normal equations. */
function addRise(rows, number, [a, b], off) {
  const ends = [[number.get(a), -1], [number.get(b), 1]].filter(([k]) => k !== undefined);
  for (const [i, sign] of ends) {
    rows[i][rows.length] += sign * off;
    for (const [j, other] of ends) rows[i][j] += sign * other;
  }
}

/** Gauss's elimination with pivots; rows hold the right side at their end. */
function solved(rows) {
  const count = rows.length;
  for (let k = 0; k < count; k++) {
    let pivot = k;
    for (let i = k + 1; i < count; i++) if (Math.abs(rows[i][k]) > Math.abs(rows[pivot][k])) pivot = i;
    [rows[k], rows[pivot]] = [rows[pivot], rows[k]];
    for (let i = k + 1; i < count; i++) {
      const share = rows[i][k] / rows[k][k];
      if (share) for (let j = k; j <= count; j++) rows[i][j] -= share * rows[k][j];
    }
  }
  const found = new Array(count).fill(0);
  for (let k = count - 1; k >= 0; k--) {
    let rest = rows[k][count];
    for (let j = k + 1; j < count; j++) rest -= rows[k][j] * found[j];
    found[k] = rest / rows[k][k];
  }
  return found;
}

/** A run with the given elevations of its points between set-ups; sights move with the instrument beside them. */
function movedTo(run, levels) {
  const moves = levels.map((level, k) => level - run.levels[k]);
  const beside = moves.slice(1).map((move, k) => 0.5 * (move + moves[k]));
  if (run.instrument.length >= moves.length) beside.push(moves.at(-1));
  const visits = run.visits.map((visit) => {
    const move = visit.turn ? moves[visit.setup] : beside[visit.setup - 1];
    return { ...visit, elevation: visit.elevation + move };
  });
  return { ...run, levels, visits, instrument: run.instrument.map((height, k) => height + beside[k]) };
}

/**
 * Allowed misclosure of a run: by its length where that is known, never less than the floor. Metres.
 * @param {number | null} length
 * @param {number} perRootKm metres for the square root of a kilometre
 * @param {number} floor
 */
export const allowedMisclosure = (length, perRootKm, floor) => (
  length === null ? floor : Math.max(floor, perRootKm * Math.sqrt(length / 1000))
);

/**
 * The checks at the foot of a page: both sides of each, which are equal where every sum was done right.
 * Backsights less foresights are the last level less the first; all elevations but the first, with all sights on them,
 * are every height of instrument as often as it was used.
 * @param {LevelRun} run
 */
export function pageSums(run) {
  return {
    rise: [run.backsights - run.foresights, run.levels.at(-1) - run.levels[0]],
    all: [
      sum(run.visits.map((visit) => visit.elevation)) + sum(run.visits.map((visit) => visit.rod)),
      sum(run.visits.map((visit) => run.instrument[visit.setup - 1])),
    ],
  };
}
