// The files that a site file reads, out of what was typed on the phone, and back: levels.csv, ties.csv, built.csv.

const FORMULA = /^\s*[=+\-@|%＝＋－＠]/;
const FIGURE = /^[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?$/;

/** A cell as a table holds it: guarded where a spreadsheet would run it, quoted where it must be. */
function cellText(value) {
  const plain = [...String(value ?? "")].map((sign) => (sign < " " || sign === "\u007f" ? " " : sign)).join("");
  const safe = FORMULA.test(plain) && !FIGURE.test(plain) ? `'${plain}` : plain;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** A table as CSV with the line ends of RFC 4180. */
export const csvOf = (heads, rows) => [heads, ...rows].map((row) => `${row.map(cellText).join(",")}\r\n`).join("");

/** The rows of a CSV text, each a list of cells; quotes as RFC 4180 has them. */
export function csvRows(text) {
  const rows = [[""]];
  let quoted = false;
  const plain = text.replace(/^\ufeff/, "").replace(/\r\n?/g, "\n");
  for (let k = 0; k < plain.length; k++) {
    const [sign, row] = [plain[k], rows.at(-1)];
    if (quoted && sign === '"' && plain[k + 1] === '"') { row[row.length - 1] += '"'; k++; }
    else if (sign === '"') quoted = !quoted;
    else if (sign === "," && !quoted) row.push("");
    else if (sign === "\n" && !quoted) rows.push([""]);
    else row[row.length - 1] += sign;
  }
  return rows.filter((row) => row.some((cell) => cell.trim())).map((row) => row.map((cell) => cell.trim().replace(/^'/, "")));
}

/** A figure in the units of the job, to four decimals: finer than a rod or a tape is read. */
const figure = (metres, unit) => (Number.isFinite(metres) ? String(Number((metres / unit).toFixed(4))) : "");

/**
 * levels.csv: a row a line of the book; the benchmark's elevation stands on the first.
 * @param {{ point: string, backsight: number, intermediate: number, foresight: number, note: string }[]} rows metres
 */
export function levelsCsv(rows, benchmark, unit) {
  const heads = ["point", "backsight", "intermediate", "foresight", "elevation", "note"];
  return csvOf(heads, rows.map((row, k) => [
    row.point, figure(row.backsight, unit), figure(row.intermediate, unit), figure(row.foresight, unit),
    k === 0 ? figure(benchmark, unit) : "", row.note,
  ]));
}

/** ties.csv: a row a point, up to three tapes and the side. */
export function tiesCsv(points, unit) {
  const heads = ["point", "from", "distance", "from 2", "distance 2", "from 3", "distance 3", "side"];
  return csvOf(heads, points.map((one) => {
    const tapes = [0, 1, 2].flatMap((k) => (one.tapes[k] ? [one.tapes[k].from, figure(one.tapes[k].metres, unit)] : ["", ""]));
    const side = one.left === null || one.tapes.length < 2 ? ""
      : `${one.left ? "left" : "right"} of ${one.tapes[0].from} to ${one.tapes[1].from}`;
    return [one.name, ...tapes, side];
  }));
}

/** built.csv: shots on the built surface with their places. */
export const builtCsv = (shots, unit) => csvOf(
  ["point", "x", "y", "elevation"],
  shots.map((one) => [one.name, figure(one.at[0], unit), figure(one.at[1], unit), figure(one.elevation, unit)]),
);

/** Which of the files a text is, by its heads: "levels", "ties", "built" or "". */
export function kindOf(text) {
  const heads = (csvRows(text)[0] ?? []).map((head) => head.toLowerCase());
  if (heads.includes("backsight")) return "levels";
  if (heads.includes("from") && heads.includes("distance")) return "ties";
  return heads.includes("x") && heads.includes("elevation") ? "built" : "";
}

/** The rows of a text under its own heads. */
export function cellsOf(text) {
  const [heads, ...rows] = csvRows(text);
  return rows.map((row) => Object.fromEntries(heads.map((head, k) => [head.toLowerCase(), row[k] ?? ""])));
}
