// The sightline map of the light in hand, as a layer on plan and side elevation.

import { apart, el, namesApart, say, svg } from "./dom.js";
import { lightOf, nameOf } from "./store.js";

const KEY = [
  ["open", "open"], ["closed", "on a lens"], ["veiled", "over an eye"], ["lost", "no catchlight"],
  ["beyond", "out of reach"],
];

export function makeMapLayer({ store, link, stages, bar, band, announce }) {
  const button = el("button", {
    type: "button", class: "map-switch", "aria-pressed": "false", onclick: () => toggle(),
    title: "Sightline map: where this light may stand, and where the glasses would show it.",
  });
  const words = el("p", { class: "map-words", role: "status" });
  const key = el("p", { class: "map-key", hidden: true }, KEY.map(([name, text]) =>
    el("span", {}, svg("svg", { viewBox: "0 0 300 200", "aria-hidden": "true" },
      svg("path", { class: name, d: "M0 0h300v200H0z" }), svg("path", { class: "edge", d: "M0 0h300v200H0z" })), text)));
  bar.append(button);
  band.append(words, key);
  let on = false;
  let number = null;
  let shown = null; // {light, revision}

  const light = () => {
    const { hand, view } = store.state;
    return lightOf(view, hand ?? "") ? hand : (view?.lights?.[0]?.thing ?? null);
  };
  const toggle = (wanted = !on) => {
    on = wanted;
    if (on) return draw();
    clear();
    if (number !== null) link.stop(number);
    number = null;
    paint();
  };
  const clear = () => {
    shown = null;
    words.textContent = "";
    for (const stage of stages) stage.showLayer("");
    key.hidden = true;
  };
  const draw = () => {
    const thing = light();
    if (!thing || !store.state.online) return paint();
    if (number !== null) link.stop(number);
    number = link.ask("map", { light: nameOf(thing, store.state.view) });
    shown = { light: thing, revision: store.state.revision };
    words.textContent = "Drawing the map…";
    return paint();
  };
  const paint = () => {
    const thing = light();
    button.hidden = !thing;
    button.setAttribute("aria-pressed", String(on));
    band.hidden = !on;
    if (thing) say(button, `Where may ${apart(nameOf(thing, store.state.view))} stand?`);
  };
  store.watch((state, before) => {
    if (state.hand === before.hand && state.revision === before.revision && state.view === before.view
      && state.online === before.online && state.looking === before.looking) return;
    paint();
    if (!on || state.dragging || state.trying || state.looking || !state.online) return;
    const thing = light();
    if (!thing) return clear();
    if (!shown || shown.light !== thing || shown.revision !== state.revision) draw();
  });
  return {
    toggle,
    progress(said) {
      if (said.n === number) words.textContent = said.text;
    },
    found(said) {
      if (said.n !== number || !on) return;
      number = null;
      stages.find((one) => one.which === "plan").showLayer(said.svg ?? "");
      stages.find((one) => one.which === "side").showLayer(said.side_svg ?? "");
      key.hidden = false;
      words.textContent = namesApart(store.state.view)(said.words ?? "");
      announce(said.words ?? "Map drawn");
    },
    stopped(said) {
      if (said.n !== number) return;
      number = null;
      shown = null; // drawn again when the other work is done
    },
    failed(text) {
      number = null;
      words.textContent = text;
    },
  };
}
