// The fold: both halves laid over each other, which of them makes the pattern, and where the mirror axis lies.
import { post, unit } from "./ask.js";
import { draw, make, tellProblem } from "./make.js";

// A notch of the sliders, and how many there are either way.
const SHIFT = { mm: [0.25, "mm", 40], cm: [0.25, "mm", 40], in: [1, "/64in", 26] };
const TURN_DEG = 0.05, TURN_NOTCHES = 40;

export function showFold(pattern) {
  const sheet = pattern.newSheet("Left and right half laid over each other");
  const cloth = draw("path", { class: "cloth" }), left = draw("path", { class: "wear left" }), right = draw("path", { class: "wear right" });
  sheet.content.append(cloth, left, right);
  const departs = make("p", { role: "status" });
  const times = make("input", { type: "range", min: 1, max: 40, value: 10, id: "times" });
  let fold = null, seen = false, asking = null;

  function drawFold() {
    const k = Number(times.value) / 2;
    const line = (sign) => fold.samples.map(([x, y, nx, ny, d], i) => `${i ? "L" : "M"}${x + nx * d * k * sign},${y + ny * d * k * sign}`).join("");
    cloth.setAttribute("d", fold.half);
    left.setAttribute("d", line(-1));
    right.setAttribute("d", line(1));
    departs.textContent = `Left and right depart by ${fold.mean} in the mean, at most ${fold.worst}.`;
    if (!seen) sheet.show(fold.window, true);
    seen = true;
  }

  const change = (key, text) => ({ change: "fold", key, text });
  const choose = (key, label, options) => {
    const select = make("select", { name: key, onchange: () => pattern.change(change(key, select.value)) },
      options.map(([value, words]) => make("option", { value }, words)));
    return { key, select, field: make("label", { class: "field" }, label, select) };
  };

  // The halves follow while one slides or types; what is typed last is kept.
  async function preview(key, text) {
    asking?.abort();
    asking = new AbortController();
    try {
      fold = await post(`${pattern.path}/fold?unit=${unit()}`, change(key, text), asking.signal);
      drawFold();
      departs.className = "";
    } catch (problem) {
      if (problem.name === "AbortError") return;
      departs.className = "fault";
      departs.textContent = problem.message;
    }
  }

  async function keep(key, text) {
    asking?.abort();
    if (!await pattern.change(change(key, text))) pattern.refresh();
  }

  // Words as one types them, and a slider that writes them.
  function nudge(key, label, hint, notches, words) {
    const text = make("input", { name: key, autocomplete: "off", placeholder: hint });
    const slide = make("input", { type: "range", min: -notches, max: notches, step: 1, "aria-label": `${label}, by sliding` });
    slide.addEventListener("input", () => {
      text.value = Number(slide.value) ? words(Number(slide.value)) : "";
      preview(key, text.value);
    });
    slide.addEventListener("change", () => keep(key, text.value));
    text.addEventListener("input", () => preview(key, text.value.trim()));
    text.addEventListener("change", () => keep(key, text.value.trim()));
    return { key, text, slide, node: make("div", {}, make("label", { class: "field" }, label, text), slide) };
  }

  const halves = choose("keep", "The pattern is made of", [["mean", "the mean of both halves"], ["left", "the left half"], ["right", "the right half"]]);
  const tops = choose("top", "The top is", [["narrower", "the narrower end"], ["wider", "the wider end"]]);
  const [notch, suffix, most] = SHIFT[unit()];
  const shift = nudge("shift", "Move the mirror axis to the right by", "as found; or 1.5mm, -1/16in", most, (k) => `${k * notch}${suffix}`);
  const turn = nudge("turn", "Turn it clockwise by, degrees", "as found; or 0.2", TURN_NOTCHES, (k) => (k * TURN_DEG).toFixed(2));
  const axis = make("section", { class: "card" }, make("h2", {}, "The mirror axis"),
    make("p", { class: "quiet" }, "It is found by laying the outline over its own mirror image. Move it only where you know better: from a centre seam, or a tape over the garment. A minus sign goes the other way."),
    shift.node, turn.node);
  pattern.body.append(sheet.node, make("div", { class: "side" },
    make("section", { class: "card" }, make("h2", {}, "Fold"), departs, halves.field, tops.field,
      make("label", { class: "field", for: "times" }, "Differences drawn larger, times"), times,
      make("p", { class: "quiet" }, "Full line: left half; dashed line: right half, as seen with the top up. The mean lies between.")),
    axis));
  times.addEventListener("input", drawFold);

  pattern.refresh = () => {
    ({ fold } = pattern.view);
    departs.className = "";
    for (const { key, select } of [halves, tops]) select.value = fold[key];
    for (const { key, text } of [shift, turn]) text.value = fold[key];
    shift.slide.value = fold.shift_mm / (unit() === "in" ? 25.4 / 64 : notch);
    turn.slide.value = Number(fold.turn) / TURN_DEG;
    axis.hidden = fold.drawn;
    drawFold();
  };
}
