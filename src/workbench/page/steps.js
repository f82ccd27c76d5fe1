// The recipe as a list that is added to, changed, put in another order, switched off; the drawing follows while one types.
import { ask } from "./ask.js";
import { keepPlace, make, tell, tellProblem } from "./make.js";

const values = (entries, lists) => entries.map(([key, text]) => [key, lists.includes(key) ? text.split(",").map((word) => word.trim()).filter(Boolean) : [text.trim()]]);

export class Steps {
  constructor(pattern) {
    this.pattern = pattern;
    this.list = make("ol", { class: "steps" });
    this.form = make("form", { hidden: true });
    this.add = make("button", { type: "button", class: "main", onclick: () => this.edit(null) }, "Add a step");
    this.node = make("section", { class: "card scroll" }, make("h2", {}, "Steps"), this.add, this.form, this.list);
    this.form.addEventListener("submit", (event) => { event.preventDefault(); this.keep(); });
    this.guide = ask("/api/guide");
  }

  show(view) {
    const perStep = this.list.querySelectorAll("li:first-child button").length;
    keepPlace(this.list, () => this.fill(view), (this.moving ?? 0) * perStep);
    this.moving = 0;
  }

  async move(from, way) {
    this.moving = way;
    await this.pattern.change({ change: "move", from, to: from + way });
    this.moving = 0;
  }

  fill(view) {
    this.list.replaceChildren(...view.steps.map((step, at) => {
      const button = (words, label, act, off = false) => make("button", { type: "button", "aria-label": `${label}, step ${at + 1}`, disabled: off, onclick: act }, words);
      const change = (body) => this.pattern.change(body);
      const switched = step.off ? step.keys.filter(([key]) => key !== "off") : [...step.keys, ["off", ["yes"]]];
      return make("li", { class: step.off ? "off" : "" },
        make("span", { class: "spoken" }, `${at + 1}. ${step.off ? `${step.do} (switched off)` : step.spoken}`),
        step.lines.length ? make("details", {}, make("summary", { class: "quiet" }, "what it changed"), make("ul", { class: "lines" }, step.lines.map((line) => make("li", {}, line)))) : null,
        make("div", { class: "row" },
          button("Change", "Change", () => this.edit(at)),
          button("Earlier", "Do earlier", () => this.move(at, -1), at === 0),
          button("Later", "Do later", () => this.move(at, 1), at === view.steps.length - 1),
          button(step.off ? "Switch on" : "Switch off", step.off ? "Switch on" : "Switch off", () => change({ change: "replace", at, step: { do: step.do, keys: switched } })),
          button("Take out", "Take out", () => change({ change: "remove", at }))));
    }));
  }

