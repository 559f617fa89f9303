// What the page knows of the setup, and who wants to hear when it changes.

/** A small store: `state` is read by everybody, changed through `set`. */
export function makeStore() {
  const listeners = new Set();
  const state = {
    view: null, // the view on screen: saved, or of a try
    saved: null, // the last full view of what is saved
    setup: null, // the saved setup as typed
    revision: null,
    canUndo: false,
    canRedo: false,
    trying: null, // a move being tried: {change, setup}
    hand: null, // the thing in hand, such as "light.key"
    online: false,
    unsaved: false,
    looking: false, // for moves
    dragging: false,
  };
  return {
    state,
    /** Change some of the state and tell everybody which. */
    set(changes) {
      const before = { ...state };
      Object.assign(state, changes);
      for (const listener of listeners) listener(state, before);
    },
    /** Call a function at every change, and once now. */
    watch(listener) {
      listeners.add(listener);
      listener(state, {});
    },
  };
}

/** The entry of a light in a view, by its thing ("light.key"). */
export function lightOf(view, thing) {
  return view?.lights?.find((one) => one.thing === thing) ?? null;
}

/** The main person of a view. */
export function mainPerson(view) {
  return view?.people?.find((one) => one.main) ?? view?.people?.[0] ?? null;
}

/** Whether a handle turns a head. */
export const turns = (thing) => thing.endsWith(".head");

/** The thing that a handle is about: a head's person, an aim's light. */
export const wholeOf = (thing) => thing.replace(/\.(head|aim)$/, "");

/** How far a head is turned [deg], camera-left positive. */
export function headTurn(thing, view) {
  const person = wholeOf(thing);
  if (person === "sitter") return view?.sitter?.head_turn_deg ?? 0;
  return view?.companions?.find((one) => one.thing === person)?.head_turn_deg ?? 0;
}

/** A thing's own name: "light.key" is "key". */
export function nameOf(thing, view) {
  if (thing === "sitter") return mainPerson(view)?.name ?? "sitter";
  const dot = thing.indexOf(".");
  return dot < 0 ? thing : thing.slice(dot + 1);
}

/** Steps of the arrow keys [m]: plain, fine with Shift, wide with Alt. */
export function stepM(view, event) {
  const [plain, fine, wide] =
    view?.units === "us" ? [0.0508, 0.0127, 0.254] : [0.05, 0.01, 0.25];
  if (event.shiftKey) return fine;
  return event.altKey ? wide : plain;
}
