// The live page: hands change a wish, the command on this machine shapes it, everything drawn follows.

import { Controls } from "./controls.js";
import { Desk, choose, valuesInPage } from "./desk.js";
import { find } from "./dom.js";
import { Field, decoded } from "./field.js";
import { Handles } from "./handles.js";
import { Line, versionOf } from "./line.js";
import { OwnPhoto } from "./ownphoto.js";
import { withCorner, withCornerAt, withCrestAt, withCrestPoint, withHeight, withStreamAt } from "./wishes.js";
import { withoutCorner, withoutCrestPoint } from "./wishes.js";

const LOST = "The command on this machine does not answer. Your changes are kept; trying again…";

class Live {
  constructor(yard) {
    this.yard = yard;
    this.wish = this.good = yard.wish; // as drawn, and as the command last took it
    this.seq = 0;
    this.awaited = 0;
    this.waiting = false;
    this.grounds = {};
    this.asked = null; // the wish last let go of, with its number
    this.refused = Infinity; // the number of the wish that the words in red are about
    // What is said of either version, the heights built at its high points, and its toe.
    this.versions = { now: { panels: {}, built: null, toe: yard.toe, water: yard.water, laid: yard.laid }, kept: null };
    this.timings = [];
    this.photo = yard.photo ? new OwnPhoto(yard, (mark) => this.line.say({ do: "mark", seq: 0, mark })) : null;
    this.line = new Line({
      heights: (head, codes) => this.heights(head, codes),
      words: (message) => this.words(message),
      lost: () => this.tell(LOST, true),
      found: () => { if (find("news").textContent === LOST) this.tell(""); },
    });
    this.ready = new Promise((done) => { this.isReady = done; });
  }

  /** The first heights are here: set up everything that draws. */
  begin(field) {
    const { yard } = this;
    this.desk = new Desk(yard, field);
    this.handles = new Handles(this.desk.plan, yard, {
      move: (kind, index, place, done) => this.move(kind, index, place, done),
      raise: (index, steps) => this.change(withHeight(this.wish, index, this.controls.raised(this.wish.crest[index][2], steps)), true),
      remove: (kind) => this.remove(kind),
      choose: () => this.showControls(),
    });
    const pick = (index) => this.handles.choose("crest", index, false);
    this.controls = new Controls(yard, (wish, done) => this.change(wish, done), pick);
    this.alone = this.wish.outline.flat().length <= 16;
    find("bend").querySelector(`input[value=${this.alone ? "alone" : "together"}]`).checked = true;
    choose("bend", (value) => { this.alone = value === "alone"; });
    choose("state", () => this.view());
    new ResizeObserver(() => this.handles.draw(this.wish)).observe(find("plan"));
    this.watch();
    this.show();
  }

  get chosenPoint() { return this.handles.chosen.kind === "crest" ? this.handles.chosen.index : -1; }

  watch() {
    const deeds = {
      undo: () => this.ask("undo"), redo: () => this.ask("redo"), save: () => this.ask("save", "Saving…"),
      "plan-set": () => this.ask("plan", "Writing the plan set…"), keep: () => this.keep(),
      "to-kept": () => this.change(this.keptWish, true),
      "add-point": () => this.addPoint(), "remove-point": () => this.remove("crest"),
      "add-corner": () => this.addCorner(), "remove-corner": () => this.remove("corner"),
      again: () => location.reload(),
    };
    for (const [id, deed] of Object.entries(deeds)) find(id).addEventListener("click", deed);
    document.addEventListener("keydown", (event) => {
      if (!event.ctrlKey && !event.metaKey) return;
      const key = event.key.toLowerCase();
      const deed = { s: "save", y: "redo", z: event.shiftKey ? "redo" : "undo" }[key];
      if (!deed) return;
      event.preventDefault();
      if (!this.showsKept) deeds[deed]();
    });
  }

  get showsKept() { return this.desk?.state === 2; }

  /** What is looked at. */
  get version() { return this.showsKept ? this.versions.kept : this.versions.now; }

  get shownWish() { return this.showsKept ? this.keptWish : this.wish; }

  /** Show what belongs to the version that is looked at: its line, its points, its numbers. Only "now" can be shaped. */
  view() {
    this.handles.hide(this.showsKept);
    find("shaping").inert = this.showsKept;
    this.flags();
    this.show(true, false);
    this.fill(this.version.panels);
    this.setStale(this.stale);
    this.tellKept();
  }

  /** Look at what is being shaped. */
  viewNow() {
    if (this.desk.state === 1) return;
    find("state").querySelector("input[value='1']").checked = true;
    this.desk.show(1);
    this.view();
  }

  /** Take a new wish, draw it at once, and have it shaped; `done` when the hand has let go. */
  change(wish, done) {
    this.viewNow();
    // A hand that lets go has mostly moved no further: drawing the same line again would hold up the shape.
    const outline = String(wish.outline) !== String(this.wish.outline);
    this.wish = wish;
    this.show(outline);
    this.setStale(true);
    if (done) {
      this.settled = { seq: this.seq + 1, at: performance.now() };
      this.asked = { seq: this.seq + 1, wish };
    }
    // One shape at a time is on its way while the hand moves; the newest wish goes when it has been drawn.
    if (!done && this.awaited) this.waiting = true; else this.send(done);
  }

