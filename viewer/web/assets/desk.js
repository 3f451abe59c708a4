// The parts that both pages have: picture, plan and section, and the choices beside them.

import { find } from "./dom.js";
import { levelLines } from "./contours.js";
import { Plan, reading } from "./plan.js";
import { foldsAway, holdsInPrint } from "./paper.js";
import { drawSection, isSection } from "./section.js";
import { Stage } from "./stage.js";
import { showLength, showSlope } from "./units.js";

export class Desk {
  constructor(yard, field) {
    this.yard = yard;
    this.field = field;
    this.kept = null;
    this.crew = null; // the view for the crew, where the page has one
    this.tell = reading;
    // What the page counts with, for whoever checks it from outside.
    this.units = { showLength, showSlope };
    this.contours = { levelLines };
    this.state = 1;
    this.mark = null;
    this.section = yard.sections[0] ?? null;
    this.room = 90; // pixels that the section's heights are enlarged to
    const mark = (place) => this.setMark(place);
    this.stage = new Stage(find("relief"), find("tags"), yard, field, mark);
    const section = (start, end, event) => {
      this.setSection({ letter: "C", start, end });
      this.showBeside(event);
    };
    const sheets = { svg: find("plan"), under: find("under"), canvas: find("land") };
    this.plan = new Plan(sheets, yard, field, { mark, section });
    find("no-relief").hidden = Boolean(this.stage.relief);
    this.watch();
    this.offerSections();
    this.setSection(this.section);
    this.legend();
    new ResizeObserver(() => this.cut()).observe(find("section").parentElement);
  }

