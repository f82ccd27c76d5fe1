// One pattern: the photograph, the fold, the steps, the checks, the print.
import { ask, post, unit } from "./ask.js";
import { draw, drawn, make, replace, tell, tellProblem } from "./make.js";
import { showPrint } from "./print.js";
import { Sheet } from "./sheet.js";
import { Steps } from "./steps.js";

const PARTS = { photograph: "Photograph", fold: "Fold", steps: "Steps", checks: "Checks", print: "Print" };
const GAP_MM = 30;
const LETTER_REACH_MM = 9;

export function showPattern(host, id, part) {
  const pattern = new Pattern(host, id, PARTS[part] ? part : "steps");
  return () => pattern.leave();
}

// Places for windows: in rows about as wide as all of them are high.
function laid(windows) {
  const area = windows.reduce((sum, [, , w, h]) => sum + (w + GAP_MM) * (h + GAP_MM), 0);
  const most = Math.max(1.6 * Math.sqrt(area), ...windows.map(([, , w]) => w));
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
    this.load().then(() => this.watch());
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
      if (problem.step !== null && problem.step !== undefined) this.offerRemoval(problem);
    }
  }

  offerRemoval(problem) {
    this.body.replaceChildren(make("div", { class: "card" }, make("p", { class: "fault" }, problem.message),
      make("button", { onclick: () => this.change({ change: "remove", at: problem.step }) }, `Take step ${problem.step + 1} out`)));
  }

  // Notices what another program writes.
  async watch() {
    while (!this.stop.signal.aborted) {
      try {
        const { stamp } = await ask(`${this.path}/news?after=${this.view?.stamp ?? 0}`, this.stop.signal);
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

  async go(way) {
    try {
      this.show(await post(`${this.path}/${way}?unit=${unit()}`));
      tell(way === "undo" ? "Undone." : "Done again.");
    } catch (problem) { tellProblem(problem); }
  }

  // Writes a change; true when it was done.
  async change(body) {
    try {
      this.show(await post(`${this.path}/change?unit=${unit()}`, body));
      return true;
    } catch (problem) {
      tellProblem(problem);
      return false;
    }
  }

  preview(body, signal) {
    return post(`${this.path}/preview?unit=${unit()}`, body, signal);
  }

  show(view) {
    const first = !this.view;
    this.view = view;
    document.title = `${view.title}: onfold`;
    this.title.textContent = view.title;
    this.undo.disabled = !view.undo;
    this.redo.disabled = !view.redo;
    if (first || !this.body.firstChild) this.lay();
    this.refresh?.();
  }

  lay() {
    this.body.replaceChildren();
    const lay = { photograph: this.layPhotograph, fold: this.layFold, steps: this.laySteps, checks: this.layChecks, print: () => showPrint(this) }[this.part];
    lay.call(this);
  }

  // The pieces side by side on one sheet.
  newSheet(label) {
    this.sheet = new Sheet(label);
    this.layers = make("div", { class: "row" });
    this.sheet.node.append(this.layers);
    return this.sheet;
  }

  drawPieces(view = this.view) {
    this.places = laid(view.pieces.map((piece) => piece.window));
    const before = this.drawnAs ?? [];
    this.drawnAs = view.pieces.map((piece, k) => {
      const { dx, dy } = this.places[k];
      const transform = `translate(${dx} ${dy})`;
      // A piece that is as it was is left in its place, at most moved: most are, while one types.
      const as = JSON.stringify([piece, [...this.hidden]]);
      if (before[k]?.as === as) {
        if (before[k].group.getAttribute("transform") !== transform) before[k].group.setAttribute("transform", transform);
        return before[k];
      }
      const group = draw("g", { class: "drawing", transform, "data-piece": k });
      const cloth = piece.edges.map((edge, i) => (i ? edge.path.replace(/^M[^A-Z]*/, "") : edge.path)).join(" ");
      group.append(draw("path", { class: "cloth", d: `${cloth} Z` }));
      for (const layer of piece.layers) {
        if (!this.hidden.has(layer.id)) group.append(...drawn(layer.svg));
      }
      for (const edge of piece.edges) {
        group.append(draw("path", { class: "edge", d: edge.path, "data-edge": edge.name ?? edge.letters }, draw("title", {}, `${edge.spoken}, ${edge.length}`)));
      }
      for (const point of piece.points) {
        group.append(draw("circle", { class: "point", cx: point.x, cy: point.y, r: LETTER_REACH_MM, "data-point": point.letter }, draw("title", {}, `point ${point.letter}`)));
      }
      return { as, group };
    });
    replace(this.sheet.content, [...this.drawnAs.map(({ group }) => group), ...(this.over?.(view) ?? [])]);
    const whole = [0, 0, Math.max(...this.places.map((p) => p.left + p.w)), Math.max(...this.places.map((p) => p.top + p.h))];
    // Whoever sees all of it goes on seeing all of it.
    if (!this.seen || String(this.sheet.view) === String(this.sheet.whole)) this.sheet.show(whole, true);
    else this.sheet.whole = whole;
    this.seen = true;
    this.listLayers(view);
  }

  listLayers(view) {
    const titles = new Map(view.pieces.flatMap((piece) => piece.layers.map((layer) => [layer.id, layer.title])));
    if (this.layers.childElementCount === titles.size) return;
    this.layers.replaceChildren(...[...titles].map(([key, title]) => make("label", {},
      make("input", { type: "checkbox", checked: !this.hidden.has(key), onchange: (event) => {
        if (event.target.checked) this.hidden.delete(key);
        else this.hidden.add(key);
        this.drawPieces();
      } }), ` ${title}`)));
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
    const measures = make("section", { class: "card" }, make("h2", {}, "Measures"));
    this.body.append(sheet.node, make("div", { class: "side" }, steps.node, measures));
    sheet.chosen = (target) => steps.choose(target);
    this.refresh = () => {
      this.drawPieces();
      steps.show(this.view);
      this.showMeasures(measures, this.view);
    };
    this.previewed = (view) => {
      this.drawPieces(view);
      this.showMeasures(measures, view);
    };
  }

  showMeasures(card, view) {
    card.replaceChildren(make("h2", {}, "Measures"), ...view.pieces.map((piece, k) => make("details", { open: k === 0 },
      make("summary", {}, piece.name), make("button", { type: "button", onclick: () => this.goTo(piece.name) }, `Show ${piece.name}`),
      make("ul", { class: "lines" }, piece.lines.map((line) => make("li", {}, line))))));
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
        make("button", { type: "button", onclick: () => this.goTo(check.piece) }, check.place), ` ${check.figure}`,
        make("div", { class: "quiet" }, `${check.rule} [${check.mark}]`));
      const order = ["fault", "look", "good"];
      const sorted = [...checks].sort((a, b) => order.indexOf(a.grade) - order.indexOf(b.grade));
      list.replaceChildren(make("h2", {}, `${checks.length} things looked at: ${count("fault")} faults, ${count("look")} to look at`),
        make("ul", {}, sorted.map(item)));
    };
  }

  layFold() {
    const sheet = this.newSheet("Left and right half laid over each other");
    const form = make("section", { class: "card" });
    this.body.append(sheet.node, make("div", { class: "side" }, form));
    const times = make("input", { type: "range", min: 1, max: 40, value: 10, id: "times" });
    const choose = (key, label, options) => make("label", { class: "field" }, label, make("select", { onchange: (event) =>
      this.change({ change: "fold", key, text: event.target.value }) }, options.map(([value, words]) =>
      make("option", { value, selected: this.view.fold[key] === value }, words))));
    const drawFold = () => {
      const view = this.view;
      const k = Number(times.value) / 2;
      const line = (sign) => view.fold.samples.map(([x, y, nx, ny, d], i) =>
        `${i ? "L" : "M"}${x + nx * d * k * sign},${y + ny * d * k * sign}`).join("");
      sheet.content.replaceChildren(draw("path", { class: "cloth", d: view.fold.half }),
        draw("path", { class: "wear left", d: line(-1) }), draw("path", { class: "wear right", d: line(1) }));
      if (!this.seen) sheet.show(view.fold.window, true);
      this.seen = true;
    };
    times.addEventListener("input", drawFold);
    this.refresh = () => {
      const { fold } = this.view;
      drawFold();
      form.replaceChildren(make("h2", {}, "Fold"),
        make("p", {}, `Left and right depart by ${fold.mean} in the mean, at most ${fold.worst}.`),
        choose("keep", "The pattern is made of", [["mean", "the mean of both halves"], ["left", "the left half"], ["right", "the right half"]]),
        choose("top", "The top is", [["narrower", "the narrower end"], ["wider", "the wider end"]]),
        make("label", { class: "field", for: "times" }, "Differences drawn larger, times"), times,
        make("p", { class: "quiet" }, "Full line: left half; dashed line: right half, as seen with the top up. The mean lies between."));
    };
  }

  async layPhotograph() {
    const sheet = new Sheet("The photograph seen straight down, the traced line on it");
    const side = make("section", { class: "card" });
    this.body.append(sheet.node, make("div", { class: "side" }, side));
    this.refresh = () => {};
    try {
      const traced = await ask(`${this.path}/traced`, this.stop.signal);
      const [x, y, width, height] = traced.window;
      const line = draw("g", {}, traced.rings.flatMap((d) => [draw("path", { class: "traced", d }), draw("path", { class: "traced over", d })]));
      const sure = draw("g", { class: "sure" }, traced.trace.map(([px, py, sigma, bridged], k) => {
        const next = traced.trace[(k + 1) % traced.trace.length];
        return draw("line", { class: `sigma ${bridged ? "bridged" : sigma > 0.5 ? "wide" : ""}`, x1: px, y1: py, x2: next[0], y2: next[1], "stroke-width": Math.max(4 * sigma, 0.4) });
      }));
      sheet.content.append(draw("image", { href: `${this.path}/photo.jpg`, x, y, width, height, preserveAspectRatio: "none" }), sure, line);
      sheet.show(traced.window, true);
      const toggle = (words, node) => make("label", {}, make("input", { type: "checkbox", checked: true, onchange: (event) => { node.style.display = event.target.checked ? "" : "none"; } }), ` ${words}`);
      const advice = JSON.parse(sessionStorage.getItem(`advice-${this.id}`) ?? "[]");
      side.replaceChildren(make("h2", {}, "Look at the line"), toggle("the traced line", line), make("br"), toggle("how sure it is", sure),
        make("p", { class: "quiet" }, "The band along the line is four times as wide as its standard deviation; red where that is over 0.5 mm, violet where no edge was seen and the line was carried across."),
        advice.length ? make("div", {}, make("h2", {}, "What would help the next photograph"), make("ul", {}, advice.map((words) => make("li", {}, words)))) : "",
        make("a", { class: "button main", href: `#pattern/${this.id}/fold` }, "On to the fold"));
    } catch (problem) { tellProblem(problem); }
  }
}
