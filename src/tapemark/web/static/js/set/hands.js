// A thing being changed by hand, with the pointer or with keys: it follows at once, is tried on
// the way and saved when let go.

import { complete } from "./parts.js";
import { headTurn, lightOf, turns } from "./store.js";

const SETTLE_MS = 450; // after the last key press

/** Where a thing is now: metres and degrees. */
function placeOf(thing, { view, stages }) {
  if (turns(thing)) return { deg: headTurn(thing, view) };
  const light = lightOf(view, thing);
  const entry = light ?? (thing === "camera" ? view.camera : null);
  const shown = [...stages].sort((a, b) => a.hidden - b.hidden);
  const group = shown.map((one) => one.thing(thing)).find((one) => one && "x" in one.dataset);
  const from = entry ?? group?.dataset ?? { x: 0, y: 0, z: 0 };
  return { x: Number(from.x), y: Number(from.y), z: Number(from.z) };
}

const rounded = (value, digits = 4) => Number(value.toFixed(digits));

/** The edits that bring a thing from one place to another. */
function editsFor(thing, start, now) {
  const edits = [];
  if ("deg" in start) {
    if (start.deg !== now.deg) edits.push({ turn: thing, deg: rounded(now.deg, 2) });
    return edits;
  }
  if (start.x !== now.x || start.y !== now.y) {
    edits.push({ move: thing, x: rounded(now.x), y: rounded(now.y) });
  }
  if (start.z !== now.z) edits.push({ raise: thing, z: rounded(now.z) });
  return edits;
}

export function makeHands({ store, link, stages, pictures, whenEchoed }) {
  const hands = { current: null };

  /** Which drawings are on the screen: on a phone one at a time, and only that is asked for. */
  const wanted = () => {
    const seen = pictures.filter((one) => !one.hidden);
    return { drawings: seen.map((one) => one.which), has: seen.flatMap((one) => one.marks()) };
  };

  const follow = () => {
    const at = hands.current;
    if (!at || "deg" in at.start) return whenEchoed(at?.thing);
    const shift = {
      x: at.now.x - at.shown.x, y: at.now.y - at.shown.y, z: at.now.z - at.shown.z,
    };
    for (const stage of stages) stage.echo(at.thing, shift);
    return whenEchoed(at.thing);
  };

  /** Show a thing where its drawing has it. */
  const home = (at) => {
    if ("deg" in at.start) return;
    for (const stage of stages) stage.echo(at.thing, { x: 0, y: 0, z: 0 });
  };

  /** Take hold of a thing; what was in hand before is saved. */
  hands.begin = (thing) => {
    if (hands.current && hands.current.thing === thing && !hands.current.gone) {
      clearTimeout(hands.current.timer);
      return hands.current;
    }
    hands.settle();
    const start = placeOf(thing, { view: store.state.view, stages });
    hands.current = {
      thing, start, now: { ...start }, shown: { ...start },
      base: link.unsaved ? null : link.revision, // the revision the person sees
    };
    return hands.current;
  };

  /** Where a thing is, without taking hold of it. */
  hands.peek = (thing) =>
    hands.current?.thing === thing ? hands.current.now : placeOf(thing, { view: store.state.view, stages });

  /** Move what is in hand to a place. */
  hands.to = (place) => {
    const at = hands.current;
    if (!at || at.gone) return;
    Object.assign(at.now, place);
    if (!store.state.dragging) store.set({});
    follow();
    const target = { ...at.now };
    const edits = editsFor(at.thing, at.start, target);
    if (!edits.length) return;
    const look = (view) => {
      if (hands.current !== at) return;
      // A part that is not at hand, however that came: have it all sent once more.
      if (!complete(view.drawings)) {
        link.try({ edits, drawings: wanted().drawings }, look);
        return;
      }
      at.shown = target;
      at.tried = true;
      store.set({ view: { ...store.state.saved, ...view, findings: store.state.view.findings } });
      follow();
    };
    link.try({ edits, ...wanted() }, look);
  };

  /** How far what is in hand is from where the drawing shows it [m], or null. */
  hands.ahead = (thing) => {
    const at = hands.current;
    if (!at || at.thing !== thing || "deg" in at.start) return null;
    return { x: at.now.x - at.shown.x, y: at.now.y - at.shown.y, z: at.now.z - at.shown.z };
  };

  /** The turn of the head in hand [deg], or null. */
  hands.turned = (thing) => (hands.current?.thing === thing ? hands.current.now.deg : null);

  /** Let go: save it. */
  hands.settle = () => {
    const at = hands.current;
    if (!at || at.gone) return;
    clearTimeout(at.timer);
    const edits = editsFor(at.thing, at.start, at.now);
    store.set({ dragging: false });
    if (!edits.length) {
      hands.putBack();
      return;
    }
    at.gone = true; // sent; still followed until the answer shows it
    link.take({ edits }, { base: at.base });
  };

  /** Let go soon, unless another key comes. */
  hands.settleSoon = () => {
    const at = hands.current;
    if (!at) return;
    clearTimeout(at.timer);
    at.timer = setTimeout(hands.settle, SETTLE_MS);
  };

  /** Put it back where it was. */
  hands.putBack = () => {
    const at = hands.current;
    if (!at) return;
    clearTimeout(at.timer);
    link.dropTry();
    hands.current = null;
    home(at);
    store.set({ dragging: false, view: store.state.saved });
    whenEchoed(at.thing);
  };

  /** The server has answered: what it shows is what counts. */
  hands.forget = () => {
    const at = hands.current;
    if (!at?.gone) return;
    hands.current = null;
    home(at);
    store.set({});
  };

  /** A new drawing has come: what is in hand stays under the finger. */
  hands.follow = follow;
  return hands;
}
