// The phone's page: published level books, tapes by hand, files there and back, what is kept.

import assert from "node:assert/strict";
import { test } from "node:test";

import { builtCsv, cellsOf, csvOf, csvRows, kindOf, levelsCsv, tiesCsv } from "../../../viewer/web/assets/fieldfiles.js";
import { filesOf, withFile } from "../../../viewer/web/assets/fieldhand.js";
import { instrumentOf } from "../../../viewer/web/assets/fieldstakes.js";
import { EntryStore, emptyEntries, entriesOf } from "../../../viewer/web/assets/fieldstore.js";
import { placedTies } from "../../../viewer/web/assets/fieldtapes.js";
import { adjustedLevels, pageSums, pointKey, reduceLevels } from "../../../viewer/web/assets/levelling.js";
import { buildWords, toBuild, typedLength } from "../../../viewer/web/assets/rodwork.js";
import { placeByTapes } from "../../../viewer/web/assets/tapefix.js";

const near = (a, b, off = 1e-9) => assert.ok(Math.abs(a - b) <= off, `${a} is not ${b}`);
const ALLOWANCE = { per_root_km: 0.012, floor: 0.006096 };

/** Set-ups as [backsight, [[point, rod], ...], [foresight's point, rod]] from one benchmark. */
function readings(start, setups) {
  let at = start;
  const rows = setups.flatMap(([back, between, [point, fore]]) => {
    const found = [{ point: at, sight: "backsight", rod: back }, ...between.map(([name, rod]) => ({ point: name, sight: "intermediate", rod })),
      { point, sight: "foresight", rod: fore }];
    at = point;
    return found;
  });
  return rows.map((row, k) => ({ ...row, row: k + 1 }));
}

test("a published field book comes out figure by figure, and its misclosure is shared out", () => {
  // R. Rode, Collimation method to reduce a leveling field book page: six set-ups, metres.
  const rows = readings("bm1", [
    [1.216, [["a", 0.025], ["b", 1.555]], ["tp1", 2.508]], [1.386, [["c", 3.625]], ["tp2", 1.196]], [1.235, [], ["tp3", 3.566]],
    [3.655, [], ["tp4", 0.506]], [2.126, [["d", 2.605], ["e", 1.094]], ["tp5", 3.628]], [1.125, [["f", 1.394]], ["bm2", 0.484]],
  ]);
  const known = { bm1: 106.366, bm2: 105.263 };
  const [run] = reduceLevels(rows, known);
  [107.582, 106.460, 106.499, 106.588, 108.208, 105.705].forEach((height, k) => near(run.instrument[k], height, 5e-4));
  const levels = Object.fromEntries(run.visits.map((visit) => [visit.point, visit.elevation]));
  for (const [point, level] of Object.entries({ a: 107.557, b: 106.027, c: 102.835, d: 105.603, e: 107.114, f: 104.311, bm2: 105.221 })) {
    near(levels[point], level, 5e-4);
  }
  near(run.backsights, 10.743);
  near(run.foresights, 11.888);
  near(run.misclosure, -0.042, 1e-9);
  const [settled] = adjustedLevels([run], known);
  // 7 mm a set-up, cumulative: the published adjusted levels of the turning points.
  [106.366, 105.081, 105.278, 102.954, 106.110, 104.615, 105.263].forEach((level, k) => near(settled.levels[k], level, 6e-4));
});

test("the sums at the foot of a page are equal on both sides", () => {
  // Worked by hand, feet: two set-ups back to the benchmark.
  const rows = readings("bm", [[4.62, [["1", 5.18], ["2", 3.07]], ["tp", 2.15]], [5.41, [["3", 4.88], ["4", 6.02]], ["bm", 7.87]]]);
  const [run] = reduceLevels(rows, { bm: 100 });
  near(run.instrument[0], 104.62);
  near(run.instrument[1], 107.88);
  near(run.misclosure, 0.01);
  const { rise, all } = pageSums(run);
  near(rise[0], 0.01);
  near(rise[0], rise[1]);
  near(all[0], 608.33 + 19.15 + 10.02, 1e-6);
  near(all[1], 3 * 104.62 + 3 * 107.88, 1e-6);
});

test("a book is refused where nothing carries its heights", () => {
  assert.throws(() => reduceLevels([{ point: "a", sight: "foresight", rod: 1, row: 1 }], { a: 5 }), /no backsight before/);
  assert.throws(() => reduceLevels([{ point: "b", sight: "backsight", rod: 1, row: 1 }], { a: 5 }), /not turned on/);
  assert.deepEqual(reduceLevels([], { a: 5 }), []);
  assert.equal(pointKey("  House  SW "), "house sw");
});

test("two tapes meet on the side that was said, and three tell that they disagree", () => {
  const [a, b] = [[0, 0], [10, 0]];
  assert.deepEqual(placeByTapes([a, b], [6, 8], true, 0.03).fix.at.map((one) => Number(one.toFixed(9))), [3.6, 4.8]);
  assert.deepEqual(placeByTapes([a, b], [6, 8], false, 0.03).fix.at.map((one) => Number(one.toFixed(9))), [3.6, -4.8]);
  near(placeByTapes([a, b], [6, 8], true, 0.03).fix.dilution, 1, 1e-9); // 6, 8, 10: they cross square
  assert.equal(placeByTapes([a, b], [6, 8], null, 0.03).why, "side");
  assert.equal(placeByTapes([a, b], [2, 3], true, 0.03).why, "no meeting");
  assert.equal(placeByTapes([a, a], [2, 3], true, 0.03).why, "one place");
  assert.equal(placeByTapes([a], [2], true, 0.03).why, "few");
  assert.equal(placeByTapes([a, b, [0, 10]], [6, 8, 7], null, 0.03).why, "disagree");
  assert.ok(placeByTapes([a, b], [5.02, 5.02], true, 0.03).fix.dilution > 4, "tapes nearly along one line are told");
});

