// The points of a berm that can be moved on the plan: high points, corners of the bed and points of streams.

import { shape, words } from "./svg.js";
import { showLength, unitLength } from "./units.js";

const THUMB = 44; // pixels between points that a thumb tells from each other
const REACH = { crest: 28, corner: 22, stream: 22 }; // pixels a finger may miss by

export class Handles {
  /**
   * `on.move(kind, index, place, done)`, `on.raise(index, steps)`, `on.remove(kind)` and `on.choose()` tell what the
   * reader does. `kind` is "crest", "corner" or "stream"; an index counts through all rings, or all streams.
   */
  constructor(plan, yard, on) {
    this.plan = plan;
    this.yard = yard;
    this.on = on;
    this.wish = yard.wish;
    this.chosen = { kind: "crest", index: 0 };
    this.corner = 0;
    this.spots = [];
    plan.on.grab = (event) => this.grab(event);
    plan.on.redrawn = () => this.draw(this.wish);
    this.thumbs = matchMedia("(pointer: coarse)");
    this.group = plan.groups.handles;
    // On the plan itself: a group that listens for the focus would take it.
    plan.svg.addEventListener("keydown", (event) => this.key(event));
    plan.svg.addEventListener("focusin", (event) => {
      const handle = event.target.closest(".handle");
      if (!handle) return;
      const spot = this.spots.find(({ kind, index }) => kind === handle.dataset.kind && index === Number(handle.dataset.index));
      if (spot) this.plan.reveal(spot.point);
      this.choose(handle.dataset.kind, Number(handle.dataset.index), false);
    });
  }

  draw(wish) {
    this.wish = wish;
    this.plan.avoid = wish.crest;
    const corners = wish.outline.flat();
    this.corner = Math.min(this.corner, corners.length - 1);
    if (this.chosen.kind === "crest") this.chosen.index = Math.min(this.chosen.index, wish.crest.length - 1);
    else if (this.chosen.kind === "corner") this.chosen.index = this.corner;
    this.spots = [
      ...wish.streams.flat().map((point, index) => ({ kind: "stream", index, point })),
      ...corners.map((point, index) => ({ kind: "corner", index, point })),
      ...wish.crest.map(([x, y, height], index) => ({ kind: "crest", index, point: [x, y], height })),
    ];
    this.spots.forEach((spot) => { spot.at = this.plan.at(spot.point); });
    this.tight = this.thumbs.matches ? this.crowded() : new Set();
    // Handles are moved, not made anew, so that a focused one keeps its focus.
    while (this.group.children.length > this.spots.length) this.group.lastChild.remove();
    this.spots.forEach((spot, k) => this.place(spot, this.group.children[k] ?? shape("g", {}, this.group)));
  }

  /** Points that stand too near to others for a thumb: the plan must be enlarged to take hold of them. */
  crowded() {
    const isChosen = ({ kind, index }) => this.chosen.kind === kind && this.chosen.index === index;
    const rank = (spot) => (isChosen(spot) ? 0 : 1 + ["crest", "stream", "corner"].indexOf(spot.kind));
    const free = [];
    const tight = new Set();
    for (const spot of [...this.spots].sort((a, b) => rank(a) - rank(b))) {
      const near = free.some(({ at: [x, y] }) => Math.hypot(x - spot.at[0], y - spot.at[1]) < THUMB);
      if (near) tight.add(spot); else free.push(spot);
    }
    return tight;
  }

  place(spot, handle) {
    const [x, y] = spot.at;
    const tight = this.tight.has(spot);
    const chosen = this.chosen.kind === spot.kind && this.chosen.index === spot.index;
    const state = [spot.kind, spot.index, x, y, spot.height, chosen, tight, this.corner].join();
    if (handle.dataset.state === state) return;
    handle.dataset.state = state;
    if (handle.dataset.kind !== spot.kind) this.build(handle, spot.kind);
    handle.dataset.index = spot.index;
    handle.setAttribute("class", `handle ${spot.kind}${chosen ? " chosen" : ""}${tight ? " tight" : ""}`);
    handle.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    handle.setAttribute("tabindex", spot.kind !== "corner" || spot.index === this.corner ? "0" : "-1");
    handle.setAttribute("aria-label", this.label(spot));
    const number = handle.querySelector("text");
    if (number) number.textContent = showLength(spot.height, this.yard.units);
  }

  build(handle, kind) {
    handle.replaceChildren();
    handle.dataset.kind = kind;
    handle.setAttribute("role", "button");
    handle.setAttribute("aria-describedby", "point-help");
    shape("circle", { r: kind === "crest" ? 19 : 15, class: "ring" }, handle);
    if (kind === "crest") {
      shape("path", { d: "M0 -12L12 9H-12Z", class: "peak" }, handle);
      words("", [0, 26], "peak-height", handle);
    } else if (kind === "stream") {
      shape("circle", { r: 5.5, class: "stream-mark" }, handle);
    } else {
      shape("path", { d: "M-5 -5H5V5H-5Z", class: "corner-mark" }, handle);
    }
  }

