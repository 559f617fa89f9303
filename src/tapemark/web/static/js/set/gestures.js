// Pointers: drag a thing, turn the head, pan and pinch the drawing.

import { turns, wholeOf } from "./store.js";

const START_PX = 4; // a pointer that moves less has only pointed

/** Begin to drag a thing by its handle or its drawing. */
export function grabber({ store, hands, tapped }) {
  return function grab(event, thing, button, stage) {
    if (event.button !== 0 || store.state.trying) return;
    event.preventDefault();
    event.stopPropagation();
    button.focus({ preventScroll: true });
    const from = [event.clientX, event.clientY];
    const pointer = event.pointerId;
    let begun = null;
    let axis = null;

    const begin = () => {
      begun = hands.begin(thing);
      store.set({ dragging: true, hand: wholeOf(thing) });
    };
    const move = (moved) => {
      if (moved.pointerId !== pointer) return;
      const [dx, dy] = [moved.clientX - from[0], moved.clientY - from[1]];
      if (!begun) {
        if (Math.hypot(dx, dy) < START_PX) return;
        axis = Math.abs(dy) >= Math.abs(dx) ? "z" : "y";
        begin();
      }
      if (hands.current !== begun) return stop();
      hands.to(place(moved, dx, dy));
    };
    const place = (moved, dx, dy) => {
      const { start } = begun;
      if (turns(thing)) return { deg: towards(stage, wholeOf(thing), moved) };
      const shift = stage.shift(dx, dy);
      // A backdrop hangs square behind the sitter: it only goes nearer or farther.
      if (thing === "backdrop") return stage.which === "side" && axis === "z" ? { z: Math.max(start.z + shift.z, 0) } : { y: start.y + shift.y };
      if (stage.which === "plan") return { x: start.x + shift.x, y: start.y + shift.y };
      // At the side a thing goes up and down, or to and fro, not both.
      return axis === "z" ? { z: Math.max(start.z + shift.z, 0) } : { y: start.y + shift.y };
    };
    const up = (moved) => {
      if (moved.pointerId !== pointer) return;
      stop();
      if (begun) hands.settle();
      else tapped(thing);
    };
    const cancel = (moved) => {
      if (moved.pointerId !== pointer) return;
      stop();
      if (begun) hands.putBack();
    };
    const key = (pressed) => {
      if (pressed.key !== "Escape" || !begun) return;
      pressed.preventDefault();
      stop();
      hands.putBack();
    };
    const stop = () => {
      window.removeEventListener("pointermove", move);
      window.removeEventListener("pointerup", up);
      window.removeEventListener("pointercancel", cancel);
      window.removeEventListener("keydown", key, true);
    };
    window.addEventListener("pointermove", move);
    window.addEventListener("pointerup", up);
    window.addEventListener("pointercancel", cancel);
    window.addEventListener("keydown", key, true);
  };
}

/** The turn of a face that looks from the sitter to the pointer [deg], camera-left positive. */
function towards(stage, person, event) {
  const data = stage.thing(person).dataset;
  const [x, y] = stage.pixels(Number(data.x), Number(data.y), Number(data.z));
  const box = stage.frame.getBoundingClientRect();
  const [dx, dy] = [event.clientX - box.left - x, event.clientY - box.top - y];
  const deg = (Math.atan2(-dx, dy) * 180) / Math.PI;
  return Math.round(2 * Math.min(Math.max(deg, -90), 90)) / 2;
}

/** Pan with one pointer on the empty floor, pinch with two, zoom with the wheel. */
export function makePannable(stage, { emptied }) {
  const down = new Map();
  let moved = false;
  const spread = () => {
    const [a, b] = [...down.values()];
    return { far: Math.hypot(a[0] - b[0], a[1] - b[1]), at: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
  };
  const local = ([x, y]) => {
    const box = stage.frame.getBoundingClientRect();
    return [x - box.left, y - box.top];
  };
  stage.frame.addEventListener("pointerdown", (event) => {
    if (event.target.closest("button, input, a")) return;
    down.set(event.pointerId, [event.clientX, event.clientY]);
    stage.frame.setPointerCapture(event.pointerId);
    if (down.size === 1) moved = false;
  });
  stage.frame.addEventListener("pointermove", (event) => {
    const before = down.get(event.pointerId);
    if (!before) return;
    const now = [event.clientX, event.clientY];
    if (down.size === 1) {
      if (Math.hypot(now[0] - before[0], now[1] - before[1]) > 2) moved = true;
      stage.pan(now[0] - before[0], now[1] - before[1]);
      down.set(event.pointerId, now);
      return;
    }
    if (down.size > 2) return;
    moved = true;
    const was = spread();
    down.set(event.pointerId, now);
    const is = spread();
    stage.pan(is.at[0] - was.at[0], is.at[1] - was.at[1]);
    if (was.far > 0) stage.zoomBy(is.far / was.far, local(is.at));
  });
  const lift = (event) => {
    if (!down.delete(event.pointerId)) return;
    if (!moved && event.type === "pointerup") emptied();
  };
  stage.frame.addEventListener("pointerup", lift);
  stage.frame.addEventListener("pointercancel", lift);
  stage.frame.addEventListener("wheel", (event) => {
    event.preventDefault();
    stage.zoomBy(Math.exp(-event.deltaY / 400), local([event.clientX, event.clientY]));
  }, { passive: false });
}