test("ties follow from one another in any order", () => {
  const known = [{ name: "A", at: [0, 0] }, { name: "B", at: [10, 0] }];
  const tie = (name, from, lengths, left) => ({ name, left, tapes: from.map((one, k) => ({ from: one, typed: lengths[k] })) });
  const { points, answers } = placedTies([tie("Q", ["P", "B"], ["5", "5 m"], true), tie("P", ["A", "b"], ["6", "8"], true)], known, "m");
  assert.ok(points.has("q") && points.has("p"));
  assert.equal(answers.filter((one) => one.fix).length, 2);
});

test("a rod reading says what to build", () => {
  // Hand-worked, feet: HI 104.62, design 101.00: rod 5.18 is 1.56 of fill, 3.07 is 0.55 of cut, 3.62 is on grade.
  const foot = typedLength("1 ft", "ft");
  const depth = (rod) => toBuild(104.62 * foot, rod * foot, 101 * foot) / foot;
  near(depth(5.18), 1.56);
  near(depth(3.07), -0.55);
  assert.deepEqual(buildWords(depth(3.62) * foot, "ft"), { kind: "none", much: "" });
  assert.deepEqual(buildWords(3.5 * typedLength("1 in", "ft"), "ft"), { kind: "fill", much: "3 1/2 in" });
  assert.deepEqual(buildWords(-0.012, "m"), { kind: "cut", much: "1 cm" });
});

test("the height of instrument comes from what was typed, a backsight, or the book", () => {
  const entries = emptyEntries();
  const height = () => instrumentOf(entries, "m", ALLOWANCE).height;
  assert.ok(Number.isNaN(height()));
  Object.assign(entries.book, { benchmark: "BM", elevation: "10", lines: [{ point: "bm", sight: "backsight", rod: "1.5" }] });
  near(height(), 11.5);
  entries.instrument.backsight = "1.2";
  near(height(), 11.2);
  entries.instrument.height = "11.05";
  near(height(), 11.05);
});

test("tables are quoted, guarded and read back", () => {
  const text = csvOf(["a", "b"], [['x, "y"', "=1+1"], ["-3.5", "line\nbreak"]]);
  assert.equal(text, 'a,b\r\n"x, ""y""",\'=1+1\r\n-3.5,line break\r\n');
  assert.deepEqual(csvRows(text), [["a", "b"], ['x, "y"', "=1+1"], ["-3.5", "line break"]]);
  assert.deepEqual(csvRows('\ufeffa,b\n"1\n2",3'), [["a", "b"], ["1\n2", "3"]]);
  assert.equal(kindOf("point,backsight\n"), "levels");
  assert.equal(kindOf("point,from,distance\n"), "ties");
  assert.equal(kindOf("point,x,y,elevation\n"), "built");
  assert.equal(kindOf("name\n"), "");
  assert.deepEqual(cellsOf("A,b\n1,2"), [{ a: "1", b: "2" }]);
});

test("what is handed over comes back as it was", () => {
  const entries = emptyEntries();
  Object.assign(entries.book, { benchmark: "BM", elevation: "100.00",
    lines: [{ point: "BM", sight: "backsight", rod: "4.62" }, { point: "1", sight: "intermediate", rod: "5.18" }, { point: "", sight: "intermediate", rod: "1" }] });
  entries.ties = [{ name: "P1", left: true, tapes: [{ from: "A", typed: "30 ft 6 in" }, { from: "B", typed: "40" }] }];
  entries.built = [{ name: "S1", place: "C1", at: [3.048, 6.096], elevation: 30.48, grade: 30.5 }];
  const files = Object.fromEntries(filesOf(entries, "ft"));
  assert.equal(files["levels.csv"], "point,backsight,intermediate,foresight,elevation,note\r\nBM,4.62,,,100,\r\n1,,5.18,,,\r\n");
  assert.match(files["ties.csv"], /P1,A,30\.5,B,40,,,left of A to B\r\n$/);
  assert.match(files["built.csv"], /S1,10,20,100\r\n$/);
  let back = emptyEntries();
  for (const text of Object.values(files)) back = withFile(text, back, [{ name: "C1", at: [3.048, 6.096], grade: 30.5 }], "ft");
  assert.deepEqual(Object.fromEntries(filesOf(back, "ft")), files);
  assert.equal(back.built[0].grade, 30.5);
  assert.equal(withFile("nothing", back, [], "ft"), null);
  assert.deepEqual([levelsCsv([], NaN, 1), tiesCsv([], 1), builtCsv([], 1)].map((one) => csvRows(one).length), [1, 1, 1]);
});

test("entries are kept as they are typed, and a spoiled record never stops the page", () => {
  const kept = new Map();
  const storage = { setItem: (key, value) => kept.set(key, value), getItem: (key) => kept.get(key) ?? null, removeItem: (key) => kept.delete(key) };
  const store = new EntryStore("yard", storage);
  const entries = { ...store.read(), stake: "C1" };
  assert.equal(store.write(entries), true);
  assert.equal(new EntryStore("yard", storage).read().stake, "C1");
  assert.equal(new EntryStore("other", storage).read().stake, "");
  const full = { ...storage, setItem: () => { throw new Error("full"); } };
  assert.equal(new EntryStore("yard", full).keeps, false);
  for (const text of [null, "", "{", "3", "null", '{"ties":7,"book":null,"stake":[1]}']) assert.deepEqual(entriesOf(text), emptyEntries());
});
