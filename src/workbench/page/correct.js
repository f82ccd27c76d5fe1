// Tools that correct the traced line on the photograph. Every correction is a step of the recipe; the program does it, and this
// only says which places are meant, in millimetres right and down on the table.
import { unit } from "./ask.js";
import { draw, make, tell } from "./make.js";

const CORNER = 2, BETWEEN = 0;
// A pointer this near to a listed place, millimetres, is on the line itself, as the program takes it.
const ON_LINE_MM = 3;
// A pointer this near to the line, in pixels, takes hold of it; a fingertip is wider.
const REACH_PX = 14, FINGER_PX = 26;
// A stretch drawn by hand keeps a place every so many pixels.
const STROKE_PX = 22;
// What an arrow key moves by, and with Shift, millimetres.
const STEPS_MM = { mm: [1, 0.1], cm: [1, 0.1], in: [25.4 / 16, 25.4 / 64] };
const STEP_WORDS = { mm: "1 mm, with Shift 0.1 mm", cm: "1 mm, with Shift 0.1 mm", in: "1/16 in, with Shift 1/64 in" };
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

const TOOLS = {
  move: { label: "Move", places: 1, says: "Drag a corner or any point of the line to where it belongs." },
  corner: { label: "Make a corner", places: 1, says: "Click the rounding that is to be a corner." },
  curve: { label: "Make a curve", places: 1, says: "Click the corner that is to be a curve." },
  straight: { label: "Straighten", places: 2, says: "Click the two ends of the run that is to be straight." },
  cut: { label: "Cut off a strap", places: 2, says: "Click the line on the one side of the strap, then on the other." },
  redraw: { label: "Redraw", places: Infinity, says: "Draw the stretch: from the line, along the true edge, back to the line. Or click place by place, then: Draw it." },
};

const written = ({ x, y }) => `${x.toFixed(2)} ${y.toFixed(2)}`;
const shown = ({ x, y }) => `${x.toFixed(1)} right, ${y.toFixed(1)} down`;

export class Corrections {
  // `preview` asks for the line as a step would make it; `change` writes the step and is true when it was done.
  constructor(sheet, { preview, change }) {
    Object.assign(this, { sheet, preview, change, tool: null, taken: [], places: [], at: 0, held: null });
    this.ghost = draw("path", { class: "traced ghost" });
    this.marks = draw("g", {});
    this.corners = draw("g", {});
    this.cursor = draw("circle", { class: "cursor", tabindex: "0", role: "button", "aria-label": "The line" });
    this.cursor.addEventListener("keydown", (event) => this.key(event));
    this.cursor.addEventListener("focus", () => tell(`${this.name()}. ${this.tool ? TOOLS[this.tool].says : TOOLS.move.says}`));
    this.node = draw("g", {}, this.ghost, this.corners, this.marks, this.cursor);
    this.buttons = Object.entries(TOOLS).map(([kind, { label }]) => make("button", { type: "button", "data-tool": kind, "aria-pressed": "false",
      onclick: () => this.take(this.tool === kind ? null : kind) }, label));
    this.finish = make("button", { type: "button", class: "main", hidden: true, onclick: () => this.write() }, "Draw it");
    this.back = make("button", { type: "button", hidden: true, onclick: () => this.takeBack() }, "One place back");
    this.drop = make("button", { type: "button", hidden: true, onclick: () => { this.take(null); tell("Nothing is in hand."); } }, "Leave it");
    this.reach = make("input", { name: "reach", autocomplete: "off", placeholder: "40mm for a move, 10mm for a corner" });
    this.says = make("p", { class: "quiet" });
    // The tools stand under the picture, within reach of the hand that draws.
    this.bar = make("div", { class: "row", role: "group", "aria-label": "Correct the line" }, this.buttons, this.finish, this.back, this.drop);
    this.panel = make("section", { class: "card" }, make("h2", {}, "Correct the line"), this.says,
      this.far = make("label", { class: "field" }, "How far along the line it reaches, either way", this.reach),
      make("details", {}, make("summary", {}, "By keyboard"), this.keysHelp = make("p", { class: "quiet" })));
    sheet.grab = (event, place) => this.grab(event, place);
    sheet.drag = (place) => this.follow(place);
    sheet.letGo = (place, moved) => this.letGo(place, moved);
    sheet.loose = () => this.release();
    sheet.chosen = (target, place, event) => this.click(place, event);
    sheet.scaled = () => this.size();
    this.take(null);
  }

  // The line as it stands: its places in order.
  show(places) {
    const was = this.places[this.at];
    this.places = places.map(([x, y, kind]) => ({ x, y, kind }));
    this.at = was ? this.nearest(was).at : Math.max(0, this.places.findIndex(({ kind }) => kind === CORNER));
    this.corners.replaceChildren(...this.places.filter(({ kind }) => kind !== BETWEEN).map(({ x, y, kind }) =>
      draw("circle", { class: kind === CORNER ? "node corner" : "node", cx: x, cy: y })));
    this.release();
    this.size();
  }

