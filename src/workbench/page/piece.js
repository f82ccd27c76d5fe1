// A piece on the sheet, and its measures beside it. Both stay when the piece changes; only what is another is put in their place.
import { draw, make } from "./make.js";

const LETTER_REACH_MM = 9;

// As many nodes as there are values, each brought up to its value.
function match(parent, values, fresh, bring) {
  while (parent.childNodes.length > values.length) parent.lastChild.remove();
  values.forEach((value, k) => {
    if (!parent.childNodes[k]) parent.append(fresh());
    bring(parent.childNodes[k], value);
  });
}

function set(node, name, value) {
  if (node.getAttribute(name) !== String(value)) node.setAttribute(name, value);
}

// The elements of a layer, [name, attributes, words] each, brought to what they are now; `was` is what they were.
function bring(layer, was, items) {
  match(layer, items, () => draw("path"), () => {});
  items.forEach(([tag, attributes, words], k) => {
    const same = was[k]?.[0] === tag;
    if (!same) layer.childNodes[k].replaceWith(draw(tag));
    const before = same ? was[k][1] : {}, node = layer.childNodes[k];
    for (const [name, value] of Object.entries(attributes)) if (before[name] !== value) node.setAttribute(name, value);
    for (const name of Object.keys(before)) if (!(name in attributes)) node.removeAttribute(name);
    if (words !== undefined && was[k]?.[2] !== words) node.textContent = words;
  });
}

function say(node, words) {
  if (node.textContent !== words) node.textContent = words;
}

export class DrawnPiece {
  constructor(index) {
    this.cloth = draw("path", { class: "cloth" });
    this.layers = draw("g", { class: "ink" });
    this.edges = draw("g", {});
    this.points = draw("g", {});
    this.group = draw("g", { class: "drawing", "data-piece": index }, this.cloth, this.layers, this.edges, this.points);
    this.drawnLayers = [];
  }

  show(piece, { dx, dy }, hidden) {
    set(this.group, "transform", `translate(${dx} ${dy})`);
    if (this.number !== piece.number) this.redraw(piece);
    this.drawnLayers.forEach(({ id, node }) => { node.style.display = hidden.has(id) ? "none" : ""; });
  }

  redraw(piece) {
    this.number = piece.number;
    const cloth = piece.edges.map((edge, i) => (i ? edge.path.replace(/^M[^A-Z]*/, "") : edge.path)).join(" ");
    set(this.cloth, "d", `${cloth} Z`);
    const before = new Map(this.drawnLayers.map((layer) => [layer.id, layer]));
    this.drawnLayers = piece.layers.map(({ id, items }) => {
      const layer = before.get(id) ?? { id, node: draw("g", { class: `layer-${id}` }), items: [] };
      bring(layer.node, layer.items, items);
      return Object.assign(layer, { items });
    });
    const nodes = this.drawnLayers.map(({ node }) => node);
    if (nodes.length !== this.layers.childNodes.length || nodes.some((node, k) => node !== this.layers.childNodes[k])) this.layers.replaceChildren(...nodes);
    match(this.edges, piece.edges, () => draw("path", { class: "edge" }, draw("title", {})), (node, edge) => {
      set(node, "d", edge.path);
      set(node, "data-edge", edge.name ?? edge.letters);
      say(node.firstChild, `${edge.spoken}, ${edge.length}`);
    });
    match(this.points, piece.points, () => draw("circle", { class: "point", r: LETTER_REACH_MM }, draw("title", {})), (node, { letter, x, y }) => {
      set(node, "cx", x);
      set(node, "cy", y);
      set(node, "data-point", letter);
      say(node.firstChild, `point ${letter}`);
    });
  }
}

// What each piece measures, in words.
export class Measures {
  constructor(goTo) {
    this.goTo = goTo;
    this.node = make("section", { class: "card" }, make("h2", {}, "Measures"));
    this.entries = new Map();
  }

  show(pieces) {
    const before = this.entries;
    this.entries = new Map(pieces.map((piece, k) => {
      const entry = before.get(piece.name) ?? { lines: make("ul", { class: "lines" }) };
      entry.node ??= make("details", { open: k === 0 }, make("summary", {}, piece.name),
        make("button", { type: "button", onclick: () => this.goTo(piece.name) }, `Show ${piece.name}`), entry.lines);
      if (entry.number !== piece.number) match(entry.lines, piece.lines, () => make("li", {}), say);
      entry.number = piece.number;
      return [piece.name, entry];
    }));
    for (const [name, { node }] of before) if (!this.entries.has(name)) node.remove();
    for (const { node } of this.entries.values()) if (!node.parentNode) this.node.append(node);
  }
}
