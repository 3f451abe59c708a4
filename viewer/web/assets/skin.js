// What lies on the ground in 3D: the outline, water, keep-offs, walks; drawn once on a canvas and laid over the heights.

function ring(pen, points, at) {
  points.forEach((point, k) => (k ? pen.lineTo(...at(point)) : pen.moveTo(...at(point))));
  pen.closePath();
}

/** A canvas that covers the field, first row in the north; `most` is its longer side in pixels. */
export function skinOf(yard, field, { outline, water }, most, built = true, canvas = document.createElement("canvas")) {
  const size = most / Math.max(field.width, field.height);
  canvas.width = Math.round(field.width * size);
  canvas.height = Math.round(field.height * size);
  const pen = canvas.getContext("2d");
  /** @type {(place: number[]) => [number, number]} */
  const at = ([x, y]) => [(x - field.x0) * size, (field.y0 + field.height - y) * size];
  const { colours } = yard.look;
  const line = size * 0.045;
  for (const { outline: area } of yard.clear) {
    pen.beginPath();
    ring(pen, area, at);
    pen.fillStyle = colours.walk;
    pen.fill();
    pen.lineWidth = line * 0.5;
    pen.strokeStyle = "#9a9184";
    pen.stroke();
  }
  pen.lineJoin = "round";
  pen.beginPath();
  for (const part of built ? water : []) ring(pen, part, at);
  pen.fillStyle = colours.water;
  pen.fill();
  pen.beginPath();
  for (const part of outline) ring(pen, part, at);
  pen.lineWidth = line * (built ? 1.5 : 0.7);
  pen.strokeStyle = colours.outline;
  pen.stroke();
  for (const { line: stones } of yard.retained) {
    pen.beginPath();
    stones.forEach((point, k) => (k ? pen.lineTo(...at(point)) : pen.moveTo(...at(point))));
    pen.setLineDash([line * 4, line]);
    pen.lineWidth = line * 3;
    pen.stroke();
  }
  pen.setLineDash([line * 4, line * 2.2]);
  pen.strokeStyle = colours.keep_off;
  for (const tree of yard.trees) {
    pen.beginPath();
    const [x, y] = at(tree.at);
    pen.arc(x, y, tree.keep_off * size, 0, 2 * Math.PI);
    pen.lineWidth = line * 1.1;
    pen.stroke();
  }
  return canvas;
}