  size() {
    const mm = this.sheet.mmPerPixel() * parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
    for (const node of this.corners.children) node.setAttribute("r", (node.classList.contains("corner") ? 5 : 3) * mm);
    this.cursor.setAttribute("r", 9 * mm);
    for (const mark of this.marks.children) if (mark.tagName === "circle") mark.setAttribute("r", (mark.classList.contains("refused") ? 14 : 5) * mm);
  }

  nearest(place) {
    let at = 0, off = Infinity;
    this.places.forEach(({ x, y }, k) => {
      const d = Math.hypot(x - place.x, y - place.y);
      if (d < off) [at, off] = [k, d];
    });
    return { at, off };
  }

  // The place of the line that a pointer means: a corner beside it, or the line; null when it is too far off.
  meant(place, event) {
    const reach = Math.max(ON_LINE_MM, this.sheet.mmPerPixel() * (event?.pointerType === "touch" ? FINGER_PX : REACH_PX));
    const corner = this.places.map((at, k) => ({ k, kind: at.kind, off: Math.hypot(at.x - place.x, at.y - place.y) }))
      .filter(({ kind, off }) => kind === CORNER && off <= reach / 2).sort((a, b) => a.off - b.off)[0];
    const { at, off } = corner ? { at: corner.k, off: corner.off } : this.nearest(place);
    if (off > reach) return null;
    this.at = at;
    return !corner && off <= ON_LINE_MM ? place : this.places[at];
  }

  name() {
    const place = this.places[this.at];
    if (!place) return "The line";
    const kinds = this.places.filter(({ kind }) => kind !== BETWEEN);
    const what = place.kind === BETWEEN ? "place" : `${place.kind === CORNER ? "corner" : "joint"} ${kinds.indexOf(place) + 1} of ${kinds.length}`;
    return `${what}, ${shown(place)}`;
  }

  take(kind) {
    this.tool = kind;
    this.taken = [];
    this.buttons.forEach((button) => button.setAttribute("aria-pressed", String(button.dataset.tool === kind)));
    this.says.textContent = kind ? TOOLS[kind].says : "Drag a point of the line with the mouse; with a finger, choose Move first. Every correction is a step of the recipe and can be undone.";
    this.keysHelp.textContent = `Tab to the ring on the line. Page Down and Page Up, or full stop and comma, go to the next corner or joint; with Shift by 4 mm along the line. Arrow keys move a point by ${STEP_WORDS[unit()]}; Enter takes the place or sets the point, Backspace takes back the last place of a stretch, Escape lets it go.`;
    this.far.hidden = !["move", "corner", "curve", null].includes(kind);
    if (kind) this.sheet.tape(false);
    this.release();
  }

  // Nothing is in hand any more.
  release() {
    this.asking = null;
    this.held = null;
    this.stroke = null;
    this.taken = [];
    this.marks.replaceChildren();
    this.ghost.removeAttribute("d");
    this.offer();
    this.ring();
  }

  offer() {
    this.finish.hidden = !(this.tool === "redraw" && this.taken.length >= 3);
    this.back.hidden = this.tool !== "redraw" || !this.taken.length;
    this.drop.hidden = !this.tool;
  }

  ring() {
    const { x, y } = this.held?.to ?? this.places[this.at] ?? { x: 0, y: 0 };
    this.cursor.setAttribute("cx", x);
    this.cursor.setAttribute("cy", y);
    this.cursor.setAttribute("aria-label", this.name());
  }

  step() {
    const reach = this.reach.value.trim();
    const entry = (key, ...values) => [key, values];
    const reaching = reach ? [entry("reach", reach)] : [];
    const [first, last] = [this.taken[0], this.taken.at(-1)];
    switch (this.tool ?? "move") {
      case "move": return { do: "traced-move", keys: [entry("at", written(this.held.from)), entry("to", written(this.held.to)), ...reaching] };
      case "corner":
      case "curve": return { do: `traced-${this.tool}`, keys: [entry("at", written(first)), ...reaching] };
      case "redraw": return { do: "traced-redraw", keys: [entry("from", written(first)), entry("to", written(last)), entry("places", ...this.taken.slice(1, -1).map(written))] };
      default: return { do: `traced-${this.tool}`, keys: [entry("from", written(first)), entry("to", written(last))] };
    }
  }

  async write() {
    const step = this.step();
    this.asking = null;
    const done = await this.change(step);
    if (done) tell("Corrected. Undo takes it back.");
  }

  // What cannot be done is marked where it is; a stretch that was drawn stays, to be gone on with.
  refuse(at) {
    const drawn = this.tool === "redraw" ? this.taken : [];
    this.release();
    this.taken = drawn;
    this.markTaken();
    this.offer();
    if (!at) return;
    const [x, y] = at;
    this.marks.append(draw("circle", { class: "refused", cx: x, cy: y }));
    this.size();
    this.sheet.bring({ x, y });
  }

  markTaken() {
    const line = this.taken.length > 1 ? [draw("path", { class: "tape", d: `M${this.taken.map(({ x, y }) => `${x},${y}`).join("L")}` })] : [];
    this.marks.replaceChildren(...line, ...this.taken.map(({ x, y }) => draw("circle", { class: "tape-end", cx: x, cy: y })));
    this.size();
  }

