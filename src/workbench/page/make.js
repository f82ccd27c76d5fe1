// Elements with their attributes and children in one call; text is always set as text.
const SVG = "http://www.w3.org/2000/svg";

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) node.setAttribute(name, value);
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return node;
}

export const make = (tag, attributes = {}, ...children) => fill(document.createElement(tag), attributes, children);
export const draw = (tag, attributes = {}, ...children) => fill(document.createElementNS(SVG, tag), attributes, children);

// A group of SVG as text becomes nodes; a parser of documents runs no scripts.
export function drawn(text) {
  const read = new DOMParser().parseFromString(`<svg xmlns="${SVG}">${text}</svg>`, "image/svg+xml");
  return [...read.documentElement.childNodes].map((node) => document.adoptNode(node));
}

// A node's children become these; those that are there already are not touched.
export function replace(node, children) {
  const staying = new Set(children);
  children.forEach((child, k) => {
    const here = node.childNodes[k];
    if (here === child) return;
    if (here && !staying.has(here)) here.replaceWith(child);
    else node.insertBefore(child, here ?? null);
  });
  while (node.childNodes.length > children.length) node.lastChild.remove();
}

const told = () => document.getElementById("told");

export function tell(words, kind = "") {
  told().className = kind;
  told().textContent = words;
}

export const tellProblem = (problem) => {
  if (problem.name !== "AbortError") tell(problem.message, "fault");
};
