// The live page: hands change a wish, the command on this machine shapes it, everything drawn follows.

import { Controls } from "./controls.js";
import { Desk, choose, valuesInPage } from "./desk.js";
import { find } from "./dom.js";
import { Field, decoded } from "./field.js";
import { Handles } from "./handles.js";
import { Line } from "./line.js";
import { withCorner, withCornerAt, withCrestAt, withCrestPoint, withHeight, withoutCorner, withoutCrestPoint } from "./wishes.js";

class Live {
  constructor(yard) {
    this.yard = yard;
    this.wish = this.good = yard.wish;
    this.seq = 0;
    this.awaited = 0;
    this.waiting = false;
    this.grounds = {};
    this.built = null;
    this.timings = [];
    this.line = new Line({
      heights: (head, codes) => this.heights(head, codes),
      words: (message) => this.words(message),
      lost: () => this.tell("The command on this machine does not answer. Your changes are kept; trying again…", true),
      found: () => this.tell(""),
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
      choose: () => this.controls.show(this.wish, this.built, this.chosenPoint),
    });
    const pick = (index) => this.handles.choose("crest", index, false);
    this.controls = new Controls(yard, (wish, done) => this.change(wish, done), pick);
    this.alone = this.wish.outline.flat().length <= 16;
    document.querySelector(`#bend input[value=${this.alone ? "alone" : "together"}]`).checked = true;
    choose("bend", (value) => { this.alone = value === "alone"; });
    new ResizeObserver(() => this.handles.draw(this.wish)).observe(find("plan"));
    this.watch();
    this.show();
  }

  get chosenPoint() { return this.handles.chosen.kind === "crest" ? this.handles.chosen.index : -1; }

  watch() {
    const deeds = {
      undo: () => this.ask("undo"), redo: () => this.ask("redo"), save: () => this.say("save", "Saving…"),
      "plan-set": () => this.say("plan", "Writing the plan set…"), keep: () => this.keep(),
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
      deeds[deed]();
    });
  }

  /** Take a new wish, draw it at once, and have it shaped; `done` when the hand has let go. */
  change(wish, done) {
    // A hand that lets go has mostly moved no further: drawing the same line again would hold up the shape.
    const outline = String(wish.outline) !== String(this.wish.outline);
    this.wish = wish;
    this.show(outline);
    find("stale").hidden = false;
    if (done) this.settled = { seq: this.seq + 1, at: performance.now() };
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

  show(outline = true) {
    if (outline) {
      this.desk.plan.setOutline(this.wish.outline);
      this.desk.stage.setOutline(this.wish.outline, true);
    }
    this.handles.draw(this.wish);
    this.controls.show(this.wish, this.built, this.chosenPoint);
  }

  move(kind, index, place, done) {
    if (kind === "crest") {
      this.change(withCrestAt(this.wish, index, place), done);
    } else {
      this.held ??= this.wish;
      this.change(withCornerAt(this.held, index, place, this.alone ? 0 : this.controls.reach), done);
      if (done) this.held = null;
    }
    find("reading").textContent = this.handles.label(this.handles.spots.find((s) => s.kind === kind && s.index === index));
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
    if (chosen.kind !== kind) this.tell(`Touch the ${kind === "crest" ? "high point" : "corner"} to remove first.`);
    else if (kind === "corner") this.change(withoutCorner(this.wish, chosen.index), true);
    else if (this.wish.crest.length > 1) this.change(withoutCrestPoint(this.wish, chosen.index), true);
    else this.tell("A mound needs one high point.");
  }

  ask(what) {
    this.seq++;
    this.line.say({ do: what, seq: this.seq });
  }

  say(what, words) {
    if (this.line.say({ do: what })) this.tell(words);
  }

  keep() {
    this.keptWish = this.wish;
    this.setKept(this.desk.field, find("headline").textContent);
    this.line.say({ do: "keep" });
    this.tell("This version is kept to compare with.");
  }

  setKept(field, words) {
    this.desk.kept = field;
    find("kept-words").textContent = `Kept version: ${words}.`;
    find("kept-words").hidden = find("to-kept").hidden = false;
    document.querySelector("#state input[value='2']").disabled = false;
    this.desk.cut();
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
    if (head.say === "kept") this.setKept(field, head.panels.headline);
    else if (head.on === "quick" || head.seq === this.seq) this.take(head, field);
  }

  /** A shape has come: draw it everywhere. */
  take(head, field) {
    this.built = head.crest;
    this.controls.toe = head.toe;
    if (head.seq === this.seq) this.good = this.wish;
    this.desk.setField(field, head.on === "quick");
    this.fill(head.panels);
    this.controls.show(this.wish, this.built, this.chosenPoint);
    if (head.on === "full") {
      find("stale").hidden = true;
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
    else if (message.say === "done") this.tell(message.text);
    else if (message.say === "refused") this.refuse(message);
    else if (message.say === "busy") this.busy(message.text);
  }

  hello(message) {
    this.awaited = 0;
    if (this.desk && this.wish !== this.good) this.line.say({ do: "settle", seq: ++this.seq, wish: this.wish });
    else this.wish = this.good = message.wish;
    this.keptWish = message.kept;
    this.flags(message);
    if (message.text) this.tell(message.text);
  }

  state(message) {
    if (message.wish) {
      this.wish = this.good = message.wish;
      this.show();
    }
    this.flags(message);
  }

  flags({ undo, redo, unsaved }) {
    find("undo").disabled = !undo;
    find("redo").disabled = !redo;
    find("save").disabled = !unsaved;
    this.unsaved = unsaved;
    document.documentElement.dataset.unsaved = unsaved ? "yes" : "no";
  }

  look({ seq, panels }) {
    if (seq !== this.seq) return;
    this.fill(panels);
    if (this.settled?.seq === seq && this.timings.length) this.timings.at(-1).look ??= performance.now() - this.settled.at;
  }

  /** A wish that cannot be built: say why; once the hand has let go, go back to the last one that could. */
  refuse({ text, seq }) {
    this.tell(text, true);
    this.arrived(seq);
    const held = document.querySelector("#plan.moving");
    if (!held && (seq === undefined || seq === this.seq) && this.wish !== this.good) {
      this.wish = this.good;
      this.show();
    }
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
    if (text && !trouble) this.hush = setTimeout(() => this.tell(""), 12_000);
  }
}

globalThis.hummock = new Live(valuesInPage());
