// One pattern: the photograph, the fold, the steps, the checks, the print.
import { ask, post, unit } from "./ask.js";
import { DrawnPiece, Measures } from "./piece.js";
import { make, replace, tell, tellProblem } from "./make.js";
import { showFold } from "./fold.js";
import { showPrint } from "./print.js";
import { Sheet } from "./sheet.js";
import { Steps } from "./steps.js";
import { showTraced } from "./traced.js";

const PARTS = { photograph: "Photograph", fold: "Fold", steps: "Steps", checks: "Checks", print: "Print" };
const GAP_MM = 30;
// Widths of rows that are tried for the pieces.
const ROWS_TRIED = 30;

export function showPattern(host, id, part) {
  const pattern = new Pattern(host, id, PARTS[part] ? part : "steps");
  return () => pattern.leave();
}

// Places for windows: in the rows that a sheet of this width to height shows largest.
function laid(windows, ratio) {
  const widest = Math.max(...windows.map(([, , w]) => w)), all = windows.reduce((sum, [, , w]) => sum + w + GAP_MM, 0);
  const size = (places) => Math.max(Math.max(...places.map(({ left, w }) => left + w)), ratio * Math.max(...places.map(({ top, h }) => top + h)));
  const tries = Array.from({ length: ROWS_TRIED }, (_, k) => rows(windows, widest + ((all - widest) * k) / (ROWS_TRIED - 1)));
  return tries.reduce((best, places) => (size(places) < size(best) ? places : best));
}

function rows(windows, most) {
  let left = 0, top = 0, high = 0;
  return windows.map(([x, y, w, h]) => {
    if (left > 0 && left + w > most) [left, top, high] = [0, top + high + GAP_MM, 0];
    const place = { dx: left - x, dy: top - y, w, h, left, top };
    left += w + GAP_MM;
    high = Math.max(high, h);
    return place;
  });
}

