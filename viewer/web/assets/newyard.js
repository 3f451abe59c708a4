// The page of a new yard: hands type and tap, the command on this machine reads and works it, everything here follows.

import { find } from "./dom.js";
import { Field, decoded } from "./field.js";
import { part } from "./fieldparts.js";
import { firstLay, refusedPicture, shrunk, tapedLay } from "./laying.js";
import { Line } from "./line.js";
import { YardPlan } from "./tracing.js";
import { showLength, unitLength } from "./units.js";
import { NEAR_DOUBT, SINGLE, ownRows, showChoices, showCorners, showDoubts, showLabels, showQuestion } from "./yardasked.js";
import { RowForm, fillIn, partsOf, press, say } from "./yardforms.js";

const LOST = "The command on this machine does not answer. What was taken is kept; trying again…";
const HEAD = 524_288; // bytes of a picture's file in which its size stands, behind all that a camera writes before it

class NewYardPage {
  constructor() {
    this.seq = 0;
    this.accepted = -1; // the number of the last change that was taken
    this.worked = -1; // the number of the change that the figures are of
    this.pending = new Map();
    this.plan = new YardPlan(find("plan"), find("picture"), {
      tap: (place) => this.tap(place), read: (place) => this.tell("reading", this.plan.wordsOf(place)),
      pick: (kind, index, place) => this.pick(kind, index, place), move: (kind, index, place) => this.move(kind, index, place),
    });
    const ask = (message, then) => this.ask(message, then);
    const corner = ["along", "out"];
    const shot = [...corner, "reading"];
    this.forms = {
      bed: new RowForm("bed", { one: "corner", add: "Add a corner" }, {
        text: () => this.figures("bed", corner), fill: (text) => this.fill("bed", corner, text),
      }, ask),
      shots: new RowForm("shots", { one: "shot", add: "Take the shot" }, {
        text: () => this.figures("shots", shot),
        fill: (text) => { this.fill("shots", shot, text); this.plan.setMark(null); },
      }, ask),
      trees: new RowForm("trees", { one: "tree", add: "Add the tree" }, {
        text: () => this.treeText(), fill: (text) => this.fillTree(text),
      }, ask),
    };
    this.watch();
    this.line = new Line({
      heights: (head, codes) => this.heights(head, codes),
      words: (message) => this.words(message),
      lost: () => { this.pending.clear(); this.news(LOST, true); },
      found: () => { if (find("news").textContent === LOST) this.news(""); },
    });
  }

  get tool() { return /** @type {any} */ (document.querySelector("input[name=tool]:checked")).value; }

