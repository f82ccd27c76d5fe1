// A drawing in millimetres that is moved and enlarged by wheel, touch and keyboard, with a tape measure.
import { ask, unit } from "./ask.js";
import { draw, make, tell, tellProblem } from "./make.js";

const ZOOM_STEP = 1.25;
const PAN_PART = 0.1;
// What lies round a place that is shown, millimetres, and the size of its mark in pixels.
const NEAR_MM = 160, MARK_PX = 16;

export class Sheet {
  // Whoever holds it fills `content`; `chosen` is told a place in millimetres when nothing else takes a click. `grab` may take a
  // pointer that goes down; `drag` and `letGo` then follow it, and `loose` ends it when a second finger comes.
  constructor(label) {
    this.content = draw("g", { class: "content" });
    this.tapeLine = draw("g", {});
    this.pointer = draw("g", {});
    this.svg = draw("svg", { tabindex: "0", role: "application", "aria-label": `${label}. Arrow keys move it, plus and minus enlarge it, 0 shows all.` },
      this.content, this.pointer, this.tapeLine);
    this.whole = [0, 0, 100, 100];
    this.view = [0, 0, 100, 100];
    this.fingers = new Map();
    this.ends = [];
    this.taping = make("button", { type: "button", "aria-pressed": "false", onclick: () => this.tape(!this.isTaping()) }, "Tape measure");
    this.bar = make("div", { class: "row" },
      make("button", { type: "button", onclick: () => this.zoom(1 / ZOOM_STEP), "aria-label": "Enlarge" }, "+"),
      make("button", { type: "button", onclick: () => this.zoom(ZOOM_STEP), "aria-label": "Make smaller" }, "−"),
      make("button", { type: "button", onclick: () => this.show(this.whole) }, "All"), this.taping);
    this.node = make("div", { class: "sheet" }, this.svg, this.bar);
    this.listen();
  }

  // Shows a window [x, y, width, height]; `all` remembers it as the whole.
  show(window, all = false) {
    if (all) this.whole = window;
    this.view = [...window];
    this.place();
  }

  place() {
    this.svg.setAttribute("viewBox", this.view.join(" "));
    this.node.style.setProperty("--mm", this.mmPerPixel());
    for (const mark of this.pointer.children) mark.setAttribute("r", MARK_PX * this.mmPerPixel());
    this.scaled?.();
  }

  mmPerPixel() {
    const box = this.svg.getBoundingClientRect();
    return Math.max(this.view[2] / Math.max(box.width, 1), this.view[3] / Math.max(box.height, 1));
  }

  // Width to height of what is seen.
  ratio() {
    const { width, height } = this.svg.getBoundingClientRect();
    return Math.max(width, 1) / Math.max(height, 1);
  }

  // Millimetres from a pointer's place.
  at(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return { x: point.x, y: point.y };
  }

  zoom(factor, about) {
    const [x, y, w, h] = this.view;
    const middle = about ?? { x: x + w / 2, y: y + h / 2 };
    const least = 5 / w, most = (4 * this.whole[2]) / w;
    const k = Math.min(Math.max(factor, least), most);
    this.view = [middle.x - (middle.x - x) * k, middle.y - (middle.y - y) * k, w * k, h * k];
    this.place();
  }

  pan(dx, dy) {
    this.view[0] += dx;
    this.view[1] += dy;
    this.place();
  }

