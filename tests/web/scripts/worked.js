// Works books, ties and readings of standard input as the page does, and answers on standard output: one JSON each way.

import { readFileSync } from "node:fs";

import { adjustedLevels, allowedMisclosure, reduceLevels } from "../../../viewer/web/assets/levelling.js";
import { buildWords, builtWords, toBuild, typedLength } from "../../../viewer/web/assets/rodwork.js";
import { placeByTapes } from "../../../viewer/web/assets/tapefix.js";

const asked = JSON.parse(readFileSync(0, "utf8"));
const answers = {
  books: asked.books.map(({ readings, known }) => {
    try {
      const runs = reduceLevels(readings, known);
      return { runs, settled: adjustedLevels(runs, known) };
    } catch (fault) {
      return { fault: fault.kind };
    }
  }),
  ties: asked.ties.map(({ anchors, radii, left, bound }) => placeByTapes(anchors, radii, left, bound)),
  allowed: asked.allowed.map(([length, perRootKm, floor]) => allowedMisclosure(length, perRootKm, floor)),
  typed: asked.typed.map(([text, units]) => { const read = typedLength(text, units); return Number.isNaN(read) ? null : read; }),
  rods: asked.rods.map(([instrument, rod, grade, tolerance, units]) => {
    const depth = toBuild(instrument, rod, grade);
    return { depth, build: buildWords(depth, units), built: builtWords(-depth, tolerance, units) };
  }),
};
process.stdout.write(JSON.stringify(answers));