  takeBack() {
    this.taken.pop();
    this.markTaken();
    this.offer();
    tell(this.taken.length ? `The last place is taken back; ${this.taken.length} left.` : TOOLS[this.tool].says);
  }

  click(place, event) {
    if (!this.tool || this.tool === "move") return;
    const inner = this.tool === "redraw" && this.taken.length > 0;
    const meant = this.meant(place, event);
    if (!meant && !inner) tell("That is beside the line; click on it.", "fault");
    else this.put(inner && !(meant && this.places[this.at].kind === CORNER) ? place : meant);
  }

  put(place) {
    this.taken.push({ x: place.x, y: place.y });
    this.markTaken();
    this.ring();
    if (this.taken.length === TOOLS[this.tool].places) this.write();
    else tell(`Place ${this.taken.length} taken: ${shown(place)}.`);
    this.offer();
  }

  grab(event, place) {
    if (this.sheet.isTaping()) return false;
    if (this.tool === "redraw") {
      this.stroke = [place];
      return true;
    }
    if (this.tool ? this.tool !== "move" : event.pointerType === "touch") return false;
    const from = this.meant(place, event);
    if (!from) return false;
    this.held = { from: { ...from }, off: { x: from.x - place.x, y: from.y - place.y } };
    this.ring();
    return true;
  }

  follow(place) {
    if (this.stroke) {
      const last = this.stroke.at(-1);
      if (Math.hypot(place.x - last.x, place.y - last.y) < STROKE_PX * this.sheet.mmPerPixel()) return;
      this.stroke.push(place);
      this.marks.replaceChildren(draw("path", { class: "tape", d: `M${this.stroke.map(({ x, y }) => `${x},${y}`).join("L")}` }));
    } else if (this.held) {
      this.moveTo({ x: place.x + this.held.off.x, y: place.y + this.held.off.y });
    }
  }

  letGo(place, moved) {
    const { stroke } = this;
    this.stroke = null;
    if (stroke && moved && stroke.length > 2) {
      const ends = [this.meant(stroke[0]), this.meant(place)];
      if (ends.every(Boolean)) {
        this.taken = [ends[0], ...stroke.slice(1, -1), ends[1]];
        this.write();
      } else {
        this.refuse();
        tell("Begin on the line and end on it.", "fault");
      }
    } else if (stroke) this.click(place);
    else if (this.held?.to && moved) this.write();
    else this.release();
  }

  moveTo(to) {
    this.held.to = to;
    this.ring();
    const { from } = this.held;
    this.marks.replaceChildren(draw("line", { class: "tape", x1: from.x, y1: from.y, x2: to.x, y2: to.y }));
    tell(`From ${shown(from)} to ${shown(to)}, millimetres.`);
    this.draft();
  }

  // The line as it would be follows the hand: one question at a time, the newest place next.
  async draft() {
    if (this.asking) {
      this.again = true;
      return;
    }
    const asking = {};
    this.asking = asking;
    do {
      this.again = false;
      const line = await this.preview(this.step());
      if (this.asking !== asking) return;
      if (line) this.ghost.setAttribute("d", line);
      else this.ghost.removeAttribute("d");
    } while (this.again);
    this.asking = null;
  }

  // Along the line to the next corner or joint, or by one place.
  walk(way, fine) {
    const n = this.places.length;
    let at = this.at;
    do at = (at + way + n) % n; while (!fine && at !== this.at && this.places[at].kind === BETWEEN);
    this.at = at;
    this.held = null;
    this.ring();
    this.sheet.bring(this.places[at]);
    tell(`${this.name()}, millimetres.`);
  }

  key(event) {
    const arrow = ARROWS[event.key];
    const moves = !this.tool || this.tool === "move";
    const steps = STEPS_MM[unit()];
    const by = event.shiftKey ? steps[1] : steps[0];
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (["PageDown", ".", ">"].includes(event.key)) this.walk(1, event.shiftKey);
    else if (["PageUp", ",", "<"].includes(event.key)) this.walk(-1, event.shiftKey);
    else if (arrow && (moves || this.tool === "redraw")) {
      const from = this.held?.to ?? this.places[this.at];
      const to = { x: from.x + arrow[0] * by, y: from.y + arrow[1] * by };
      this.held ??= { from: { ...from } };
      if (moves) this.moveTo(to);
      else {
        this.held.to = to;
        this.ring();
        tell(`${shown(to)}, millimetres.`);
      }
      this.sheet.bring(to);
    } else if (arrow) this.walk(arrow[0] + arrow[1], true);
    else if (event.key === "Enter" || event.key === " ") {
      if (!moves) this.put(this.held?.to ?? this.places[this.at]);
      else if (this.held?.to) this.write();
      else tell("Move the point with the arrow keys, then press Enter.");
    } else if (event.key === "Backspace" && this.tool === "redraw" && this.taken.length) this.takeBack();
    else if (event.key === "Escape") this.release();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }
}
