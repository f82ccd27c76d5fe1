// Which page is shown: the part of the address after the sign # says it.
import { keepUnit, unit } from "./ask.js";
import { tell } from "./make.js";
import { showPattern } from "./pattern.js";
import { showPhotograph } from "./photograph.js";
import { showShelf } from "./shelf.js";

const bench = document.getElementById("bench");
let leave = () => {};

async function show(focus) {
  leave();
  leave = () => {};
  tell("");
  const [page, id, part] = location.hash.slice(1).split("/");
  const host = document.createElement("div");
  host.className = "page";
  bench.replaceChildren(host);
  if (page === "photograph") leave = showPhotograph(host);
  else if (page === "pattern") leave = showPattern(host, Number(id), part ?? "steps");
  else leave = await showShelf(host);
  if (focus) bench.focus();
}

const units = document.getElementById("unit");
units.value = unit();
units.addEventListener("change", () => {
  keepUnit(units.value);
  window.dispatchEvent(new Event("unit"));
});
window.addEventListener("hashchange", () => show(true));
show(false);