  watch() {
    const deeds = {
      undo: () => this.ask({ do: "undo" }), redo: () => this.ask({ do: "redo" }), save: () => this.ask({ do: "save" }),
      nearer: () => this.plan.zoom(1.4), farther: () => this.plan.zoom(0.7), whole: () => this.plan.showAll(),
      stand: () => this.stand(this.plan.next?.at), "again-page": () => location.reload(), "picture-away": () => this.takeAway(),
    };
    for (const [id, deed] of Object.entries(deeds)) find(id).addEventListener("click", deed);
    for (const group of ["units", "measured", "high"]) {
      find(group).addEventListener("change", (event) => this.set(group, event.target.value));
    }
    for (const key of SINGLE) find(key).addEventListener("change", (event) => this.set(key, event.target.value));
    this.submit("size-form", () => this.set("bed", find("bed-size").value));
    this.submit("again-form", () => this.set("again", find("again").value));
    this.submit("house-form", () => this.set("house", this.houseText()));
    this.submit("tape-form", () => this.ask({ do: "tape", text: find("tape-length").value }));
    for (const [key, box] of Object.entries(NEAR_DOUBT)) {
      find(box).addEventListener("click", ({ target }) => { if (target.dataset.answer) this.set(key, target.dataset.answer); });
    }
    document.addEventListener("click", (event) => {
      const where = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("[data-x]"));
      if (where) this.showWhere([Number(where.dataset.x), Number(where.dataset.y)]);
    });
    find("picture-file").addEventListener("change", (event) => this.choose(event.target.files[0]));
    document.addEventListener("keydown", (event) => {
      if (!event.ctrlKey && !event.metaKey) return;
      const deed = { s: "save", y: "redo", z: event.shiftKey ? "redo" : "undo" }[event.key.toLowerCase()];
      /** @type {any} */
      const line = event.target;
      // In a line that is being typed Control+Z takes letters back.
      if (!deed || (deed !== "save" && line.value && line.type === "text")) return;
      event.preventDefault();
      deeds[deed]();
    });
  }

  submit(id, act) {
    find(id).addEventListener("submit", (event) => { event.preventDefault(); act(); });
  }

  /** Ask the command for something; `then` is done once it has been taken. */
  ask(message, then = () => {}) {
    const seq = ++this.seq;
    if (!this.line.say({ ...message, seq })) { this.news(LOST, true); return; }
    this.pending.set(seq, then);
  }

  set(key, text) { this.ask({ do: "set", key, text }); }

  figures(key, names) { return names.map((name) => find(`${key}-${name}`).value.trim()).join(", "); }

  fill(key, names, text) {
    const parts = text ? partsOf(text) : [];
    names.forEach((name, k) => { find(`${key}-${name}`).value = parts[k] ?? ""; });
  }

  houseText() {
    const side = find("house-side").value;
    return side && `${side} ${find("house-away").value}`;
  }

  treeText() {
    const value = (name) => find(`trees-${name}`).value.trim();
    const tapes = `${value("first")} ${value("one")}, ${value("second")} ${value("two")}`;
    return `${value("name")}, ${value("girth")}, ${tapes}${find("trees-near").checked ? ", near" : ""}`;
  }

  fillTree(text) {
    const [name = "", girth = "", first = "A ", second = "B ", near = ""] = text ? partsOf(text) : [];
    const tape = (one) => [one.slice(0, one.indexOf(" ")), one.slice(one.indexOf(" ") + 1)];
    const [[from, one], [to, two]] = [tape(first), tape(second)];
    const values = { name, girth, first: from, one, second: to, two };
    for (const [id, value] of Object.entries(values)) find(`trees-${id}`).value = value;
    find("trees-near").checked = near === "near";
  }

  /** A figure as a tape reads it. */
  typed(metres) { return String(Number((metres / unitLength(this.state.units)).toFixed(this.state.units === "ft" ? 2 : 3))); }

  tap(place) {
    if (this.tool === "tape") { this.tapeTo(place); return; }
    const spot = this.plan.taped(place);
    this.tell("reading", this.plan.wordsOf(spot));
    if (this.tool !== "corner") { this.stand(spot); return; }
    this.ask({ do: "add", key: "bed", row: 0, text: spot.map((one) => this.typed(one)).join(", ") });
  }

  /** The rod stands at a place: its reading is typed next. */
  stand(place) {
    if (!place) return;
    if (find("shots").hidden) {
      say("measured", "Say first how the ground is measured.", "trouble");
      find("measured").scrollIntoView({ block: "center" });
      return;
    }
    this.plan.setMark(place);
    ["along", "out"].forEach((name, k) => { find(`shots-${name}`).value = this.typed(place[k]); });
    find("shots-reading").focus();
  }

  /** Mark the place of a sign. */
  showWhere(place) {
    this.plan.setMark(place);
    this.tell("reading", this.plan.wordsOf(place));
    find("plan").scrollIntoView({ block: "center" });
  }

  /** A point of the plan that is tapped is to be changed; but over a bed by its size another one is begun. */
  pick(kind, index, place) {
    if (this.tool === "tape" || (this.tool === "corner" && kind === "bed" && !ownRows(this.state, kind))) {
      this.tap(place);
      return;
    }
    const rows = this.state.questions[kind]?.texts ?? [];
    const { corners } = this.state.plan;
    find("corners-more").open ||= kind === "bed";
    this.forms[kind].edit(index + 1, ownRows(this.state, kind) ? rows[index] : corners[index].at.map((one) => this.typed(one)).join(", "));
  }

  move(kind, index, place) {
    const spot = place.map((one) => this.typed(one));
    if (kind === "shots") spot.push(partsOf(this.state.questions.shots.texts[index])[2]);
    this.ask({ do: "change", key: kind, row: index + 1, text: spot.join(", ") });
  }

  /** A picture is looked at before it is unpacked, kept small, and never sent. */
  async choose(file) {
    if (!file) return;
    const trouble = refusedPicture(file.size, new Uint8Array(await file.slice(0, HEAD).arrayBuffer()));
    if (trouble) { say("picture", trouble, "trouble"); return; }
    let whole;
    try {
      whole = await createImageBitmap(file);
    } catch {
      say("picture", "This picture cannot be unpacked. Accepted: JPEG or PNG.", "trouble");
      return;
    }
    const scale = shrunk(whole.width, whole.height);
    const drawn = new OffscreenCanvas(Math.round(whole.width * scale), Math.round(whole.height * scale));
    drawn.getContext("2d").drawImage(whole, 0, 0, drawn.width, drawn.height);
    whole.close();
    this.plan.picture = { drawn, lay: firstLay(drawn.width, drawn.height, [this.plan.view.x, this.plan.view.y], 20) };
    this.plan.taps = [];
    find("tool-tape").hidden = false;
    find("tape-form").hidden = false;
    press("tool", "tape");
    say("picture", "Tap both ends of something that you taped, best the bed's front from left to right; then type its length.");
    this.plan.showAll();
  }

  takeAway() {
    this.plan.picture = null;
    this.plan.taps = [];
    for (const id of ["tool-tape", "tape-form"]) find(id).hidden = true;
    press("tool", "shot");
    find("picture-file").value = "";
    say("picture", "");
    this.plan.showAll();
  }

  tapeTo(place) {
    this.plan.taps = this.plan.taps.length === 2 ? [place] : [...this.plan.taps, place];
    this.plan.draw();
    if (this.plan.taps.length === 2) find("tape-length").focus();
  }

  /** The picture lies to scale once the command has read the length. */
  taped(metres) {
    const { taps, picture } = this.plan;
    const lay = picture && taps.length === 2 && tapedLay(picture.lay, taps[0], taps[1], metres);
    if (!lay) { say("picture", "Tap both ends of what you taped first, two places.", "trouble"); return; }
    picture.lay = lay;
    this.plan.taps = [];
    press("tool", "corner");
    const far = showLength(metres, this.state.units, "distance");
    const told = `To scale: the first end is along 0, out 0, the second ${far} along. Now tap the bed's corners in their order.`;
    say("picture", told);
    this.plan.showAll();
  }

  words(message) {
    if (message.say !== "state") this.pending.delete(message.seq);
    const acts = {
      hello: () => this.hello(message), state: () => this.take(message), refused: () => this.refuse(message),
      taped: () => this.taped(message.metres), busy: () => this.busy(message.text),
      unworked: () => this.stale(message.text, true), done: () => this.done(message),
    };
    acts[message.say]?.();
  }

  hello(message) {
    this.take({ ...message, seq: this.seq });
    this.plan.showAll();
    if (message.text) this.news(message.text);
    document.documentElement.dataset.ready = "yes";
  }

  /** What the command has taken. */
  take(state) {
    const before = JSON.stringify(this.state?.plan.corners);
    this.state = state;
    this.accepted = state.seq;
    this.news("");
    this.flags();
    this.questions();
    this.pending.get(state.seq)?.();
    this.pending.delete(state.seq);
    this.plan.setState(state);
    if (before !== JSON.stringify(state.plan.corners) && this.tool !== "corner") this.plan.showAll();
  }

  flags() {
    const { undo, redo, unsaved } = this.state;
    find("undo").disabled = !undo;
    find("redo").disabled = !redo;
    find("save").disabled = !unsaved;
    if (unsaved) find("saved").hidden = true;
    document.documentElement.dataset.unsaved = unsaved ? "yes" : "no";
  }

  questions() {
    const { state, forms } = this;
    const { questions, waits } = state;
    showLabels(state);
    showChoices(state);
    for (const [key, question] of Object.entries(questions)) {
      forms[key]?.show(ownRows(state, key) ? question.texts : [], question.told);
      showQuestion(state, key);
    }
    showDoubts(waits);
    showCorners(state.plan.corners.map(({ name }) => name));
    if (waits.length) this.stale(waits[0].words, true); else this.stale("Working it out…");
  }

  heights(head, codes) {
    const { say: kind, nx, ny } = head;
    const values = decoded(head, codes);
    if (kind === "ground") {
      this.ground = new Field({ ...head.grid, nx, ny }, values, new Float32Array(nx * ny));
      this.look = head.look;
      return;
    }
    this.worked = head.seq;
    fillIn(head);
    this.tell("headline", `${this.state.plan.given ? "" : "For a bed of a usual size: "}${head.headline}`);
    this.tell("reading", head.sure[0]);
    if (!this.state.waits.length) this.stale(`Contours every ${showLength(this.look.interval, this.state.units)}.`);
    find("comes").classList.remove("old");
    this.plan.setField(this.ground.changed(values), this.look, head.next);
    find("next").hidden = !head.next;
    if (head.next) find("next-words").textContent = `Next ✚: ${head.next.words}.${worth(head.next)}`;
  }

  stale(text, trouble = false) {
    tellIn("stale", text);
    find("stale").classList.toggle("trouble", trouble);
    find("comes").classList.add("old");
  }

  /** Something was refused: say why beside it. */
  refuse({ key, text }) {
    const radio = ["units", "measured", "high"].includes(key);
    if (radio) this.questions();
    if (!key && !find("tape-form").hidden && document.activeElement === find("tape-length")) say("picture", text, "trouble");
    else if (!key || !say(key, text, "trouble")) this.news(text, true);
  }

  done({ text, next }) {
    find("saved").hidden = false;
    find("saved").replaceChildren(`${text} Next, in the terminal: `, part("code", {}, next));
  }

  busy(text) {
    tellIn("busy-words", text);
    find("busy").hidden = false;
    tellIn("headline", "");
    document.documentElement.dataset.busy = "yes";
  }

  tell(id, text) { tellIn(id, text); }

  news(text, trouble = false) {
    tellIn("news", text);
    find("news").classList.toggle("trouble", trouble);
  }
}

const worth = ({ order }) => (order ? ` Shot there, the order comes to ${order} in nine cases of ten.` : "");

const tellIn = (id, text) => { find(id).textContent = text; };

globalThis.hummock = new NewYardPage();
