// The stills' grain and trees, out of the text that the page holds.

import { unpacked } from "./field.js";

/** Bytes of the tiles of grain: near -1 to 1, from afar 0 to 2 and -1 to 1; a layer a kind. */
export async function grainOf({ near, far }) {
  const { nodes } = near.kinds[0];
  const count = nodes * nodes;
  const bytes = { near: new Uint8Array(near.kinds.length * count), far: new Uint8Array(2 * far.kinds.length * count), nodes };
  const byte = (value, least) => Math.min(Math.max(Math.round(127.5 * (value - least)), 0), 255);
  const laid = async (tile, into, first, step, least) => {
    const codes = await unpacked(tile.codes, nodes, nodes);
    for (let k = 0; k < count; k++) into[first + step * k] = byte(tile.low + tile.step * codes[k], least);
  };
  await Promise.all(near.kinds.flatMap((tile, kind) => [
    laid(tile, bytes.near, kind * count, 1, -1),
    ...[0, -1].map((least, k) => laid(far.kinds[kind][k], bytes.far, 2 * kind * count + k, 2, least)),
  ]));
  return bytes;
}

/** Trees with their bodies as triangles, nine numbers a vertex (place over a ground of height 0, normal, brightness). */
export function treesOf({ trees }) {
  return Promise.all(trees.map(async ({ at, stem, limbs, crown }) => (
    { at, stem: await vertices(stem, true), limbs: await vertices(limbs, true), crown: await vertices(crown, false) }
  )));
}

/** Stones, still water: [{kind, casts, data}], as the bodies of trees, over a ground of the page's own height. */
export function laidOf(laid) {
  return Promise.all(laid.map(async (mesh) => ({ kind: mesh.kind, casts: mesh.casts, data: await vertices(mesh, mesh.kind === "stone") })));
}

async function vertices(mesh, smooth) {
  const codes = await unpacked(mesh.points[1], 3, mesh.points[0]);
  const triangles = await unpacked(mesh.triangles[1], 3, mesh.triangles[0]);
  const bright = mesh.bright ? await unpacked(mesh.bright, 1, mesh.triangles[0]) : null;
  const points = Float32Array.from(codes, (code) => mesh.low + mesh.step * code);
  const flat = normalsOf(points, triangles);
  const bent = smooth ? bentNormals(points.length, triangles, flat) : null;
  const found = new Float32Array(9 * triangles.length);
  triangles.forEach((point, k) => {
    const face = Math.floor(k / 3);
    const normal = bent ? bent.subarray(3 * point, 3 * point + 3) : flat.subarray(3 * face, 3 * face + 3);
    found.set(points.subarray(3 * point, 3 * point + 3), 9 * k);
    found.set(normal, 9 * k + 3);
    found.fill(bright ? bright[face] / 100 : 1, 9 * k + 6, 9 * k + 9);
  });
  return found;
}

/** Normals of triangles, twice their area long. */
function normalsOf(points, triangles) {
  const found = new Float32Array(triangles.length);
  for (let k = 0; k < triangles.length; k += 3) {
    const [a, b, c] = [0, 1, 2].map((n) => points.subarray(3 * triangles[k + n], 3 * triangles[k + n] + 3));
    const [p, q] = [[0, 1, 2].map((n) => b[n] - a[n]), [0, 1, 2].map((n) => c[n] - a[n])];
    found.set([p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]], k);
  }
  return found;
}

function bentNormals(count, triangles, flat) {
  const found = new Float32Array(count);
  triangles.forEach((point, k) => {
    for (let n = 0; n < 3; n++) found[3 * point + n] += flat[3 * Math.floor(k / 3) + n];
  });
  return found;
}