  label({ kind, index, point, height }) {
    const unit = unitLength(this.yard.units);
    const [east, north] = [0, 1].map((k) => ((point[k] + this.yard.origin[k]) / unit).toFixed(2));
    const at = `x ${east}, y ${north}`;
    if (kind === "corner") return `Corner ${index + 1} of the bed, ${at}`;
    if (kind === "stream") return `Point ${index + 1} of the stream, ${at}`;
    return `High point ${index + 1}, ${showLength(height, this.yard.units)}, ${at}`;
  }

  choose(kind, index, focus = true) {
    this.chosen = { kind, index };
    if (kind === "corner") this.corner = index;
    this.draw(this.wish);
    if (focus) this.group.querySelector(".chosen")?.focus({ preventScroll: true });
    this.on.choose();
  }

  /** Out of sight no point can be grabbed. */
  hide(hidden) {
    this.hidden = hidden;
    this.group.setAttribute("visibility", hidden ? "hidden" : "visible");
  }

  /** Take hold of the nearest point under a finger; tells whether there was one. */
  grab(event) {
    if (this.hidden || this.plan.tool !== "read") return false;
    const frame = this.plan.svg.getBoundingClientRect();
    const finger = [event.clientX - frame.left, event.clientY - frame.top];
    const near = this.spots
      .filter((spot) => !this.tight.has(spot))
      .map((spot) => ({ ...spot, off: Math.hypot(spot.at[0] - finger[0], spot.at[1] - finger[1]) / REACH[spot.kind] }))
      .filter(({ off }) => off <= 1)
      .sort((a, b) => a.off - b.off)[0];
    if (!near) return false;
    event.preventDefault();
    this.choose(near.kind, near.index);
    this.follow(event.pointerId, near, [near.at[0] - finger[0], near.at[1] - finger[1]]);
    return true;
  }

  /** Move a point with the finger, by the offset at which it was grabbed. */
  follow(pointer, { kind, index }, offset) {
    const { svg } = this.plan;
    svg.setPointerCapture(pointer);
    svg.classList.add("moving");
    let moved = false;
    const move = (event) => {
      if (event.pointerId !== pointer) return;
      moved = true;
      this.on.move(kind, index, this.placeOf(event, offset), false);
    };
    const end = (event) => {
      if (event.pointerId !== pointer) return;
      svg.removeEventListener("pointermove", move);
      svg.removeEventListener("pointerup", end);
      svg.removeEventListener("pointercancel", end);
      svg.classList.remove("moving");
      if (moved) this.on.move(kind, index, this.placeOf(event, offset), true);
    };
    svg.addEventListener("pointermove", move);
    svg.addEventListener("pointerup", end);
    svg.addEventListener("pointercancel", end);
  }

  placeOf(event, offset) {
    const frame = this.plan.svg.getBoundingClientRect();
    const spot = this.plan.place(event.clientX - frame.left + offset[0], event.clientY - frame.top + offset[1]);
    return this.snapped(this.plan.held(spot));
  }

  /**
   * The nearest place that a tape shows: 0.05 ft or 1 cm in survey coordinates.
   * @returns {[number, number]}
   */
  snapped({ x, y }) {
    const step = this.yard.units === "ft" ? 0.05 * unitLength("ft") : 0.01;
    const [east, north] = this.yard.origin;
    return [Math.round((x + east) / step) * step - east, Math.round((y + north) / step) * step - north];
  }

  key(event) {
    const handle = event.target.closest(".handle");
    if (!handle || event.ctrlKey || event.metaKey || event.altKey) return;
    const [kind, index] = [handle.dataset.kind, Number(handle.dataset.index)];
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const corners = this.wish.outline.flat().length;
    const raise = (steps) => () => this.on.raise(index, steps);
    const go = (steps) => () => this.choose("corner", (index + corners + steps) % corners);
    const remove = () => this.on.remove(kind);
    const turn = kind === "corner" ? { PageDown: go(1), PageUp: go(-1) } : {};
    const own = kind === "crest" ? { "+": raise(1), "=": raise(1), "-": raise(-1) } : turn;
    const deed = { Delete: remove, Backspace: remove, ...own }[event.key];
    if (ways[event.key]) this.push(kind, index, ways[event.key], event.shiftKey);
    else if (deed) deed();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  push(kind, index, way, far) {
    const step = (this.yard.units === "ft" ? 0.25 * unitLength("ft") : 0.05) * (far ? 4 : 1);
    const [x, y] = this.spots.find((spot) => spot.kind === kind && spot.index === index).point;
    const place = this.snapped(this.plan.held({ x: x + step * way[0], y: y + step * way[1] }));
    this.on.move(kind, index, place, true);
  }
}
