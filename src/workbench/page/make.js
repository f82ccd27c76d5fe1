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

// A list is made anew, and whoever was at one of its buttons is at that button again, or so many further on.
export function keepPlace(list, remake, further = 0) {
  const buttons = () => [...list.querySelectorAll("button")];
  const at = buttons().indexOf(document.activeElement);
  remake();
  const now = buttons();
  if (at < 0 || !now.length) return;
  const from = Math.max(0, Math.min(at + further, now.length - 1));
  [...now.slice(from), ...now.slice(0, from).reverse()].find((button) => !button.disabled)?.focus();
}

const told = () => document.getElementById("told");

export function tell(words, kind = "") {
  told().className = kind;
  told().textContent = words;
}

export const tellProblem = (problem) => {
  if (problem.name !== "AbortError") tell(problem.message, "fault");
};
