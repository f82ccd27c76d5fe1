// Paper: which, how the pages lie on the pieces, and the files to take along.
import { ask } from "./ask.js";
import { draw, make, tellProblem } from "./make.js";

export function showPrint(pattern) {
  const sheet = pattern.newSheet("The pages on the pieces");
  const paper = make("select", { id: "paper" }, make("option", { value: "a4" }, "A4 pages"), make("option", { value: "letter" }, "letter pages"), make("option", { value: "roll" }, "a roll"));
  const width = make("input", { placeholder: "914mm or 36in", id: "width", autocomplete: "off" });
  const wide = make("label", { class: "field", for: "width", hidden: true }, "Width of the roll", width);
  const about = make("p", { role: "status" });
  const links = make("div", { class: "row" });
  const pages = make("div", { class: "pages" });
  const form = make("section", { class: "card" }, make("h2", {}, "Print"), make("label", { class: "field", for: "paper" }, "On", paper), wide, about, links,
    make("p", {}, "Print at 100 %, then measure the square on the first page before anything is cut."),
    make("p", { class: "quiet" }, "Cut and skive away from yourself, with a sharp blade and the other hand clear. A garment made by this pattern is not certified as protective equipment."));
  pattern.body.append(sheet.node, make("div", { class: "side" }, form));
  pattern.host.append(make("section", { class: "card" }, make("h2", {}, "The pages"), pages));
  let tiles = [];
  pattern.over = () => tiles.flatMap((list, k) => {
    const { dx, dy } = pattern.places[k];
    return [draw("g", { transform: `translate(${dx} ${dy})` }, list.flatMap(({ name, box: [x, y, w, h] }) => [
      draw("rect", { class: "tile", x, y, width: w, height: h }),
      draw("text", { class: "tile-name", x: x + 8, y: y + 26, "font-size": 18 }, name)]))];
  });
  // Pages reach beyond the pieces; those of one piece stand clear of those of the next.
  pattern.around = (k, window) => {
    const boxes = [window, ...(tiles[k] ?? []).map(({ box }) => box)];
    const [x, y] = [0, 1].map((side) => Math.min(...boxes.map((box) => box[side])));
    const [right, bottom] = [0, 1].map((side) => Math.max(...boxes.map((box) => box[side] + box[side + 2])));
    return [x, y, right - x, bottom - y];
  };
  const query = () => `paper=${paper.value}&width=${encodeURIComponent(paper.value === "roll" ? width.value : "")}`;
  async function load() {
    wide.hidden = paper.value !== "roll";
    pattern.drawPieces();
    about.className = "quiet";
    about.textContent = "Laying out the pages ...";
    try {
      const asked = query();
      const made = await ask(`${pattern.path}/print?${asked}`, pattern.stop.signal);
      if (asked !== query()) return;
      tiles = made.tiles;
      pattern.drawPieces();
      about.className = "";
      about.textContent = `${made.pages} pages`;
      const link = (name, words, main) => make("a", { class: `button ${main ? "main" : ""}`, href: `${pattern.path}/file/${name}?${asked}`, download: name }, words);
      links.replaceChildren(link("pattern.pdf", "PDF to print", true), link("pattern.svg", "SVG"), link("pattern.dxf", "DXF"));
      pages.replaceChildren(...Array.from({ length: made.pages }, (_, k) =>
        make("img", { src: `${pattern.path}/page/${k}?${asked}`, alt: `page ${k + 1}`, loading: "lazy" })));
    } catch (problem) {
      about.className = "fault";
      about.textContent = problem.message;
      tellProblem(problem);
    }
  }
  paper.addEventListener("change", load);
  width.addEventListener("change", load);
  pattern.refresh = load;
}