  send(done) {
    this.waiting = false;
    this.awaited = ++this.seq;
    this.line.say({ do: done ? "settle" : "shape", seq: this.seq, wish: this.wish });
  }

  /** A shape that was on its way is here, or will not come. */
  arrived(seq) {
    if (seq !== undefined && seq < this.awaited) return;
    this.awaited = 0;
    if (this.waiting) this.send(false);
  }

  show(outline = true, moving = true) {
    const { shownWish } = this;
    if (outline) {
      this.desk.plan.setOutline(shownWish.outline);
      this.desk.stage.setOutline(shownWish.outline, moving);
    }
    this.desk.setWater(this.version, moving);
    this.handles.draw(shownWish);
    this.showControls();
  }

  showControls() {
    const { built, toe } = this.version;
    this.controls.toe = toe;
    this.controls.show(this.shownWish, built, this.chosenPoint);
  }

  /** Whether the findings are of an earlier shape than the one that is shown. */
  setStale(stale) {
    this.stale = stale;
    find("stale").hidden = this.showsKept || !stale;
  }

  move(kind, index, place, done) {
    if (kind === "crest") {
      this.change(withCrestAt(this.wish, index, place), done);
    } else if (kind === "stream") {
      this.change(withStreamAt(this.wish, index, place), done);
    } else {
      this.held ??= this.wish;
      this.change(withCornerAt(this.held, index, place, this.alone ? 0 : this.controls.reach), done);
      if (done) this.held = null;
    }
    this.told = { kind, index };
    this.tellPoint();
  }

  /** Where the point stands that was last moved. */
  tellPoint() {
    const { told } = this;
    const spot = told && this.handles.spots.find(({ kind, index }) => kind === told.kind && index === told.index);
    if (spot) find("reading").textContent = this.handles.label(spot);
  }

  addPoint() {
    const { mark, field } = this.desk;
    const top = field.top();
    const place = this.handles.snapped(mark ?? { x: top.x + 0.5, y: top.y + 0.5 });
    const wished = Math.max(field.changeAt(...place), 0.15);
    const { wish, index } = withCrestPoint(this.wish, place, this.controls.raised(wished, 0));
    this.change(wish, true);
    this.handles.choose("crest", index);
  }

  addCorner() {
    const { mark } = this.desk;
    if (!mark) {
      this.tell("Touch the plan where the corner shall be, then add it.");
      return;
    }
    const { wish, index } = withCorner(this.wish, this.handles.snapped(mark));
    this.change(wish, true);
    this.handles.choose("corner", index);
  }

  remove(kind) {
    const { chosen } = this.handles;
    if (kind === "stream") this.tell("The points of a stream are moved here; add and remove them in the site file.");
    else if (chosen.kind !== kind) this.tell(`Touch the ${kind === "crest" ? "high point" : "corner"} to remove first.`);
    else if (kind === "corner") this.change(withoutCorner(this.wish, chosen.index), true);
    else if (this.wish.crest.length > 1) this.change(withoutCrestPoint(this.wish, chosen.index), true);
    else this.tell("A mound needs one high point.");
  }

  /** Ask for a deed; `words` are said while it is done. */
  ask(what, words = "") {
    this.viewNow();
    this.seq++;
    if (this.line.say({ do: what, seq: this.seq }) && words) this.tell(words);
  }

  keep() {
    this.viewNow();
    this.keptWish = this.wish;
    const { panels, ...rest } = this.versions.now;
    this.setKept(this.desk.field, { ...rest, panels: { ...panels } });
    this.line.say({ do: "keep", seq: this.seq });
    this.tell("This version is kept to compare with.");
  }

  setKept(field, version) {
    this.desk.kept = field;
    this.versions.kept = version;
    find("kept-words").hidden = find("to-kept").hidden = false;
    this.tellKept();
    find("state").querySelector("input[value='2']").disabled = false;
    if (this.showsKept) {
      this.desk.drawField();
      this.view();
    }
    this.desk.cut();
  }

  tellKept() {
    const { kept } = this.versions;
    if (!kept) return;
    find("kept-words").textContent = this.showsKept
      ? "These figures are the kept version's. Choose “Now” to go on shaping." : `Kept version: ${kept.panels.headline}.`;
  }

  heights(head, codes) {
    const values = decoded(head, codes);
    if (head.say === "ground") {
      const { cell, nx, ny } = head;
      this.grounds[head.on] = new Field({ x0: 0, y0: 0, cell, nx, ny }, values, new Float32Array(nx * ny));
      return;
    }
    const field = this.grounds[head.on].changed(values);
    if (!this.desk) this.begin(field);
    if (head.say === "kept") this.setKept(field, versionOf(head));
    else if (head.on === "quick" || head.seq === this.seq) this.take(head, field);
  }