  listen() {
    this.svg.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoom(Math.exp(event.deltaY * 0.0015), this.at(event));
    }, { passive: false });
    this.svg.addEventListener("pointerdown", (event) => {
      this.svg.setPointerCapture?.(event.pointerId);
      this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
      this.moved = this.fingers.size > 1;
      this.held = this.fingers.size === 1 ? event.target : null;
      if (this.grabbed && !this.held) {
        this.grabbed = false;
        this.loose?.();
      } else if (this.held && this.grab?.(event, this.at(event))) this.grabbed = true;
    });
    this.svg.addEventListener("pointermove", (event) => {
      const was = this.fingers.get(event.pointerId);
      if (!was) return;
      const dx = event.clientX - was.x, dy = event.clientY - was.y;
      if (Math.hypot(dx, dy) < 4 && !this.moved) return;
      this.moved = true;
      if (this.grabbed) {
        this.drag?.(this.at(event));
        return;
      }
      const mm = this.mmPerPixel();
      const others = [...this.fingers.entries()].filter(([id]) => id !== event.pointerId).map(([, p]) => p);
      if (others.length) {
        const span = (p) => Math.hypot(p.x - others[0].x, p.y - others[0].y);
        const before = span(was), after = span({ x: event.clientX, y: event.clientY });
        if (before > 1 && after > 1) this.zoom(before / after, this.at({ clientX: (event.clientX + others[0].x) / 2, clientY: (event.clientY + others[0].y) / 2 }));
      } else {
        this.pan(-dx * mm, -dy * mm);
      }
      this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    });
    const end = (event) => {
      const here = this.fingers.delete(event.pointerId);
      if (this.grabbed) {
        this.grabbed = false;
        this.letGo?.(this.at(event), this.moved);
      } else if (here && !this.moved && event.type === "pointerup") this.click(this.held, this.at(event), event);
    };
    this.svg.addEventListener("pointerup", end);
    this.svg.addEventListener("pointercancel", end);
    this.svg.addEventListener("keydown", (event) => {
      const [, , w, h] = this.view;
      const ways = { ArrowLeft: [-w, 0], ArrowRight: [w, 0], ArrowUp: [0, -h], ArrowDown: [0, h] };
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (ways[event.key]) this.pan(ways[event.key][0] * PAN_PART, ways[event.key][1] * PAN_PART);
      else if (event.key === "+" || event.key === "=") this.zoom(1 / ZOOM_STEP);
      else if (event.key === "-") this.zoom(ZOOM_STEP);
      else if (event.key === "0") this.show(this.whole);
      else if (event.key === "Enter" || event.key === " ") this.click(event.target, this.middle());
      else if (event.key === "Escape") this.tape(false);
      else return;
      event.preventDefault();
    });
  }

  middle() {
    return { x: this.view[0] + this.view[2] / 2, y: this.view[1] + this.view[3] / 2 };
  }

  // Marks places, and shows the first with what lies round it.
  point(places) {
    this.pointer.replaceChildren(...places.map(({ x, y }) => draw("circle", { class: "pointed", cx: x, cy: y })));
    if (!places.length) return;
    const [{ x, y }] = places;
    const around = Math.min(NEAR_MM, this.whole[2], this.whole[3]);
    this.show([x - around / 2, y - around / 2, around, around]);
  }

  // Brings a place into sight, where it is not.
  bring({ x, y }) {
    const [left, top, w, h] = this.view;
    if (x >= left && x <= left + w && y >= top && y <= top + h) return;
    this.view = [x - w / 2, y - h / 2, w, h];
    this.place();
  }

  isTaping() {
    return this.taping.getAttribute("aria-pressed") === "true";
  }

  click(target, place, event) {
    if (this.isTaping()) this.measure(place);
    else this.chosen?.(target, place, event);
  }

  tape(on) {
    this.taping.setAttribute("aria-pressed", String(on));
    this.node.classList.toggle("taping", on);
    this.ends = [];
    this.tapeLine.replaceChildren();
    if (on) tell("Tape: click the one end, then the other. By keyboard: move the place to the middle and press Enter.");
  }

  async measure(place) {
    if (this.ends.length === 2) this.ends = [];
    this.ends.push(place);
    const r = 4 * this.mmPerPixel();
    this.tapeLine.replaceChildren(...this.ends.map((p) => draw("circle", { class: "tape-end", cx: p.x, cy: p.y, r })));
    if (this.ends.length < 2) return;
    const [a, b] = this.ends;
    this.tapeLine.append(draw("line", { class: "tape", x1: a.x, y1: a.y, x2: b.x, y2: b.y }));
    try {
      const { words } = await ask(`/api/tape?between=${[a.x, a.y, b.x, b.y].join(",")}&unit=${unit()}`);
      tell(`Tape: ${words}`);
      this.tapeLine.append(draw("text", { x: (a.x + b.x) / 2 + r, y: (a.y + b.y) / 2 - r, "font-size": 16 * this.mmPerPixel(), class: "tile-name" }, words));
    } catch (problem) { tellProblem(problem); }
  }
}
