// The page to send: a finished study to turn, read and measure.

import { CrewView } from "./crewview.js";
import { Desk, valuesInPage } from "./desk.js";
import { Field, decoded, unpacked } from "./field.js";

async function open() {
  const yard = valuesInPage();
  const { grid, existing, change } = yard.field;
  const [ground, mound] = await Promise.all(
    [existing, change].map(async (part) => decoded(part, await unpacked(part.codes, grid.nx, grid.ny))),
  );
  const desk = new Desk(yard, new Field(grid, ground, mound));
  if (yard.crew) desk.crew = new CrewView(desk);
  await desk.stage.painted();
  document.documentElement.dataset.ready = "yes";
  return desk;
}

globalThis.hummock = open();
