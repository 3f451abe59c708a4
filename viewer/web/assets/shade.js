// The ground from above, tinted and shaded, on a plain canvas: under the plan, and the picture where there is no 3D.

import { levelLines, thinned } from "./contours.js";

const LIGHT = [-0.53, 0.53, 0.66]; // from the north-west, as maps are lit
const STRONGER = 1.7; // strengthens light and shade only
const scratch = {};

/** Light on every node, one grey pixel each, first row in the north, as ImageData. */
function lightOf(field, after, strength) {
  const { nx, ny, cell, existing, change } = field;
  const pixels = new ImageData(nx, ny);
  const z = (k) => existing[k] + after * change[k];
  for (let j = 0; j < ny; j++) {
    const [south, north] = [j > 0 ? nx : 0, j < ny - 1 ? nx : 0];
    for (let i = 0; i < nx; i++) {
      const k = j * nx + i;
      const [west, east] = [i > 0 ? 1 : 0, i < nx - 1 ? 1 : 0];
      const a = (-STRONGER * (z(k + east) - z(k - west))) / ((east + west) * cell);
      const b = (-STRONGER * (z(k + north) - z(k - south))) / (((north + south) / nx) * cell);
      const facing = Math.max((a * LIGHT[0] + b * LIGHT[1] + LIGHT[2]) / Math.sqrt(a * a + b * b + 1), 0);
      const light = Math.min(0.45 + (0.55 * facing) / LIGHT[2], 1);
      const at = 4 * ((ny - 1 - j) * nx + i);
      pixels.data.fill(255 * (1 + strength * (light - 1)), at, at + 3);
      pixels.data[at + 3] = 255;
    }
  }
  return pixels;
}

/** Bands of depth as areas, shallow ones first: [{ink, lines}], lines in nodes. */
function bandsOf(yard, field, after) {
  const { colours, depth_step: step } = yard.look;
  const bands = [];
  if (!after) return bands;
  for (const [sign, inks] of [[1, colours.fill], [-1, colours.cut]]) {
    const depth = sign > 0 ? field.change : field.change.map((value) => -value);
    for (let k = 0; k < inks.length; k++) {
      const lines = levelLines(depth, field.nx, field.ny, k ? k * step : 0.004);
      if (!lines.length) break;
      bands.push({ ink: inks[k], lines: lines.map((line) => thinned(line, 0.08)) });
    }
  }
  return bands;
}

/** Paint the ground into a frame [left, top, width, height] of a canvas, on a picture of it from above if there is one. */
export function paintShaded(canvas, yard, field, after, strength, [left, top, wide, high], air = null) {
  const pen = canvas.getContext("2d");
  const size = wide / (field.nx - 1);
  pen.save();
  pen.beginPath();
  pen.rect(left, top, wide, high);
  pen.clip();
  pen.fillStyle = yard.look.colours.meadow;
  pen.fillRect(left, top, wide, high);
  if (air) pen.drawImage(air, left, top, wide, high);
  for (const { ink, lines } of bandsOf(yard, field, after)) {
    pen.beginPath();
    for (const line of lines) {
      line.forEach(([i, j], k) => pen[k ? "lineTo" : "moveTo"](left + i * size, top + high - j * size));
      pen.closePath();
    }
    pen.fillStyle = ink;
    pen.fill("evenodd");
  }
  if (strength) layLight(pen, field, after, strength, [left, top, wide, high]);
  pen.restore();
}

/** Multiply what is painted by light and shade. */
function layLight(pen, field, after, strength, [left, top, wide, high]) {
  const size = wide / (field.nx - 1);
  scratch.canvas ??= document.createElement("canvas");
  [scratch.canvas.width, scratch.canvas.height] = [field.nx, field.ny];
  scratch.canvas.getContext("2d").putImageData(lightOf(field, after, strength), 0, 0);
  pen.globalCompositeOperation = "multiply";
  pen.imageSmoothingEnabled = true;
  pen.drawImage(scratch.canvas, left - size / 2, top - size / 2, wide + size, high + size);
}

/** The picture in place of 3D: the whole field in the middle of the canvas, with the skin over it. */
export function shadedPlan(canvas, yard, field, after, skin) {
  const size = Math.min(canvas.width / field.width, canvas.height / field.height);
  const [wide, high] = [field.width * size, field.height * size];
  /** @type {[number, number, number, number]} */
  const frame = [(canvas.width - wide) / 2, (canvas.height - high) / 2, wide, high];
  canvas.getContext("2d").clearRect(0, 0, canvas.width, canvas.height);
  paintShaded(canvas, yard, field, after, 1, frame);
  canvas.getContext("2d").drawImage(skin, ...frame);
}
