// On the phone over the garment: photographs are taken, sent to the computer at the bench and traced there.
import { ask, drop, post, put } from "./ask.js";
import { make, tell, tellProblem } from "./make.js";

const bench = document.getElementById("bench");
const list = make("ul", { class: "lines" });
const pick = make("input", { type: "file", accept: "image/*", multiple: true, id: "pick" });
const field = (label, name, example) => make("label", { class: "field" }, label, make("input", { name, placeholder: example, autocomplete: "off" }));
const trace = make("button", { class: "main", id: "trace" }, "Trace the outline");
const form = make("form", { class: "card" },
  make("h2", {}, "What lies on the sheets"),
  field("What you call it", "name", "potter's apron"),
  field("Thickness of its edge", "thickness", "1.1mm or 3-4 oz"),
  make("label", { class: "field" }, "How the edge is made", make("select", { name: "edge" },
    make("option", { value: "folded" }, "hemmed or turned"), make("option", { value: "cut" }, "cut through, as leather is"))),
  field("Leave out straps narrower than", "trim_narrower", "40mm"),
  field("Checked block on the print, width by a steel ruler", "block_width", "180mm"),
  field("and its height", "block_height", "240mm"),
  trace);
const state = make("section", { class: "card", hidden: true });
bench.append(make("h1", {}, "Photographs for the bench"),
  make("section", { class: "card" }, make("label", { class: "field", for: "pick" }, "Take or choose photographs, from above, all of the garment and the sheets round it"), pick, list),
  form, state);

async function show() {
  const { photos } = await ask("/api/photos");
  list.replaceChildren(...photos.map((photo, number) => make("li", {}, `${photo.kilobytes} kB `,
    make("button", { type: "button", onclick: () => drop(`/api/photos/${number}`).then(show).catch(tellProblem) }, `Take ${photo.name} away`))));
}

pick.addEventListener("change", async () => {
  try {
    for (const file of pick.files) {
      tell(`Sending ${file.name} ...`);
      await put(`/api/photos?name=${encodeURIComponent(file.name)}`, file);
      await show();
      tell(`${file.name} has arrived.`);
    }
    pick.value = "";
  } catch (problem) { tellProblem(problem); }
});

async function watch(after) {
  for (;;) {
    const news = await ask(`/api/capture?after=${after}`);
    after = news.count;
    if (news.state === "working") {
      state.replaceChildren(make("p", {}, news.words));
      tell(news.words);
    } else if (news.state === "done") {
      state.replaceChildren(make("h2", {}, "Done"), make("p", { class: "good" }, "The pattern lies on the shelf, on the page at the bench."),
        make("ul", {}, (news.advice ?? []).map((words) => make("li", {}, words))));
      state.scrollIntoView({ block: "nearest" });
      tell("Done.");
      await show();
      return;
    } else throw new Error(news.problem ?? "nothing was begun");
  }
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  trace.disabled = true;
  state.hidden = false;
  try {
    const { count } = await post("/api/capture", Object.fromEntries(new FormData(form)));
    await watch(count - 1);
  } catch (problem) {
    tellProblem(problem);
    state.replaceChildren(make("h2", {}, "It could not be traced"), make("p", { class: "fault" }, problem.message),
      make("p", {}, "The photographs are still here: change what is said of them, or take one away and send another."));
  }
  trace.disabled = false;
});

show().catch(tellProblem);