  async edit(at) {
    let guide;
    try {
      guide = await this.guide;
    } catch (problem) { tellProblem(problem); return; }
    const { view } = this.pattern;
    const step = at === null ? null : view.steps[at];
    this.at = at;
    this.lists = guide.lists;
    const groups = Map.groupBy ? Map.groupBy(guide.steps, (entry) => entry.group) : guide.steps.reduce((map, entry) => map.set(entry.group, [...(map.get(entry.group) ?? []), entry]), new Map());
    const kinds = make("select", { id: "kind" }, [...groups].map(([group, entries]) => make("optgroup", { label: group.replace(/^Steps that /, "") },
      entries.map((entry) => make("option", { value: entry.do, selected: step?.do === entry.do }, entry.do)))));
    const says = make("p", { class: "quiet" });
    const fields = make("div", {});
    this.said = make("p", { role: "status" });
    const names = make("datalist", { id: "names" }, view.pieces[0].edges.map((edge) => make("option", { value: edge.name ?? edge.letters })));
    const fill = () => {
      const entry = guide.steps.find((each) => each.do === kinds.value);
      says.textContent = entry.says;
      const held = new Map(step && step.do === entry.do ? step.keys.map(([key, list]) => [key, list.join(", ")]) : []);
      const keys = [...new Map([...entry.keys, ...[...held.keys()].map((key) => [key, ""]), ["piece", "body, if left empty"]])];
      fields.replaceChildren(...keys.map(([key, example]) => make("label", { class: "field" }, key,
        make("input", { name: key, value: held.get(key) ?? "", placeholder: example, autocomplete: "off", spellcheck: "false",
          list: /^(edge|edges|neighbour|first)$/.test(key) ? "names" : null }))));
    };
    kinds.addEventListener("change", () => { fill(); this.type(); });
    this.kinds = kinds;
    this.form.replaceChildren(make("h2", {}, at === null ? "New step" : `Step ${at + 1}`),
      make("label", { class: "field", for: "kind" }, "What to do"), kinds, says, fields, names, this.said,
      make("div", { class: "row" }, make("button", { class: "main" }, "Keep"), make("button", { type: "button", onclick: () => this.close() }, "Leave as it was")),
      make("p", { class: "quiet" }, "Lengths as you write them: 90mm, 9 cm, 3 1/2in. A click on an edge or a point of the drawing writes its name."));
    fill();
    this.form.oninput = () => this.type();
    this.form.hidden = false;
    this.add.hidden = true;
    kinds.focus();
    this.form.scrollIntoView({ block: "nearest" });
  }

  body() {
    const entries = [...new FormData(this.form)].filter(([, text]) => text.trim());
    const step = { do: this.kinds.value, keys: values(entries, this.lists) };
    return this.at === null ? { change: "insert", at: this.pattern.view.steps.length, step } : { change: "replace", at: this.at, step };
  }

  // Redraws while one types: one question at a time, then the newest text.
  async type() {
    this.wanted = this.body();
    if (this.asking) return;
    this.asking = true;
    while (this.wanted) {
      const body = this.wanted;
      this.wanted = null;
      try {
        const told = await this.pattern.preview(body);
        if (!this.form.oninput) break;
        this.pattern.previewed(told);
        this.said.className = "good";
        this.said.textContent = [told.step.spoken, ...told.step.lines.slice(0, 4)].join("; ");
      } catch (problem) {
        if (problem.name === "AbortError" || !this.form.oninput) break;
        this.said.className = "fault";
        this.said.textContent = problem.message;
      }
    }
    this.asking = false;
  }

  async keep() {
    this.wanted = null;
    if (await this.pattern.change(this.body())) {
      this.hide();
      tell("Kept in the recipe.");
    } else {
      this.said.className = "fault";
      this.said.textContent = document.getElementById("told").textContent;
    }
  }

  close() {
    this.hide();
    this.pattern.refresh();
  }

  hide() {
    this.wanted = null;
    this.form.hidden = true;
    this.form.oninput = null;
    this.add.hidden = false;
    (this.list.children[this.at ?? -1]?.querySelector("button") ?? this.add).focus();
  }

  // A click on the drawing writes the edge's or the point's name where the step asks for one.
  choose(target) {
    const { edge, point } = target?.dataset ?? {};
    if (!edge && !point) return;
    const piece = this.pattern.view.pieces[target.closest("[data-piece]").dataset.piece];
    if (this.form.hidden) {
      const about = piece.edges.find((each) => (each.name ?? each.letters) === edge);
      tell(about ? `${piece.name}: ${about.spoken}, ${about.length}` : `${piece.name}: point ${point}`);
      return;
    }
    const input = (names) => names.map((name) => this.form.elements[name]).find(Boolean);
    const field = edge ? input(["edges", "edge"]) : input(["point", "pivot"]);
    if (!field) return;
    field.value = field.name === "edges" && field.value.trim() ? `${field.value}, ${edge}` : (edge ?? point);
    if (this.form.elements.piece && piece !== this.pattern.view.pieces[0]) this.form.elements.piece.value = piece.name;
    field.focus();
    this.type();
  }
}
