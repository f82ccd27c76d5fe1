// From photographs to a new pattern: hand over, say what lies there, wait, look.
import { ask, drop, post, put } from "./ask.js";
import { make, tell, tellProblem } from "./make.js";

const STAGES = ["Reading the photograph", "Looking for the sheets", "Tracing the outline", "Fitting lines and curves", "Drawing it straight down"];

const field = (label, name, hint, example) => make("label", { class: "field" }, label,
  make("input", { name, placeholder: example, autocomplete: "off" }), hint && make("span", { class: "quiet" }, hint));

export function showPhotograph(host) {
  document.title = "New from a photograph: onfold";
  let gone = false;
  const pictures = [];
  const thumbs = make("div", { class: "thumbs" });
  const pick = make("input", { type: "file", accept: "image/*", multiple: true, id: "pick" });
  const target = make("div", { class: "drop" },
    make("p", {}, make("label", { for: "pick" }, "Drop photographs here, or choose them. On a phone: take one.")), pick);
  const form = make("form", { class: "card" },
    make("h2", {}, "What lies on the sheets"),
    field("What you call it", "name", "", "potter's apron"),
    field("Thickness of its edge", "thickness", "by a calliper, or as leather is sold; 1 mm if left empty", "1.1mm or 3-4 oz"),
    make("label", { class: "field" }, "How the edge is made", make("select", { name: "edge" },
      make("option", { value: "folded" }, "hemmed or turned"), make("option", { value: "cut" }, "cut through, as leather is"))),
    field("Leave out straps narrower than", "trim_narrower", "empty keeps everything", "40mm"),
    field("Checked block on the print, width by a steel ruler", "block_width", "180 mm when the printer is true", "180mm"),
    field("and its height", "block_height", "240 mm when the printer is true", "240mm"),
    make("button", { class: "main", id: "trace" }, "Trace the outline"));
  const done = make("section", { class: "card", hidden: true, "aria-live": "polite" });
  const help = make("details", { class: "card" }, make("summary", {}, "How to photograph"),
    make("ol", {},
      make("li", {}, "Print the sheets at 100 % (onfold grid) and measure the checked block with a steel ruler, both ways."),
      make("li", {}, "Lay a ring of sheets under the outline, tuck straps under, flatten the garment relaxed, not pulled."),
      make("li", {}, "Photograph all of it from above, tilted less than 30 degrees, without flash, the sheets round it just in the picture."),
      make("li", {}, "Measure two lengths by hand and compare before you cut.")));
  host.append(make("h1", {}, "New from a photograph"),
    make("div", { class: "work" }, make("div", { class: "side" }, target, thumbs, done), make("div", { class: "side" }, form, help)));

  function list() {
    thumbs.replaceChildren(...pictures.map((picture, number) => make("figure", {},
      make("img", { src: picture.url, alt: picture.name }),
      make("figcaption", {}, make("button", { type: "button", onclick: async () => {
        try {
          await drop(`/api/photos/${number}`);
          pictures.splice(number, 1);
          list();
        } catch (problem) { tellProblem(problem); }
      } }, `Take ${picture.name} away`)))));
  }

  async function add(files) {
    for (const file of files) {
      tell(`Handing over ${file.name} ...`);
      try {
        await put(`/api/photos?name=${encodeURIComponent(file.name)}`, file);
        pictures.push({ name: file.name, url: URL.createObjectURL(file) });
        list();
        tell(`${file.name} is here. Several photographs of one garment may be traced together.`);
      } catch (problem) {
        tellProblem(problem);
        return;
      }
    }
  }

  pick.addEventListener("change", () => add(pick.files));
  target.addEventListener("dragover", (event) => { event.preventDefault(); target.classList.add("over"); });
  target.addEventListener("dragleave", () => target.classList.remove("over"));
  target.addEventListener("drop", (event) => {
    event.preventDefault();
    target.classList.remove("over");
    add(event.dataTransfer.files);
  });

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = form.querySelector("#trace");
    button.disabled = true;
    try {
      const { count } = await post("/api/capture", Object.fromEntries(new FormData(form)));
      await watch(count - 1);
    } catch (problem) {
      tellProblem(problem);
      done.hidden = false;
      done.replaceChildren(make("p", { class: "fault" }, problem.message));
    }
    button.disabled = false;
  });

  async function watch(after) {
    done.hidden = false;
    const stages = STAGES.map((words) => make("li", {}, words));
    const picture = pictures[0] && make("img", { class: "filling stage-0", src: pictures[0].url, alt: "the photograph" });
    done.replaceChildren(make("h2", {}, "Tracing"), make("ol", { class: "progress" }, stages), picture);
    while (!gone) {
      const news = await ask(`/api/capture?after=${after}`);
      after = news.count;
      if (news.state === "working") {
        stages.forEach((item, k) => { item.className = k < news.stage ? "done" : k === news.stage ? "now" : ""; });
        if (picture) picture.className = `filling stage-${news.stage}`;
        tell(news.words);
      } else if (news.state === "done") {
        location.hash = `#pattern/${news.pattern}/photograph`;
        if (news.advice.length) sessionStorage.setItem(`advice-${news.pattern}`, JSON.stringify(news.advice));
        return;
      } else {
        done.replaceChildren(make("h2", {}, "It could not be traced"), make("p", { class: "fault" }, news.problem ?? "nothing was begun"),
          make("p", {}, "The photographs are still here: change what is said of them, or take one away and hand over another."));
        tell(news.problem ?? "", "fault");
        return;
      }
    }
  }

  // Photographs from an earlier try are known by name alone.
  ask("/api/photos").then(({ photos }) => {
    photos.forEach((photo) => pictures.push({ name: photo.name, url: "/mark.svg" }));
    list();
  }).catch(tellProblem);
  return () => {
    gone = true;
    pictures.forEach((picture) => URL.revokeObjectURL(picture.url));
  };
}
