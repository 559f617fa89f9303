// The keyboard: what is focused moves with the arrow keys; the rest works from anywhere.

import { stepM, wholeOf } from "./store.js";

const TURN_DEG = 5;
const FINE_TURN_DEG = 1;

/** What a key does to a thing at a place; null where it does nothing. */
function changeBy(event, thing, place, view, which) {
  const step = stepM(view, event);
  const turn = (event.shiftKey ? FINE_TURN_DEG : TURN_DEG) * (event.code === "BracketLeft" ? 1 : -1);
  if (event.code === "BracketLeft" || event.code === "BracketRight") {
    if ("deg" in place) return { deg: Math.min(Math.max(place.deg + turn, -90), 90) };
    return swung(place, turn);
  }
  if ("deg" in place) {
    if (event.key === "ArrowLeft") return { deg: Math.min(place.deg + (event.shiftKey ? 1 : 5), 90) };
    if (event.key === "ArrowRight") return { deg: Math.max(place.deg - (event.shiftKey ? 1 : 5), -90) };
    return null;
  }
  if (event.key === "PageUp") return { z: place.z + step };
  if (event.key === "PageDown") return { z: Math.max(place.z - step, 0) };
  if (which === "side") {
    if (event.key === "ArrowUp") return { z: place.z + step };
    if (event.key === "ArrowDown") return { z: Math.max(place.z - step, 0) };
    if (event.key === "ArrowLeft") return { y: place.y - step };
    if (event.key === "ArrowRight") return { y: place.y + step };
    return null;
  }
  // On the plan camera-left is on the left and the camera at the foot.
  if (event.key === "ArrowLeft") return { x: place.x + step };
  if (event.key === "ArrowRight") return { x: place.x - step };
  if (event.key === "ArrowUp") return { y: place.y - step };
  if (event.key === "ArrowDown") return { y: place.y + step };
  return null;
}

/** A place swung around the sitter, camera-left positive. */
function swung({ x, y }, deg) {
  const turn = (deg * Math.PI) / 180;
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  return { x: x * cos + y * sin, y: y * cos - x * sin };
}

/** Keys on a handle. */
export function presser({ store, hands, which, actions }) {
  return function press(event, thing) {
    if (event.ctrlKey || event.metaKey || store.state.trying) return;
    if (event.key === "Enter") {
      event.preventDefault();
      actions.numbers(wholeOf(thing));
      return;
    }
    if (event.key === "Delete" && thing.startsWith("light.")) {
      event.preventDefault();
      actions.remove(thing);
      return;
    }
    const bracket = event.code === "BracketLeft" || event.code === "BracketRight";
    const person = thing === "sitter" || /^companion\.(?!.*\.head$)/.test(thing);
    const held = bracket && person ? `${thing}.head` : thing;
    const change = changeBy(event, held, hands.peek(held), store.state.view, which);
    if (!change || (person && "z" in change)) return;
    if (thing === "backdrop" && "x" in change) return; // it only goes nearer or farther
    event.preventDefault();
    if (store.state.hand !== wholeOf(thing)) store.set({ hand: wholeOf(thing) });
    hands.begin(held);
    hands.to(change);
    hands.settleSoon();
  };
}

/** Keys that work anywhere on the page. */
export function listenForKeys({ store, hands, actions }) {
  window.addEventListener("keydown", (event) => {
    const typing = event.target.closest?.("input, select, textarea");
    const command = event.ctrlKey || event.metaKey;
    if (command && event.key.toLowerCase() === "z" && !typing) {
      event.preventDefault();
      hands.settle();
      actions.step(event.shiftKey ? "redo" : "undo");
    } else if (command && event.key.toLowerCase() === "y" && !typing) {
      event.preventDefault();
      actions.step("redo");
    } else if (event.key === "Escape" && !document.querySelector("dialog[open]")) {
      if (hands.current && !hands.current.gone) hands.putBack();
      else if (store.state.trying) actions.putBack();
      else if (!typing) store.set({ hand: null });
    } else if (!typing && !command && event.key === "?") {
      event.preventDefault();
      actions.help();
    } else if (!typing && !command && !event.altKey && event.key.toLowerCase() === "m") {
      if (document.querySelector("dialog[open]")) return;
      actions.map();
    }
  });
}
