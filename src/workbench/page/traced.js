// The photograph seen straight down with the traced line on it: to be looked at, and corrected.
import { ask, post } from "./ask.js";
import { Corrections } from "./correct.js";
import { draw, keepPlace, make, tellProblem } from "./make.js";
import { Sheet } from "./sheet.js";

export function showTraced(pattern) {
  const sheet = new Sheet("The photograph seen straight down, the traced line on it");
  const path = `${pattern.path}/traced`;
  const photo = draw("image", { preserveAspectRatio: "none" });
  const sure = draw("g", { class: "sure" });
  const found = draw("path", { class: "traced found" });
  const lines = ["traced", "traced over"].map((name) => draw("path", { class: name }));
  const holes = draw("g", {});
  const tools = new Corrections(sheet, { preview, change });
  const as = make("div", { class: "row", role: "group", "aria-label": "Which line" }, ["as corrected", "as found"].map((words, k) =>
    make("button", { type: "button", "aria-pressed": String(k === 0), onclick: () => before(k === 1) }, words)));
  const list = make("ol", { class: "lines" });
  const toggle = (words, nodes) => make("label", {}, make("input", { type: "checkbox", checked: true,
    onchange: (event) => nodes.forEach((node) => { node.style.display = event.target.checked ? "" : "none"; }) }), ` ${words}`);
  const advice = JSON.parse(sessionStorage.getItem(`advice-${pattern.id}`) ?? "[]");
  const look = make("section", { class: "card" }, make("h2", {}, "Look at the line"), as, list, toggle("how sure it is", [sure]),
    make("p", { class: "quiet" }, "The band along the line is four times as wide as its standard deviation; red where that is over 0.5 mm, violet where no edge was seen and the line was carried across."),
    advice.length ? make("div", {}, make("h2", {}, "What would help the next photograph"), make("ul", {}, advice.map((words) => make("li", {}, words)))) : "",
    make("a", { class: "button main", href: `#pattern/${pattern.id}/fold` }, "On to the fold"));
  sheet.node.append(tools.bar);
  sheet.content.append(photo, sure, found, holes, ...lines, tools.node);
  pattern.body.append(sheet.node, make("div", { class: "side" }, tools.panel, look));
  let traced = null;

  // Shows the line as found alone, or as corrected with what it was beneath.
  function before(on) {
    [...as.children].forEach((button, k) => button.setAttribute("aria-pressed", String((k === 1) === on)));
    lines.forEach((line) => line.setAttribute("d", on ? traced.found : traced.line));
    tools.node.style.display = on ? "none" : "";
    found.style.display = on || !traced.corrections.length ? "none" : "";
  }

  function show(told) {
    const first = !traced;
    traced = told;
    if (first) {
      const [x, y, width, height] = told.window;
      Object.entries({ href: `${pattern.path}/photo.jpg`, x, y, width, height }).forEach(([key, value]) => photo.setAttribute(key, value));
      sure.append(...told.trace.map(([px, py, sigma, bridged], k) => {
        const next = told.trace[(k + 1) % told.trace.length];
        return draw("line", { class: `sigma ${bridged ? "bridged" : sigma > 0.5 ? "wide" : ""}`, x1: px, y1: py, x2: next[0], y2: next[1], "stroke-width": Math.max(4 * sigma, 0.4) });
      }));
      holes.append(...told.holes.flatMap((d) => [draw("path", { class: "traced", d }), draw("path", { class: "traced over", d })]));
      found.setAttribute("d", told.found);
      sheet.show(told.window, true);
    }
    as.hidden = !told.corrections.length;
    keepPlace(list, () => list.replaceChildren(...told.corrections.map(({ step, spoken }) => make("li", {}, `${spoken} `,
      make("button", { type: "button", "aria-label": `Take out: ${spoken}`, onclick: () => pattern.change({ change: "remove", at: step }) }, "Take out")))));
    before(false);
    tools.show(told.places);
  }

  // After the corrections that are there, before everything that is made of the line.
  const insert = (step) => ({ change: "insert", at: (traced.corrections.at(-1)?.step ?? -1) + 1, step });

  async function preview(step) {
    try {
      return (await post(path, insert(step), pattern.stop.signal)).line;
    } catch {
      return null;
    }
  }

  async function change(step) {
    try {
      await pattern.write("change", insert(step));
      return true;
    } catch (problem) {
      tools.refuse(problem.at);
      tellProblem(problem);
      return false;
    }
  }

  pattern.refresh = async () => {
    try {
      show(await ask(path, pattern.stop.signal));
    } catch (problem) { tellProblem(problem); }
  };
  return pattern.refresh();
}
