// Plain shapes that stand on the ground: trunks, crowns, houses, a ranging staff. Nine numbers a vertex.

import { channels } from "./relief.js";

function lathe(x, y, radii, heights, around, ink) {
  const data = [];
  const corner = (k, n) => {
    const turn = (2 * Math.PI * n) / around;
    return [x + radii[k] * Math.cos(turn), y + radii[k] * Math.sin(turn), heights[k]];
  };
  for (let k = 0; k + 1 < radii.length; k++) {
    for (let n = 0; n < around; n++) {
      const [a, b, c, d] = [corner(k, n), corner(k, n + 1), corner(k + 1, n + 1), corner(k + 1, n)];
      const turn = (2 * Math.PI * (n + 0.5)) / around;
      const lean = (radii[k] - radii[k + 1]) / Math.max(heights[k + 1] - heights[k], 1e-3);
      const normal = [Math.cos(turn), Math.sin(turn), lean];
      for (const spot of [a, b, c, a, c, d]) data.push(...spot, ...normal, ...ink);
    }
  }
  return data;
}

function trunk(tree, ground, lift) {
  const half = tree.trunk / 2;
  const flare = Math.max(tree.flare, half);
  const radii = [flare, 0.55 * half + 0.45 * flare, 1.12 * half, half, 0.8 * half];
  const rise = [-0.15, 0.12, 0.35, 0.9, (tree.form.clear + tree.form.height) / 2].map((v) => ground + lift * v);
  return lathe(tree.at[0], tree.at[1], radii, rise, 24, channels("#6b5a45"));
}

function crown(tree, ground, lift) {
  const { height, clear, radius, conifer } = tree.form;
  const [radii, heights] = [[], []];
  for (let k = 0; k <= 12; k++) {
    const turn = -Math.PI / 2 + (Math.PI * k) / 12;
    radii.push(radius * (conifer ? (k ? 1 - k / 12 : 0) : Math.cos(turn)));
    heights.push(ground + lift * (clear + (height - clear) * (conifer ? k / 12 : 0.5 + 0.5 * Math.sin(turn))));
  }
  return lathe(tree.at[0], tree.at[1], radii, heights, 32, channels("#7f9a6a"));
}

/** Height in metres over its foot at which a tree's name stands: on the trunk, under the crown. */
export function crownMiddle(tree) { return tree.form.clear; }

function house({ outline, triangles, floor, rise }, ground, lift, base) {
  const top = lift * (Math.max(floor ?? ground.high, ground.high) - base + rise);
  const foot = lift * (ground.low - base) - 0.1;
  const ink = channels("#d9d3c7");
  const data = [];
  for (let k = 0; k + 1 < outline.length; k++) {
    const [[x0, y0], [x1, y1]] = [outline[k], outline[k + 1]];
    const normal = [y1 - y0, x0 - x1, 0];
    const [a, b, c, d] = [[x0, y0, foot], [x1, y1, foot], [x1, y1, top], [x0, y0, top]];
    for (const spot of [a, b, c, a, c, d]) data.push(...spot, ...normal, ...ink);
  }
  for (const [x, y] of triangles) data.push(x, y, top, 0, 0, 1, ...ink);
  return data;
}

function staff([x, y], ground, { band, count }, colours) {
  const data = [];
  for (let k = 0; k < count; k++) {
    const ends = [ground + k * band, ground + (k + 1) * band];
    const ink = channels(k % 2 ? colours.ink : colours.paper);
    data.push(...lathe(x, y, [0.045, 0.045], ends, 10, ink));
    data.push(...lathe(x, y, [0.045, 0], [ends[1], ends[1] + 1e-3], 10, ink));
  }
  return data;
}

/** Everything that stands on the ground, ready for `Relief.setSolids`. `heightAt` gives drawn metres. */
export function bodiesOf(yard, field, { lift, base, heightAt }) {
  const solid = [];
  const clear = [];
  for (const tree of yard.trees) {
    if (!field.holds(...tree.at)) continue;
    solid.push(...trunk(tree, heightAt(...tree.at), lift));
    clear.push(...crown(tree, heightAt(...tree.at), lift));
  }
  for (const building of yard.buildings) {
    const heights = building.outline.map(([x, y]) => field.existingAt(x, y));
    const ground = { low: Math.min(...heights), high: Math.max(...heights) };
    solid.push(...house(building, ground, lift, base));
  }
  const { staff: pole } = yard;
  const scaled = { band: pole.band * lift, count: pole.count };
  if (field.holds(...pole.at)) solid.push(...staff(pole.at, heightAt(...pole.at), scaled, yard.look.colours));
  return [
    { data: new Float32Array(solid), opacity: 1 },
    { data: new Float32Array(clear), opacity: 0.3 },
  ];
}
