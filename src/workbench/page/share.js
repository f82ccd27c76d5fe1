// The code that lets a phone send photographs, while the program was started for it.
import { ask, post } from "./ask.js";
import { draw, make, tell, tellProblem } from "./make.js";

export async function showShare(host) {
  const open = await ask("/api/share");
  if (!open.seconds) return;
  const card = make("section", { class: "card" }, make("h2", {}, "Photograph with the phone"),
    draw("svg", { class: "code", viewBox: `0 0 ${open.squares} ${open.squares}`, role: "img", "aria-label": "Code with the address for the phone's camera" },
      draw("path", { d: open.path })),
    make("p", {}, "Read the code with the phone's camera, on the same local network, or write: ", make("code", {}, open.address)),
    make("p", { class: "quiet" }, `For the first phone that comes, open another ${Math.ceil(open.seconds / 60)} minutes. What is sent is not encrypted.`),
    make("button", { type: "button", onclick: async () => {
      try {
        await post("/api/share/close");
        card.remove();
        tell("The phone's page is closed.");
      } catch (problem) { tellProblem(problem); }
    } }, "Close it now"));
  host.append(card);
}
