// The ground as the page knows it: existing grade and the change of it on one grid, metres from the page's corner.

export class Field {
  /**
   * `existing` and `change` hold nx * ny metres, row 0 in the south.
   * @param {{ x0: number, y0: number, cell: number, nx: number, ny: number }} grid
   * @param {ArrayLike<number>} existing
   * @param {ArrayLike<number>} change
   */
  constructor(grid, existing, change) {
    this.x0 = grid.x0;
    this.y0 = grid.y0;
    this.cell = grid.cell;
    this.nx = grid.nx;
    this.ny = grid.ny;
    this.existing = existing;
    this.change = change;
  }

  get width() { return (this.nx - 1) * this.cell; }

  get height() { return (this.ny - 1) * this.cell; }

  /**
   * Bilinear value at a place in metres; beyond the edge, the edge's.
   * @param {ArrayLike<number>} values
   * @param {number} x
   * @param {number} y
   */
  sample(values, x, y) {
    const i = Math.min(Math.max((x - this.x0) / this.cell, 0), this.nx - 1);
    const j = Math.min(Math.max((y - this.y0) / this.cell, 0), this.ny - 1);
    const i0 = Math.min(Math.floor(i), this.nx - 2);
    const j0 = Math.min(Math.floor(j), this.ny - 2);
    const u = i - i0;
    const v = j - j0;
    const at = j0 * this.nx + i0;
    const south = values[at] * (1 - u) + values[at + 1] * u;
    const north = values[at + this.nx] * (1 - u) + values[at + this.nx + 1] * u;
    return south * (1 - v) + north * v;
  }

  existingAt(x, y) { return this.sample(this.existing, x, y); }

  changeAt(x, y) { return this.sample(this.change, x, y); }

  holds(x, y) {
    return x >= this.x0 && y >= this.y0 && x <= this.x0 + this.width && y <= this.y0 + this.height;
  }

  /** The same ground with another change. */
  changed(change) { return new Field(this, this.existing, change); }

  /** Highest node of the change: {x, y, depth}. */
  top() {
    let best = 0;
    for (let k = 1; k < this.change.length; k++) if (this.change[k] > this.change[best]) best = k;
    const i = best % this.nx;
    return { x: this.x0 + i * this.cell, y: this.y0 + (best - i) / this.nx * this.cell, depth: this.change[best] };
  }

  /** [west, south, east, north] of the ground that is dug, metres; null where none is. */
  dug() {
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    for (let k = 0; k < this.change.length; k++) {
      if (this.change[k] > -0.01) continue;
      const x = this.x0 + (k % this.nx) * this.cell;
      const y = this.y0 + Math.floor(k / this.nx) * this.cell;
      box[0] = Math.min(box[0], x);
      box[1] = Math.min(box[1], y);
      box[2] = Math.max(box[2], x);
      box[3] = Math.max(box[3], y);
    }
    return box[0] < Infinity ? box : null;
  }

  /** Lowest and highest of existing and finished grade, metres. */
  range() {
    let low = Infinity;
    let high = -Infinity;
    for (let k = 0; k < this.existing.length; k++) {
      const before = this.existing[k];
      const after = before + this.change[k];
      low = Math.min(low, before, after);
      high = Math.max(high, before, after);
    }
    return { low, high };
  }
}

/** 16-bit codes to metres. */
export function decoded({ low, step }, codes) {
  const values = new Float32Array(codes.length);
  for (let k = 0; k < codes.length; k++) values[k] = low + step * codes[k];
  return values;
}

/** Codes from the text of a page: base64, deflated, low bytes before high bytes, each row less the one south of it. */
export async function unpacked(text, nx, ny) {
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  const count = nx * ny;
  const codes = new Uint16Array(count);
  for (let k = 0; k < count; k++) {
    const south = k >= nx ? codes[k - nx] : 0;
    codes[k] = south + bytes[k] + 256 * bytes[count + k];
  }
  return codes;
}
