// What lies on the ground in 3D, drawn on canvases and laid over the heights: kinds of surface, and lines.

function ring(pen, points, at) {
  points.forEach((point, k) => (k ? pen.lineTo(...at(point)) : pen.moveTo(...at(point))));
  pen.closePath();
}

const COVER = { lawn: "#000", bed: "#f00", paving: "#0f0", gravel: "#00f", water: "#fff" };

/** A pen on a canvas that covers the field, first row in the north; `most` is its longer side in pixels. */
function sheetOver(field, most, canvas) {
  const size = most / Math.max(field.width, field.height);
  canvas.width = Math.round(field.width * size);
  canvas.height = Math.round(field.height * size);
  /** @type {(place: number[]) => [number, number]} */
  const at = ([x, y]) => [(x - field.x0) * size, (field.y0 + field.height - y) * size];
  return { pen: canvas.getContext("2d"), at, size };
}

/** The map of what lies on the ground, a colour a kind: the bed where soil may lie, paving, water with its banks. */
export function coverOf(yard, field, { outline, water }, most, built, canvas = document.createElement("canvas")) {
  const { pen, at, size } = sheetOver(field, most, canvas);
  const lay = (rings, kind) => {
    pen.beginPath();
    for (const part of rings) ring(pen, part, at);
    pen.fillStyle = COVER[kind];
    pen.fill("evenodd");
  };
  pen.fillStyle = COVER.lawn;
  pen.fillRect(0, 0, canvas.width, canvas.height);
  const paved = yard.clear.filter((one) => one.paved).map((one) => one.outline);
  if (built) {
    lay(outline, "bed");
    pen.fillStyle = COVER.lawn;
    for (const tree of yard.trees) {
      pen.beginPath();
      const [x, y] = at(tree.at);
      pen.arc(x, y, tree.keep_off * size, 0, 2 * Math.PI);
      pen.fill();
    }
    for (const { outline: area } of yard.clear) lay([area], "lawn");
  }
  for (const area of paved) lay([area], "paving");
  if (!built) return canvas;
  for (const { banks } of water) lay([banks], "gravel");
  for (const { wet } of water) lay([wet], "water");
  return canvas;
}

/** Lines over the ground: the edge of the bed, stones, keep-offs. */
export function skinOf(yard, field, { outline }, most, built = true, canvas = document.createElement("canvas")) {
  const { pen, at, size } = sheetOver(field, most, canvas);
  const { colours } = yard.look;
  const line = size * 0.03;
  pen.lineJoin = "round";
  pen.beginPath();
  for (const part of outline) ring(pen, part, at);
  pen.setLineDash([line * 6, line * 3]);
  pen.lineWidth = line * (built ? 1.5 : 1);
  pen.strokeStyle = colours.outline;
  pen.stroke();
  for (const tree of yard.trees) {
    const [x, y] = at(tree.at);
    // Dark red alone is lost on dark lawn.
    for (const [ink, wide, dash] of [[colours.paper, 3.4, []], [colours.keep_off, 2.6, [line * 8, line * 3]]]) {
      pen.beginPath();
      pen.arc(x, y, tree.keep_off * size, 0, 2 * Math.PI);
      pen.setLineDash(dash);
      pen.strokeStyle = ink;
      pen.lineWidth = line * wide;
      pen.stroke();
    }
  }
  return canvas;
}
