// The owner's photograph: marks set on it by touch, and the mound in it as the command draws it.

import { find } from "./dom.js";
import { shape, words } from "./svg.js";

const LARGER = 3; // times that the piece beside the finger is enlarged
const ROUND = 7; // pixels: radius of a mark

export class OwnPhoto {
  /** `say(mark)` sends a mark to set, {point, u, v, up}, or to take away, {drop}. */
  constructor(yard, say) {
    this.photo = yard.photo;
    this.say = say;
    this.marks = [];
    this.spot = null; // the place touched, pixels of the file's own picture
    this.after = null;
    this.before = new Image();
    this.before.src = this.photo.picture;
    find("photo").hidden = false;
    find("photo-point").append(...this.photo.points.map((name) => new Option(name, name)));
    find("photo-marks").setAttribute("viewBox", `0 0 ${this.photo.size.join(" ")}`);
    find("photo-up").placeholder = yard.units === "ft" ? "8 ft" : "2.4 m";
    this.watch();
    this.show();
  }

  watch() {
    find("photo-state").addEventListener("change", () => this.show());
    find("photo-marks").parentElement.addEventListener("click", (event) => this.touch(event));
    find("photo-set").addEventListener("click", () => this.set());
    find("photo-list").addEventListener("click", (event) => {
      const number = event.target.closest("button")?.dataset.number;
      if (number !== undefined) this.say({ drop: Number(number) });
    });
    new ResizeObserver(() => this.draw()).observe(find("photo-picture"));
    this.watchLoupe(find("loupe"));
  }

  watchLoupe(loupe) {
    let from = null;
    loupe.addEventListener("pointerdown", (event) => {
      loupe.setPointerCapture(event.pointerId);
      from = [event.clientX, event.clientY];
    });
    loupe.addEventListener("pointermove", (event) => {
      if (!from) return;
      this.shift(from[0] - event.clientX, from[1] - event.clientY);
      from = [event.clientX, event.clientY];
    });
    for (const end of ["pointerup", "pointercancel"]) loupe.addEventListener(end, () => { from = null; });
    loupe.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!way) return;
      event.preventDefault();
      this.shift(...way);
    });
  }

  /** Pixels of the file's picture to one of the page's in the enlarged piece. */
  get fineness() { return this.photo.size[0] / this.before.naturalWidth / LARGER; }

  shift(dx, dy) {
    const [wide, high] = this.photo.size;
    const [u, v] = this.spot;
    this.spot = [Math.min(Math.max(u + dx * this.fineness, 0), wide), Math.min(Math.max(v + dy * this.fineness, 0), high)];
    this.draw();
  }

  touch(event) {
    const frame = find("photo-picture").getBoundingClientRect();
    const size = this.photo.size[0] / frame.width;
    this.spot = [(event.clientX - frame.left) * size, (event.clientY - frame.top) * size];
    find("loupe").hidden = false;
    find("photo-set").disabled = false;
    this.draw();
  }

  set() {
    const [u, v] = this.spot;
    const point = find("photo-point");
    this.say({ point: point.value, u, v, up: find("photo-up").value });
    this.spot = null;
    find("loupe").hidden = true;
    find("photo-set").disabled = true;
    this.draw();
  }

  /** The command tells the marks, and what the mound looks like by them or why it cannot be told. */
  take({ marks, misses, picture, word, worth, trouble }) {
    const first = !this.after && picture;
    this.marks = marks;
    this.after = picture ?? null;
    this.word = word;
    find("photo-trouble").textContent = trouble ?? "";
    find("photo-worth").innerHTML = worth ?? "";
    const choices = Object.fromEntries([...find("photo-state").querySelectorAll("input")].map((one) => [one.value, one]));
    choices.after.disabled = !picture;
    if (!picture) choices.before.checked = true; else if (first) choices.after.checked = true;
    find("photo-list").replaceChildren(...marks.map(([point, , , up], k) => this.line(point, up, misses?.[k], k)));
    this.show();
  }

  line(point, up, miss, number) {
    const item = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.className = "where";
    button.dataset.number = number;
    button.textContent = "Remove";
    button.setAttribute("aria-label", `Remove the mark of ${point}`);
    item.append(`${number + 1}. ${point}${up ? ` + ${up}` : ""}${miss === undefined ? "" : `, misses by ${miss} pixels`} `, button);
    return item;
  }

  show() {
    const after = find("photo-state").querySelector("input:checked").value === "after" && this.after;
    const picture = find("photo-picture");
    const source = after || this.photo.picture;
    if (picture.src !== source) picture.src = source;
    find("photo-word").textContent = after ? this.word : "before";
    this.draw();
  }

  draw() {
    const sheet = find("photo-marks");
    const wide = find("photo-picture").clientWidth;
    if (!wide) return;
    const pixel = this.photo.size[0] / wide;
    sheet.replaceChildren();
    const cross = ([u, v], kind) => {
      const long = 2 * ROUND * pixel;
      const line = `M${u - long} ${v}H${u + long}M${u} ${v - long}V${v + long}`;
      for (const name of ["shot-halo", kind]) shape("path", { d: line, class: name }, sheet);
    };
    this.marks.forEach(([point, u, v, up], k) => {
      for (const name of ["shot-halo", "shot-mark"]) shape("circle", { cx: u, cy: v, r: ROUND * pixel, class: name }, sheet);
      const text = words(String(k + 1), [u + 1.6 * ROUND * pixel, v - ROUND * pixel], "shot-name", sheet, "start");
      text.style.fontSize = `${14 * pixel}px`;
      text.style.strokeWidth = `${3 * pixel}px`;
      shape("title", {}, text).textContent = `${point} ${up}`;
    });
    if (this.spot) {
      cross(this.spot, "shot-cross");
      this.drawLoupe();
    }
  }

  drawLoupe() {
    const loupe = find("loupe");
    const sharp = devicePixelRatio || 1;
    const [wide, high] = [loupe.clientWidth * sharp, loupe.clientHeight * sharp];
    if (!wide || !this.before.naturalWidth) return;
    [loupe.width, loupe.height] = [wide, high];
    const kept = this.before.naturalWidth / this.photo.size[0];
    const times = LARGER * sharp;
    const pen = loupe.getContext("2d");
    pen.imageSmoothingEnabled = true;
    const [left, top] = [wide / 2 - this.spot[0] * kept * times, high / 2 - this.spot[1] * kept * times];
    pen.drawImage(this.before, left, top, this.before.naturalWidth * times, this.before.naturalHeight * times);
    for (const { ink, thick } of [{ ink: "#fff", thick: 5 }, { ink: "#2b2620", thick: 2 }]) {
      pen.strokeStyle = ink;
      pen.lineWidth = thick * sharp;
      pen.beginPath();
      for (const [x, y] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(wide / 2 + 7 * sharp * x, high / 2 + 7 * sharp * y);
        pen.lineTo(wide / 2 + 34 * sharp * x, high / 2 + 34 * sharp * y);
      }
      pen.stroke();
    }
  }
}