  watch() {
    choose("state", (value) => this.show(Number(value)));
    choose("ground", (value) => this.stage.setTinted(value === "depth"));
    choose("lift", (value) => this.stage.setLift(Number(value)));
    choose("tool", (value) => this.setTool(value));
    choose("scale", (value) => {
      this.room = value === "true" ? 0 : 90;
      this.cut();
    });
    const sizes = { in: () => this.plan.enlarge(1.6), out: () => this.plan.enlarge(1 / 1.6), whole: () => this.plan.showWhole() };
    for (const button of find("sizes").querySelectorAll("button")) button.addEventListener("click", sizes[button.dataset.size]);
    foldsAway(find("fold"), this.stage);
    holdsInPrint(this.stage);
    for (const button of find("looks").querySelectorAll("button")) {
      button.addEventListener("click", () => this.stage.look(button.dataset.look));
    }
    document.addEventListener("click", (event) => {
      const where = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("[data-x]"));
      if (where) this.showWhere(where.dataset);
    });
    find("plan").addEventListener("keydown", (event) => this.sectionKey(event));
  }

  /**
   * Mark a place on the plan and the picture, and cut the ground where its sign shows.
   * @param {DOMStringMap} told
   */
  showWhere({ x, y, cut }) {
    this.plan.reveal([Number(x), Number(y)]);
    this.setMark({ x: Number(x), y: Number(y) });
    const [x1, y1, x2, y2] = (cut ?? "").split(" ").map(Number);
    if (cut) this.setSection({ letter: "C", start: { x: x1, y: y1 }, end: { x: x2, y: y2 } });
    find("plan").scrollIntoView({ block: "center" });
  }

  setTool(tool) {
    this.plan.tool = tool;
    find("plan").classList.toggle("cutting", tool === "section");
  }

  /** S starts a section at the mark, E ends it there. */
  sectionKey(event) {
    const end = { s: "start", e: "end" }[event.key.toLowerCase()];
    if (!end || !this.mark || event.ctrlKey || event.metaKey || !this.section) return;
    event.preventDefault();
    const section = { ...this.section, letter: "C", [end]: { ...this.mark } };
    this.setSection(section);
  }

  /** 0 shows the ground as it is, 1 as built, 2 the kept version. */
  show(state) {
    this.state = state;
    this.drawField();
    this.stage.setAfter(state ? 1 : 0);
    this.plan.setAfter(state ? 1 : 0);
    this.read();
  }

  get shownField() { return this.state === 2 && this.kept ? this.kept : this.field; }

  drawField() {
    this.stage.setField(this.shownField);
    this.plan.setField(this.shownField);
  }

  /** Show another shape of the ground: the picture at once, plan and section in the frame after it. */
  setField(field, moving = false) {
    this.field = field;
    this.stage.setMoving(moving);
    this.stage.setField(this.shownField);
    this.plan.lean = moving && Boolean(this.stage.relief?.byHand);
    this.following ??= this.stage.painted().then(() => {
      this.following = null;
      this.plan.setField(this.shownField);
      this.cut();
      this.read();
    });
  }

  setMark(mark) {
    this.mark = mark;
    this.stage.setMark(mark);
    this.plan.setMark(mark);
    this.read();
  }

  read() {
    if (this.mark) find("reading").textContent = this.tell(this.yard, this.shownField, this.mark, this.state);
  }

  /** Show another section; a line of no length is none, and the one before stays. */
  setSection(section) {
    if (section && !isSection(section)) return;
    this.section = section;
    this.plan.setSection(section);
    this.cut();
    for (const button of find("sections").querySelectorAll("button")) {
      button.setAttribute("aria-pressed", String(button.dataset.letter === section?.letter));
    }
  }

  /** While a finger draws a section over the plan, show it where the finger is not. */
  showBeside(event) {
    const svg = find("beside");
    const drawing = event.type === "pointermove" && event.pointerType === "touch" && isSection(this.section);
    svg.toggleAttribute("hidden", !drawing);
    svg.replaceChildren();
    if (!drawing) return;
    const frame = svg.parentElement.getBoundingClientRect();
    svg.classList.toggle("low", event.clientY - frame.top < frame.height / 2);
    drawSection(svg, this.yard, this.shownField, this.section, null, Math.min(this.room, 50));
  }

  cut() {
    const kept = this.kept && this.state !== 2 ? this.kept : null;
    find("section-words").textContent = drawSection(find("section"), this.yard, this.shownField, this.section, kept, this.room);
  }

  offerSections() {
    for (const section of this.yard.sections) {
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.letter = section.letter;
      button.innerHTML = "<span></span>";
      button.firstChild.textContent = `${section.letter}–${section.letter}′`;
      button.addEventListener("click", () => this.setSection(section));
      find("sections").append(button);
    }
  }

  /** The water of streams, on the plan and on the ground, and what is laid beside it. */
  setWater({ water, laid }, moving = false) {
    this.plan.setWater(water);
    this.stage.setWater(water, moving);
    this.stage.setLaid(laid);
  }

  /** The tints with their depths, as words beside each patch. */
  legend() {
    const { units, look } = this.yard;
    const items = look.colours.fill.map((_, k) => {
      const from = showLength(k * look.depth_step, units);
      const to = showLength((k + 1) * look.depth_step, units);
      return [`patch fill-${k + 1}`, k < 4 ? `${from.replace(/ (in|cm)$/, "")} to ${to}` : `over ${from}`];
    });
    if (this.field.dug()) items.push(["patch cut", "dug, deeper is darker"]);
    if (this.yard.water.length) items.push(["patch water", "water"]);
    items.push(["stroke proposed", "finished contour"], ["stroke existing", "existing contour"]);
    items.push(["stroke outline", "bed"], ["stroke keep-off", "keep-off: no fill"], ["stroke root-zone", "root protection zone"]);
    find("key").replaceChildren(...items.map(([kind, text]) => {
      const item = document.createElement("li");
      const patch = document.createElement("i");
      patch.className = kind;
      item.append(patch, text);
      return item;
    }));
  }
}

/** Call `then` with the value of the radio button that is chosen in a set. */
export function choose(id, then) {
  find(id).addEventListener("change", (event) => then(event.target.value));
}

/** The yard's values that stand in the page. */
export function valuesInPage() { return JSON.parse(find("yard").textContent); }
