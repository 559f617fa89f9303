// The strip at the foot: what each eye shows, drawn as the glasses they wear.

import { apart, el, say, sign } from "./dom.js";
import { mainPerson } from "./store.js";

const WORDS = {
  clear: "clear",
  edge: "edge",
  veiled: "veiled",
  none: "no glasses",
};

const percent = (share) => (share > 0 && share < 0.005 ? "under 1 %" : `${Math.round(100 * share)} %`);

const LITTLE = 0.1; // of all that veils an eye: a source below it is not named

/** The sources that veil an eye, the worst first. */
function veiling(eye) {
  const shares = new Map();
  for (const one of eye.reflections ?? []) {
    shares.set(one.source, (shares.get(one.source) ?? 0) + one.veil);
  }
  const all = [...shares.values()].reduce((sum, part) => sum + part, 0);
  return [...shares].filter(([, part]) => part > LITTLE * all)
    .sort((a, b) => b[1] - a[1]).map(([source]) => source);
}

const listed = (names) => (names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`);

/** What one lens shows, in one line: what counts, and what a narrow screen leaves out. */
function coverLine(eye) {
  const worst = [...(eye.reflections ?? [])].sort((a, b) => b.veil - a.veil || b.lens_cover - a.lens_cover)[0];
  if (!worst || !eye.lens_cover) return ["nothing on the lens"];
  if (eye.verdict === "veiled") {
    const names = veiling(eye).map(apart);
    return [`${listed(names)} ${names.length > 1 ? "veil" : "veils"} ${percent(eye.veil)}`, " of the eye"];
  }
  if (eye.verdict === "edge") return [`${apart(worst.source)} beside the eye`];
  return [`a trace of ${apart(worst.source)}`, " at the rim"];
}

function catchlightLine(eye) {
  const seen = (eye.catchlights ?? []).filter((one) => one.visible);
  if (!seen.length) return null;
  return seen.flatMap((one, k) => [k ? ", " : null, el("span", { class: "roomy", text: `${apart(one.source)} at ` }), one.clock]);
}

/** What is said beside a ratio: its stops, and that nothing fills. */
const ratioNote = (ratio) => (ratio ? `${(ratio.stops ?? 0).toFixed(1)} stops${ratio.fill ? "" : ", no fill"}` : "");

/** One whole sentence about the eyes, for readers of the screen. */
export function verdictSentence(view) {
  const person = mainPerson(view);
  if (!person) return "";
  if (person.glasses === false) return WORDS.none;
  return ["right", "left"]
    .map((side) => `${side} eye ${WORDS[person.eyes[side].verdict] ?? person.eyes[side].verdict}`)
    .join(", ");
}

function makeLens(side) {
  const parts = {
    mark: el("span", { class: "mark" }),
    word: el("b", { class: "word" }),
    whose: el("span", { class: "whose" }, side, el("span", { class: "roomy", text: " eye" })),
    cover: el("span", { class: "cover" }),
    catch: el("span", { class: "catch" }),
  };
  const lens = el("div", { class: `lens ${side}` },
    el("div", { class: "said" }, parts.mark, parts.word, parts.whose), parts.cover, parts.catch);
  return {
    lens,
    show(eye, glasses) {
      const verdict = glasses ? eye.verdict : "none";
      lens.dataset.verdict = verdict;
      if (parts.mark.dataset.verdict !== verdict) {
        parts.mark.dataset.verdict = verdict;
        parts.mark.replaceChildren(...(glasses ? [sign(verdict)] : []));
      }
      say(parts.word, WORDS[verdict] ?? verdict);
      const [cover, more] = glasses ? coverLine(eye) : ["nothing before the eye"];
      if (parts.cover.title !== cover + (more ?? "")) {
        parts.cover.replaceChildren(cover, el("span", { class: "roomy", text: more ?? "" }));
        parts.cover.title = cover + (more ?? ""); // long names are cut short
      }
      const seen = JSON.stringify((eye.catchlights ?? []).filter((one) => one.visible).map((one) => [one.source, one.clock]));
      if (parts.catch.dataset.seen === seen) return;
      parts.catch.dataset.seen = seen;
      const line = catchlightLine(eye);
      parts.catch.replaceChildren(
        ...(line ? ["catchlight ", ...line.filter(Boolean)] : ["no catchlight", el("span", { class: "roomy", text: ": the eye looks dead" })]));
      parts.catch.classList.toggle("missing", !line);
    },
  };
}

/** Build the strip into its place and keep it up to date. */
export function makeStrip(holder, { store }) {
  const right = makeLens("right");
  const left = makeLens("left");
  // As the camera sees the sitter: their right eye on the left.
  const glasses = el("div", { class: "glasses", role: "group", "aria-label": "What the glasses show" },
    el("span", { class: "temple", "aria-hidden": "true" }), right.lens,
    el("span", { class: "bridge", "aria-hidden": "true" }), left.lens,
    el("span", { class: "temple", "aria-hidden": "true" }));
  const others = el("ul", { class: "others", "aria-label": "The others in the frame" });
  const light = el("dl", { class: "light-sum" });
  const spoken = el("p", { class: "hidden", role: "status", "aria-live": "polite" });
  holder.append(glasses, others, light, spoken);
  let timer = null;

  const showOthers = (view) => {
    const people = (view.people ?? []).filter((one) => one !== mainPerson(view));
    const said = JSON.stringify(people.map((one) => [one.name, one.glasses, one.eyes.right.verdict, one.eyes.left.verdict]));
    if (others.dataset.said === said) return;
    others.dataset.said = said;
    others.hidden = !people.length;
    others.replaceChildren(...people.map((one) => el("li", {},
      el("b", { dir: "auto", text: one.name.split(",")[0] }),
      ...(one.glasses === false ? [el("span", { text: WORDS.none })]
        : ["right", "left"].map((side) => el("span", {}, sign(one.eyes[side].verdict),
          ` ${side} ${one.eyes[side].verdict}`))))));
  };

  const showLight = (view) => {
    const sum = view.exposure ?? {};
    const off = sum.stops ?? 0;
    const how = Math.abs(off) < 0.15
      ? "as the camera is set"
      : `${Math.abs(off).toFixed(1)} stop${Math.abs(off) < 1.05 ? "" : "s"} ${off < 0 ? "too dark" : "too bright"}`;
    const rows = [
      ["Light", sum.together ?? "none", sum.wanted ? `camera ${sum.wanted}: ${how}` : "",
        "What a meter at the face shows for all lights together, and what the camera is set to."],
      ["Ratio", sum.ratio?.text ?? "none", ratioNote(sum.ratio),
        "How much brighter the lit side of the face is than the shadow side: key and fill together against fill alone; without a fill, cheek against cheek."],
      ["Pattern", view.pattern ?? "none", "",
        "The name of the shadow that the key makes on the face: from its place before the face."],
    ];
    const text = JSON.stringify(rows);
    if (light.dataset.said === text) return;
    light.dataset.said = text;
    light.replaceChildren(...rows.flatMap(([name, value, note, why]) => [
      el("dt", { title: why, text: name }),
      el("dd", { title: why }, el("b", { text: value }), note ? el("span", { class: name === "Light" ? null : "roomy", text: ` ${note}` }) : null),
    ]));
  };

  store.watch((state, before) => {
    if (!state.view || state.view === before.view) return;
    const person = mainPerson(state.view);
    if (!person) return;
    right.show(person.eyes.right, person.glasses !== false);
    left.show(person.eyes.left, person.glasses !== false);
    showOthers(state.view);
    showLight(state.view);
    clearTimeout(timer);
    timer = setTimeout(() => say(spoken, verdictSentence(state.view)), 600);
  });
}
