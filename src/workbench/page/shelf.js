// The shelf: a picture of every pattern, and a search.
import { ask } from "./ask.js";
import { make, tellProblem } from "./make.js";
import { showShare } from "./share.js";

function card(pattern) {
  if (pattern.problem) {
    return make("li", { class: "card" }, make("strong", {}, pattern.title), make("p", { class: "fault" }, pattern.problem));
  }
  const facts = [pattern.material, pattern.date, `${pattern.steps} ${pattern.steps === 1 ? "step" : "steps"}`];
  return make("li", {}, make("a", { class: "card", href: `#pattern/${pattern.id}/steps` },
    make("img", { src: `/api/pattern/${pattern.id}/picture.svg`, alt: "", loading: "lazy" }),
    make("strong", {}, pattern.title),
    make("div", { class: "quiet" }, facts.filter(Boolean).join(" · "))));
}

export async function showShelf(host) {
  document.title = "Shelf: onfold";
  const list = make("ul", { class: "shelf" });
  const find = make("input", { type: "search", id: "find", autocomplete: "off" });
  const empty = make("p", {});
  host.append(make("h1", {}, "Shelf"),
    make("div", { class: "row" }, make("label", { for: "find" }, "Find by name, material or date"), find,
      make("a", { class: "button main", href: "#photograph" }, "New from a photograph")),
    empty, list);
  showShare(host).catch(tellProblem);
  const load = async () => {
    try {
      const { patterns } = await ask(`/api/shelf?find=${encodeURIComponent(find.value)}`);
      list.replaceChildren(...patterns.map(card));
      empty.textContent = patterns.length ? "" : find.value ? "Nothing on the shelf has these words."
        : "The shelf is empty. Lay a garment on the printed sheets and photograph it.";
    } catch (problem) {
      tellProblem(problem);
    }
  };
  find.addEventListener("input", load);
  await load();
  return () => {};
}
