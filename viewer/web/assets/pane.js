// The part of the plan that is shown: all of it, or a piece of the same shape, enlarged.

const MOST_TIMES = 8; // times

export class Pane {
  constructor() { this.whole(); }

  whole() { [this.times, this.left, this.foot] = [1, 0, 0]; }

  /**
   * South-west corner of what is shown, metres.
   * @param {{ x0: number, y0: number, width: number, height: number }} field
   * @returns {[number, number]}
   */
  corner({ x0, y0, width, height }) { return [x0 + this.left * width, y0 + this.foot * height]; }

  /** @param {number} factor */
  enlarge(factor) {
    this.times = Math.min(Math.max(this.times * factor, 1), MOST_TIMES);
    this.slide(0, 0);
  }

  /**
   * Show what lies so far east and north, in widths and heights of the sheet; never past the edge of the ground.
   * @param {number} east
   * @param {number} north
   */
  slide(east, north) {
    const most = 1 - 1 / this.times;
    this.left = Math.min(Math.max(this.left + east / this.times, 0), most);
    this.foot = Math.min(Math.max(this.foot + north / this.times, 0), most);
  }
}