class Pattern {
  constructor(host, id, part) {
    Object.assign(this, { host, id, part, path: `/api/pattern/${id}`, hidden: new Set(), stop: new AbortController() });
    this.title = make("h1", {}, "...");
    this.undo = make("button", { type: "button", title: "Ctrl+Z", onclick: () => this.go("undo") }, "Undo");
    this.redo = make("button", { type: "button", title: "Ctrl+Shift+Z", onclick: () => this.go("redo") }, "Do again");
    const stages = make("nav", { class: "stages", "aria-label": "This pattern" }, Object.entries(PARTS).map(([key, words]) =>
      make("a", { href: `#pattern/${id}/${key}`, "aria-current": key === part ? "page" : null }, words)));
    this.body = make("div", { class: "work" });
    host.append(make("div", { class: "row" }, this.title, this.undo, this.redo), stages, this.body);
    this.keys = (event) => {
      if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !event.target.matches("input")) {
        event.preventDefault();
        this.go(event.shiftKey ? "redo" : "undo");
      }
    };
    this.units = () => this.load();
    window.addEventListener("keydown", this.keys);
    window.addEventListener("unit", this.units);
    this.begin();
  }

  // The photograph needs nothing of what is made of it, and is there first.
  async begin() {
    if (this.part === "photograph") await showTraced(this);
    await this.load();
    await this.watch();
  }

  leave() {
    this.stop.abort();
    window.removeEventListener("keydown", this.keys);
    window.removeEventListener("unit", this.units);
  }

  async load() {
    try {
      this.show(await ask(`${this.path}?unit=${unit()}`, this.stop.signal));
    } catch (problem) {
      tellProblem(problem);
      if (problem.step !== null) this.offerRemoval(problem);
    }
  }

  offerRemoval(problem) {
    this.laidAs = "problem";
    this.body.replaceChildren(make("div", { class: "card" }, make("p", { class: "fault" }, problem.message),
      make("button", { onclick: () => this.change({ change: "remove", at: problem.step }) }, `Take step ${problem.step + 1} out`)));
  }

  // Notices what another program writes.
  async watch() {
    while (!this.stop.signal.aborted) {
      try {
        const { stamp } = await ask(`${this.path}/news?after=${this.view?.stamp ?? 0}`, this.stop.signal);
        await this.writing;
        if (this.view && stamp > this.view.stamp) {
          await this.load();
          tell("The pattern was changed on the disk; this is how it stands there now.");
        }
      } catch (problem) {
        if (this.stop.signal.aborted) return;
        tellProblem(problem);
        await new Promise((resolve) => setTimeout(resolve, 3000));
      }
    }
  }

  // Asks for something to be written and shows what came of it; news of it are none.
  async write(way, body) {
    const asked = post(`${this.path}/${way}?unit=${unit()}`, body);
    this.writing = asked.then((view) => this.show(view), () => {});
    await asked;
    await this.writing;
  }

  async go(way) {
    try {
      await this.write(way);
      tell(way === "undo" ? "Undone." : "Done again.");
    } catch (problem) { tellProblem(problem); }
  }

  // Writes a change; true when it was done.
  async change(body) {
    try {
      await this.write("change", body);
      return true;
    } catch (problem) {
      tellProblem(problem);
      return false;
    }
  }

  // The pieces as a change would make them; what is drawn already is not sent again.
  async preview(body) {
    const have = new Map((this.previewedPieces ?? this.view.pieces).map((piece) => [piece.number, piece]));
    const told = await post(`${this.path}/preview?unit=${unit()}&have=${[...have.keys()].join(",")}`, body, this.stop.signal);
    told.pieces = told.pieces.map((piece) => have.get(piece.number) ?? piece);
    this.previewedPieces = told.pieces;
    return told;
  }

  show(view) {
    const first = !this.view;
    this.view = view;
    this.previewedPieces = null;
    document.title = `${view.title}: onfold`;
    this.title.textContent = view.title;
    // A button that is switched off under the hand gives it to the other.
    const held = document.activeElement;
    this.undo.disabled = !view.undo;
    this.redo.disabled = !view.redo;
    if (held.disabled) [this.undo, this.redo].find((button) => !button.disabled)?.focus();
    if (this.part === "photograph") {
      if (this.laidAs === "problem") this.lay(this.part);
      else if (!first) this.refresh();
      if (view.unfolded) tell(`Not folded yet: ${view.unfolded}`);
      return;
    }
    const laid = view.unfolded ? "unfolded" : this.part;
    if (this.laidAs !== laid) this.lay(laid);
    this.refresh?.();
  }

  lay(part) {
    this.laidAs = part;
    this.body.replaceChildren();
    const lay = { photograph: () => showTraced(this), unfolded: this.layUnfolded, fold: () => showFold(this), steps: this.laySteps, checks: this.layChecks, print: () => showPrint(this) }[part];
    lay.call(this);
  }

  // What can be done with an outline that has no fold.
  layUnfolded() {
    const steps = new Steps(this);
    const why = make("p", { class: "fault" });
    this.body.append(make("div", { class: "side" }, make("section", { class: "card" }, make("h2", {}, "Not folded yet"), why,
      make("a", { class: "button main", href: `#pattern/${this.id}/photograph` }, "Correct the line on the photograph"))), make("div", { class: "side" }, steps.node));
    this.refresh = () => {
      why.textContent = this.view.unfolded;
      steps.show(this.view);
    };
  }

  // The pieces side by side on one sheet.
  newSheet(label) {
    this.sheet = new Sheet(label);
    this.layers = make("div", { class: "row" });
    this.sheet.node.append(this.layers);
    return this.sheet;
  }

  drawPieces(pieces = this.view.pieces) {
    const windows = pieces.map((piece, k) => this.around?.(k, piece.window) ?? piece.window);
    const stay = pieces !== this.view.pieces && this.hold(windows);
    if (!stay) this.places = laid(windows, this.sheet.ratio());
    const before = this.drawnAs ?? [];
    this.drawnAs = pieces.map((piece, k) => {
      const as = before[k] ?? new DrawnPiece(k);
      as.show(piece, this.places[k], this.hidden);
      return as;
    });
    replace(this.sheet.content, [...this.drawnAs.map(({ group }) => group), ...(this.over?.() ?? [])]);
    if (!stay) this.showWhole();
    this.listLayers(pieces);
  }

  // While one types, pieces stay where they are as long as they fit there: a drawing that is laid out anew, or enlarged by
  // a hair, costs the browser more than all else.
  hold(windows) {
    const fits = this.places?.length === windows.length && this.places.every(({ w, h }, k) => {
      const [, , width, height] = windows[k];
      return Math.abs(width - w) <= GAP_MM / 2 && Math.abs(height - h) <= GAP_MM / 2;
    });
    if (fits) this.places = this.places.map((place, k) => ({ ...place, dx: place.left - windows[k][0], dy: place.top - windows[k][1] }));
    return fits;
  }

  showWhole() {
    const boxes = this.places.map(({ left, top, w, h }) => [left, top, w, h]);
    const [x, y] = [0, 1].map((side) => Math.min(...boxes.map((box) => box[side])));
    const [right, bottom] = [0, 1].map((side) => Math.max(...boxes.map((box) => box[side] + box[side + 2])));
    const whole = [x, y, right - x, bottom - y];
    // Whoever sees all of it goes on seeing all of it.
    if (!this.seen || String(this.sheet.view) === String(this.sheet.whole)) this.sheet.show(whole, true);
    else this.sheet.whole = whole;
    this.seen = true;
  }

  listLayers(pieces) {
    const titles = new Map(pieces.flatMap((piece) => piece.layers.map((layer) => [layer.id, layer.title])));
    if (this.layers.childElementCount === titles.size) return;
    this.layers.replaceChildren(...[...titles].map(([key, title]) => make("label", {},
      make("input", { type: "checkbox", checked: !this.hidden.has(key), onchange: (event) => {
        if (event.target.checked) this.hidden.delete(key);
        else this.hidden.add(key);
        this.drawPieces();
      } }), ` ${title}`)));
  }

  // Brings the places of a finding near, each with a mark; where it has none, the piece.
  look({ piece, sights }) {
    const places = sights.flatMap(({ piece: name, x, y }) => {
      const k = this.view.pieces.findIndex((each) => each.name === name);
      return k < 0 ? [] : [{ x: x + this.places[k].dx, y: y + this.places[k].dy }];
    });
    this.sheet.point(places);
    if (!places.length) this.goTo(piece);
  }

  // Brings a piece to the middle of the sheet.
  goTo(name) {
    const k = this.view.pieces.findIndex((piece) => piece.name === name);
    if (k < 0) return;
    const { left, top, w, h } = this.places[k];
    this.sheet.show([left, top, w, h]);
  }

  laySteps() {
    const sheet = this.newSheet("The pieces as drafted");
    const steps = new Steps(this);
    const measures = new Measures((name) => this.goTo(name));
    this.body.append(sheet.node, make("div", { class: "side" }, steps.node, measures.node));
    sheet.chosen = (target) => steps.choose(target);
    this.refresh = () => {
      this.drawPieces();
      steps.show(this.view);
      measures.show(this.view.pieces);
    };
    this.previewed = ({ pieces }) => {
      this.drawPieces(pieces);
      measures.show(pieces);
    };
  }

  layChecks() {
    const sheet = this.newSheet("The pieces as drafted");
    const list = make("section", { class: "card scroll" });
    this.body.append(sheet.node, make("div", { class: "side" }, list));
    const words = { fault: "Fault", look: "Look", good: "Good" };
    this.refresh = () => {
      this.drawPieces();
      const { checks } = this.view;
      const count = (grade) => checks.filter((check) => check.grade === grade).length;
      const item = (check) => make("li", {}, make("strong", { class: { fault: "fault", look: "warn", good: "good" }[check.grade] }, `${words[check.grade]}: `),
        make("button", { type: "button", onclick: () => this.look(check) }, check.place), ` ${check.figure}`,
        make("div", { class: "quiet" }, `${check.rule} (${check.mark})`));
      const order = ["fault", "look", "good"];
      const sorted = [...checks].sort((a, b) => order.indexOf(a.grade) - order.indexOf(b.grade));
      list.replaceChildren(make("h2", {}, `${checks.length} things looked at: ${count("fault")} faults, ${count("look")} to look at`),
        make("ul", {}, sorted.map(item)));
    };
  }
}
