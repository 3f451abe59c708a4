// Where the reader stands: an eye that circles a target, by plain vectors.

const HALF_VIEW = Math.tan((26 * Math.PI) / 360);
export const LOWEST = 6;
export const STEEPEST = 89;

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

export class Eye {
  /** `toward` is the direction of view on the plan in degrees from east, `down` how far the eye looks down. */
  constructor(toward, down, target, distance) {
    this.toward = toward;
    this.down = down;
    this.target = target;
    this.distance = distance;
  }

  axes() {
    const turn = (this.toward * Math.PI) / 180;
    const fall = (this.down * Math.PI) / 180;
    const flat = [Math.cos(turn), Math.sin(turn)];
    const forward = [flat[0] * Math.cos(fall), flat[1] * Math.cos(fall), -Math.sin(fall)];
    const right = [flat[1], -flat[0], 0];
    const up = [flat[0] * Math.sin(fall), flat[1] * Math.sin(fall), Math.cos(fall)];
    return { forward, right, up };
  }

  place() {
    const { forward } = this.axes();
    return this.target.map((value, k) => value - this.distance * forward[k]);
  }

  /** Column-major matrix from metres to clip space. */
  matrix(aspect) {
    const { forward, right, up } = this.axes();
    const at = this.place();
    const near = Math.max(this.distance * 0.02, 0.05);
    const far = this.distance * 4 + 60;
    const slope = (far + near) / (far - near);
    const rows = [
      right.map((v) => v / (HALF_VIEW * aspect)),
      up.map((v) => v / HALF_VIEW),
      forward.map((v) => v * slope),
      forward,
    ];
    const shift = rows.map((row) => -dot(row, at));
    shift[2] -= (2 * far * near) / (far - near);
    const matrix = new Float32Array(16);
    for (let row = 0; row < 4; row++) {
      for (let column = 0; column < 3; column++) matrix[column * 4 + row] = rows[row][column];
      matrix[12 + row] = shift[row];
    }
    return matrix;
  }

  /** Pixels of a point in metres; `depth` is negative behind the eye. */
  project(point, width, height) {
    const { forward, right, up } = this.axes();
    const at = this.place();
    const seen = point.map((value, k) => value - at[k]);
    const depth = dot(seen, forward);
    const scale = height / 2 / HALF_VIEW / Math.max(depth, 1e-6);
    return { x: width / 2 + scale * dot(seen, right), y: height / 2 - scale * dot(seen, up), depth };
  }

  /** The line of sight through a pixel: {from, along}. */
  sight(px, py, width, height) {
    const { forward, right, up } = this.axes();
    const across = ((px - width / 2) / (height / 2)) * HALF_VIEW;
    const above = ((height / 2 - py) / (height / 2)) * HALF_VIEW;
    const along = forward.map((v, k) => v + across * right[k] + above * up[k]);
    return { from: this.place(), along };
  }

  turn(degrees, tilt) {
    this.toward = (this.toward + degrees) % 360;
    this.down = Math.min(Math.max(this.down + tilt, LOWEST), STEEPEST);
  }

  /** Shift the target on the plan by pixels of the picture. */
  slide(dx, dy, height) {
    const { right } = this.axes();
    const metres = (2 * this.distance * HALF_VIEW) / height;
    const turn = (this.toward * Math.PI) / 180;
    const lean = Math.max(Math.sin((this.down * Math.PI) / 180), 0.35);
    this.target[0] += metres * (-dx * right[0] + (dy / lean) * Math.cos(turn));
    this.target[1] += metres * (-dx * right[1] + (dy / lean) * Math.sin(turn));
  }

  /** Stand where all corners are just in the picture. */
  fit(corners, width, height, share) {
    const low = [0, 1, 2].map((k) => Math.min(...corners.map((c) => c[k])));
    const high = [0, 1, 2].map((k) => Math.max(...corners.map((c) => c[k])));
    this.target = low.map((v, k) => (v + high[k]) / 2);
    let [near, far] = [0.5, 2000];
    for (let step = 0; step < 40; step++) {
      this.distance = Math.sqrt(near * far);
      const box = this.boxOf(corners, width, height);
      const fits = box.clear && box.wide <= share * width && box.high <= share * height;
      if (fits) far = this.distance; else near = this.distance;
    }
    this.distance = far;
    for (let step = 0; step < 4; step++) this.centre(corners, width, height);
  }

  centre(corners, width, height) {
    const box = this.boxOf(corners, width, height);
    const metres = (2 * this.distance * HALF_VIEW) / height;
    const { right, up } = this.axes();
    const across = (box.x - width / 2) * metres;
    const above = (height / 2 - box.y) * metres;
    this.target = this.target.map((v, k) => v + across * right[k] + above * up[k]);
  }

  boxOf(corners, width, height) {
    const spots = corners.map((corner) => this.project(corner, width, height));
    const xs = spots.map((s) => s.x);
    const ys = spots.map((s) => s.y);
    const [left, right] = [Math.min(...xs), Math.max(...xs)];
    const [top, foot] = [Math.min(...ys), Math.max(...ys)];
    const clear = spots.every((s) => s.depth > 0.1);
    return { wide: right - left, high: foot - top, x: (left + right) / 2, y: (top + foot) / 2, clear };
  }
}

/** Where a line of sight first meets the surface `heightAt(x, y)` that lies between two levels, or null. */
export function meets({ from, along }, field, heightAt, low, high) {
  if (along[2] > -1e-4) return null;
  const start = Math.max((high - from[2]) / along[2], 0);
  const end = (low - from[2]) / along[2];
  const steps = 240;
  let before = null;
  for (let n = 0; n <= steps; n++) {
    const t = start + (n / steps) * (end - start);
    const spot = from.map((v, k) => v + t * along[k]);
    const over = field.holds(spot[0], spot[1]) ? spot[2] - heightAt(spot[0], spot[1]) : null;
    if (over !== null && over <= 0) {
      if (before === null) return spot;
      const share = before.over / (before.over - over);
      return before.spot.map((v, k) => v + share * (spot[k] - v));
    }
    before = over === null ? null : { over, spot };
  }
  return null;
}
