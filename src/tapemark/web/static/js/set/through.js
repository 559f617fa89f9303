// What the camera sees: the whole frame, and the eyes enlarged with what lenses and eyes reflect.

import { el, svg } from "./dom.js";
import { makeParts } from "./parts.js";
import { mainPerson } from "./store.js";
import { verdictSentence } from "./strip.js";

const PICTURE = "through-picture";

export function makeThrough(frame, { store }) {
  const picture = svg("g", { id: PICTURE, class: "seen" });
  // Drawn once and shown twice, each through a window of its own.
  const eyes = svg("svg", { class: "through eyes", "aria-hidden": "true" }, picture);
  const whole = svg("svg", { class: "through whole", "aria-hidden": "true" },
    svg("use", { href: `#${PICTURE}` }));
  frame.append(whole, eyes);
  const parts = makeParts(() => picture);
  let hidden = false;
  const draw = () => {
    const made = store.state.view?.drawings?.view;
    if (hidden || !made) return;
    parts.show(made);
    window_(whole, made.box);
    window_(eyes, made.eyes_box ?? made.box);
  };
  new ResizeObserver(([entry]) => {
    hidden = entry.contentRect.width < 1;
    draw();
  }).observe(frame);
  store.watch((state, before) => {
    const { view } = state;
    if (!view || view === before.view) return;
    draw();
    frame.setAttribute("aria-label",
      `${mainPerson(view)?.name ?? "The sitter"} as the camera sees them: ${verdictSentence(view)}`);
  });
  return {
    which: "view",
    get hidden() {
      return hidden;
    },
    marks: () => parts.marks,
  };
}

/** Give a picture the window through which it is seen, and that window's shape. */
function window_(sheet, box) {
  if (sheet.getAttribute("viewBox") === box.join(" ")) return;
  sheet.setAttribute("viewBox", box.join(" "));
  sheet.style.aspectRatio = `${box[2]} / ${box[3]}`;
}

/** What the marks in the enlarged eyes mean, beside the drawing's title. */
export function makeKey(holder) {
  const mark = (kind, path) => svg("svg", { class: `seen key ${kind}`, viewBox: "-9 -6 18 12", "aria-hidden": "true" }, path);
  holder.append(
    el("span", {}, mark("front", svg("path", { d: "M-8-4h16v8h-16z", class: "reflection" })), "front of the lens"),
    el("span", {}, mark("back", svg("path", { d: "M-8-4h16v8h-16z", class: "reflection back" })), "back of the lens"),
    el("span", {}, mark("catch", svg("circle", { r: 4, class: "catchlight" })), "catchlight"));
}