  /** A shape has come: draw it everywhere. */
  take(head, field) {
    const { now } = this.versions;
    this.versions.now = versionOf(head, now.panels);
    if (!this.showsKept) this.desk.setWater(this.versions.now, head.on === "quick");
    if (head.seq > this.refused && find("news").classList.contains("trouble")) this.tell("");
    this.desk.setField(field, head.on === "quick");
    if (!this.showsKept) this.fill(head.panels);
    this.showControls();
    if (head.on === "full") {
      this.setStale(false);
      this.desk.stage.stand();
      this.desk.stage.drape();
      this.full = head.seq;
      document.documentElement.dataset.full = head.seq;
    }
    const { settled } = this;
    this.desk.stage.painted().then(() => {
      this.arrived(head.seq);
      if (!document.documentElement.dataset.ready) this.isReady();
      document.documentElement.dataset.ready = "yes";
      if (settled?.seq === head.seq && head.on === "quick") {
        const timing = { picture: performance.now() - settled.at, server: head.ms };
        this.timings.push(timing);
        // The next frame begins once this one is on its way to the screen.
        requestAnimationFrame(() => { timing.shown = performance.now() - settled.at; });
      }
    });
  }

  fill(panels) {
    for (const [name, html] of Object.entries(panels)) {
      const part = find(name);
      if (name === "headline") part.textContent = html; else part.innerHTML = html;
    }
    this.glance();
  }

  /** Soil and look in a corner of the picture, which stays in sight on a phone. */
  glance() {
    const soil = document.querySelector("#order tr.first td")?.textContent ?? "";
    const look = [...document.querySelectorAll("#look li b")].map((mark) => mark.textContent);
    const broken = [...document.querySelectorAll("#limits .broken b")].map((mark) => mark.textContent);
    find("glance").replaceChildren(soil, ...[...broken, ...look].map((text) => {
      const line = document.createElement("span");
      line.textContent = text;
      return line;
    }));
  }

  words(message) {
    if (message.say === "hello") this.hello(message);
    else if (message.say === "state") this.state(message);
    else if (message.say === "look") this.look(message);
    else if (message.say === "photo") this.photo.take(message);
    else if (message.say === "done") this.tell(message.text);
    else if (message.say === "refused") this.refuse(message);
    else if (message.say === "busy") this.busy(message.text);
  }

  hello(message) {
    this.awaited = 0;
    this.flags(message);
    if (this.desk && this.wish !== this.good) {
      this.change(this.wish, true); // what the command has not taken yet
    } else {
      this.good = message.wish;
      this.goBack();
    }
    if (message.text) this.tell(message.text);
  }

  /** The command tells where the steps stand: at the wish it names, or at the one that was let go of last. */
  state(message) {
    if (message.wish) {
      this.good = message.wish;
      if (message.seq === this.seq) this.goBack();
    } else if (this.asked?.seq === message.seq) {
      this.good = this.asked.wish;
    }
    this.flags(message);
  }

  /** Draw the wish as the command has it, everywhere. */
  goBack() {
    this.wish = this.good;
    this.held = null;
    this.waiting = false;
    if (!this.desk || this.showsKept) return;
    this.show();
    this.tellPoint();
  }

  flags(told = this.steps) {
    this.steps = told;
    const { undo, redo, unsaved, kept } = told;
    this.keptWish = kept;
    find("undo").disabled = !undo || this.showsKept;
    find("redo").disabled = !redo || this.showsKept;
    find("save").disabled = !unsaved || this.showsKept;
    find("plan-set").disabled = this.showsKept;
    this.unsaved = unsaved;
    document.documentElement.dataset.unsaved = unsaved ? "yes" : "no";
  }

  look({ seq, panels }) {
    if (seq !== this.seq) return;
    Object.assign(this.versions.now.panels, panels);
    if (!this.showsKept) this.fill(panels);
    if (this.settled?.seq === seq && this.timings.length) this.timings.at(-1).look ??= performance.now() - this.settled.at;
  }

  /** Something was refused: say why; with a wish let go of comes the last one that was taken, and all goes back to it. */
  refuse(message) {
    const { text, seq, wish } = message;
    this.tell(text, true);
    this.refused = seq ?? Infinity;
    this.arrived(seq);
    if (!wish) return;
    this.good = wish;
    this.flags(message);
    if (seq === this.seq) this.goBack();
  }

  busy(text) {
    find("busy-words").textContent = text;
    find("busy").hidden = false;
    find("headline").textContent = "";
    find("again").addEventListener("click", () => location.reload());
    document.documentElement.dataset.busy = "yes";
  }

  tell(text, trouble = false) {
    find("news").textContent = text;
    find("news").classList.toggle("trouble", trouble);
    clearTimeout(this.hush);
    if (text && text !== LOST) this.hush = setTimeout(() => this.tell(""), 12_000);
  }
}

globalThis.hummock = new Live(valuesInPage());
