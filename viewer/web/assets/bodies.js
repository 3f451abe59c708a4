// What stands on the ground: the stills' trees, houses as plain walls, a ranging staff. Nine numbers a vertex.

import { channels } from "./relief.js";

/** Light of an sRGB share, IEC 61966-2-1. */
function lightOfShare(share) { return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4; }

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

/** A body of a tree lifted onto its ground, its heights drawn `lift` times. */
function lifted(vertices, ground, lift) {
  const found = vertices.slice();
  for (let k = 0; k < found.length; k += 9) {
    found[k + 2] = ground + lift * found[k + 2];
    found[k + 5] /= lift;
  }
  return found;
}

function house({ outline, triangles, floor, rise }, ground, lift, base, walls) {
  const top = lift * (Math.max(floor ?? ground.high, ground.high) - base + rise);
  const foot = lift * (ground.low - base) - 0.1;
  const ink = walls.map((value) => lightOfShare(value / 255));
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

function staff([x, y], ground, { band, count, radius }, colours) {
  const data = [];
  for (let k = 0; k < count; k++) {
    const ends = [ground + k * band, ground + (k + 1) * band];
    const ink = channels(k % 2 ? colours.ink : colours.paper).map(lightOfShare);
    data.push(...lathe(x, y, [radius, radius], ends, 10, ink));
    data.push(...lathe(x, y, [radius, 0], [ends[1], ends[1] + 1e-3], 10, ink));
  }
  return data;
}

/**
 * Everything that stands on the ground, ready for `Relief.setSolids`: houses and staff, then `trees` and what is `laid`.
 * `heightAt` gives drawn metres.
 */
export function bodiesOf(yard, field, { lift, base, heightAt, trees, laid }) {
  const { walls, leaves } = yard.scenery;
  const solid = [];
  for (const building of yard.buildings) {
    const heights = building.outline.map(([x, y]) => field.existingAt(x, y));
    const ground = { low: Math.min(...heights), high: Math.max(...heights) };
    solid.push(...house(building, ground, lift, base, walls));
  }
  const { staff: pole } = yard;
  const scaled = { ...pole, band: pole.band * lift };
  if (field.holds(...pole.at)) solid.push(...staff(pole.at, heightAt(...pole.at), scaled, yard.look.colours));
  const bodies = [{ data: new Float32Array(solid), kind: "", opacity: 1, casts: true, built: false, overhead: false }];
  for (const { at, stem, limbs } of trees) {
    const ground = heightAt(...at);
    bodies.push({ data: lifted(stem, ground, lift), kind: "bark", opacity: 1, casts: true, built: false, overhead: false });
    bodies.push({ data: lifted(limbs, ground, lift), kind: "bark", opacity: 1, casts: false, built: false, overhead: true });
  }
  for (const { kind, casts, data } of laid) {
    bodies.push({ data: lifted(data, -lift * base, lift), kind, opacity: 1, casts, built: true, overhead: false });
  }
  for (const { at, crown } of trees) {
    const data = lifted(crown, heightAt(...at), lift);
    bodies.push({ data, kind: "leaves", opacity: leaves, casts: false, built: false, overhead: true });
  }
  return bodies;
}
