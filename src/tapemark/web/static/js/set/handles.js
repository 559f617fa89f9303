// Handles over a drawing: one button for each thing, for finger, pointer, keyboard and reader.

import { el, say, sign } from "./dom.js";
import { headTurn, lightOf, mainPerson, nameOf, turns, wholeOf } from "./store.js";

const LEAST_KNOB_PX = 48; // from the middle of the head to the handle that turns it
const GAP_PX = 5; // between a thing and its name
const SOLID = ".body, .face, .head, .cloth, .weight, .verdict";
const FLAT = /^(backdrop|window|panel|screen)/;
const LONG_NAME = 16; // letters; a longer name is cut short beside its thing
const EDGE_PX = 12; // what lies farther out of sight has no handle

/** What is said of a thing: its name, a second line, and a whole sentence. */
function words(thing, { view, which, dragging, inHand }) {
  const name = nameOf(thing, view);
  const light = lightOf(view, thing);
  if (light) {
    const power = light.power ? `${light.power}` : "";
    const place = which === "plan" ? `${light.distance}, ${light.side}` : `${light.height} high`;
    const reads = [light.reading, power].filter(Boolean).join(" · ");
    const second = dragging || which === "side" ? place : reads;
    const read = light.reading ? `reads ${light.reading}${power ? ` at ${power} power` : ""}`
      : light.on ? "gives the face no light" : "off";
    const whole =
      `${name}, light: ${light.distance}, ${light.side}, ${light.height} high; ${read}` +
      `${light.veils ? "; shows in the glasses" : ""}`;
    return { name, second, whole, veils: light.veils };
  }
  if (thing === "camera") {
    const camera = view.camera ?? {};
    const place = which === "plan"
      ? [camera.distance, camera.side].filter(Boolean).join(", ")
      : `${camera.height ?? ""} high`;
    const second = dragging || which === "side" ? place : (camera.focal ?? "");
    return { name, second, whole: `camera: ${place}, ${camera.focal ?? ""}` };
  }
  if (thing === "backdrop") {
    const behind = `${view.others?.find((one) => one.thing === thing)?.distance ?? ""} behind`;
    return { name, second: dragging || inHand ? behind : "", whole: `backdrop: ${behind} the sitter` };
  }
  if (turns(thing)) {
    const deg = headTurn(thing, view);
    const side = deg > 0 ? " camera-left" : deg < 0 ? " camera-right" : "";
    return { name: "", second: dragging ? `${Math.abs(deg)}°` : "", whole: `turn the head of ${nameOf(wholeOf(thing), view)}: ${Math.abs(deg)}°${side}` };
  }
  if (thing.endsWith(".aim")) {
    return { name: "", second: "", whole: `aim of ${nameOf(wholeOf(thing), view)}` };
  }
  const person = thing === "sitter" ? mainPerson(view) : null;
  return { name: person?.name.split(",")[0] ?? name, second: "", whole: `${name}` };
}

const meets = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];

/** Order in which the Tab key visits things. */
const rank = (thing) =>
  thing.startsWith("light.") ? 0 : thing === "camera" ? 1 : thing.startsWith("sitter") ? 2
    : thing.startsWith("companion.") ? 3 : 4;

/**
 * Handles of a stage.
 * @param {object} stage from makeStage
 * @param {object} with_ store, hands, and `grab(event, thing, button)` to begin a drag
 */
export function makeHandles(stage, { store, hands, grab, press }) {
  const holder = el("div", { class: "handles" });
  stage.frame.append(holder);
  const buttons = new Map();

  const makeButton = (thing) => {
    const [name, second] = [el("b", { dir: "auto" }), el("span", { class: "second" })];
    const tag = el("span", { class: "tag", "aria-hidden": "true" }, name, second);
    const kind = turns(thing) ? "head" : thing.endsWith(".aim") ? "aim" : thing.split(".")[0];
    const button = el("button", {
      type: "button", class: `handle ${kind}`, "aria-describedby": "hand-help",
      onpointerdown: (event) => grab(event, thing, button),
      onkeydown: (event) => press(event, thing),
      onclick: (event) => {
        // A click without a pointer: from a keyboard or a screen reader.
        if (event.detail === 0) store.set({ hand: wholeOf(thing) });
      },
    }, el("span", { class: "ring", "aria-hidden": "true" }), tag);
    button.dataset.handle = thing;
    return { button, tag, name, second, said: "", at: "" };
  };

  const wanted = () => {
    const things = stage.things().filter((one) => "x" in one.dataset).map((one) => one.dataset.thing);
    const shown = stage.which === "plan" ? things : things.filter((one) => !turns(one));
    return [...new Set(shown)].sort((a, b) => rank(a) - rank(b));
  };

  const placeOf = (thing) => {
    if (turns(thing)) return knob(thing);
    const data = stage.thing(thing)?.dataset;
    if (!data) return null;
    const ahead = hands.ahead(thing) ?? { x: 0, y: 0, z: 0 };
    return stage.pixels(Number(data.x) + ahead.x, Number(data.y) + ahead.y, Number(data.z) + ahead.z);
  };

  /** The knob of a head: on the way the face points, never too near the head to be held. */
  const knob = (thing) => {
    const at = placeOf(wholeOf(thing));
    if (!at) return null;
    const deg = hands.turned(thing) ?? headTurn(thing, store.state.view);
    const turn = (deg * Math.PI) / 180;
    const out = Math.max(Number(stage.thing(thing).dataset.out ?? 0.5) / stage.metresPerPixel(), LEAST_KNOB_PX);
    return [at[0] - out * Math.sin(turn), at[1] + out * Math.cos(turn)];
  };

  const lay = () => {
    const { view, hand } = store.state;
    if (!view) return;
    const things = wanted();
    for (const [thing, made] of buttons) {
      if (things.includes(thing)) continue;
      made.button.remove();
      buttons.delete(thing);
    }
    const tags = [];
    things.forEach((thing, k) => {
      const made = buttons.get(thing) ?? makeButton(thing);
      const { button, tag } = made;
      if (!buttons.has(thing)) {
        buttons.set(thing, made);
        holder.insertBefore(button, holder.children[k] ?? null);
      }
      const at = placeOf(thing);
      const seen = at && at.every((part, axis) => part > -EDGE_PX && part < stage.size[axis] + EDGE_PX);
      // What has the focus stays, though it be out of sight: the keys still move it.
      button.hidden = !seen && document.activeElement !== button;
      if (button.hidden) return;
      put(made, at);
      write(made, thing, view, hand);
      if (tag.textContent) tags.push([tag, at, thing]);
      else tag.style.transform = "";
    });
    // While something is dragged, names keep their places beside their things.
    if (!store.state.dragging) spread(tags);
  };

  /** The handle of what is in hand goes along with the pointer. */
  const follow = (thing) => {
    const made = buttons.get(thing);
    const at = made && placeOf(thing);
    if (at) put(made, at);
  };

  const put = (made, at) => {
    const text = `translate(${at[0].toFixed(1)}px, ${at[1].toFixed(1)}px)`;
    if (text !== made.at) made.button.style.transform = made.at = text;
  };

  const write = (made, thing, view, hand) => {
    const { button, tag, name, second } = made;
    const dragging = store.state.dragging && hands.current?.thing === thing;
    const told = words(thing, { view, which: stage.which, dragging, inHand: hand === thing });
    const pressed = String(hand === thing || (hand === wholeOf(thing) && !turns(thing)));
    const said = JSON.stringify([told, pressed, dragging]);
    if (said === made.said) return; // most things stay as they are while one is dragged
    made.said = said;
    button.setAttribute("aria-label", told.whole);
    button.title = told.name.length > LONG_NAME ? told.name : "";
    button.setAttribute("aria-pressed", pressed);
    button.classList.toggle("held", dragging);
    say(name, told.name);
    say(second, told.second);
    const marked = tag.querySelector(".sign");
    if (told.veils && !marked) name.after(sign("veiled"));
    if (!told.veils && marked) marked.remove();
  };

  /** What a thing covers on the stage [px]: left, top, right, bottom. */
  const extent = (thing, at) => {
    const boxes = [...(stage.thing(thing)?.querySelectorAll(SOLID) ?? [])].map((one) => one.getBBox());
    const ahead = hands.ahead(thing) ?? { x: 0, y: 0, z: 0 };
    const corners = boxes.flatMap((box) => [
      stage.fromUnits(box.x, box.y, ahead),
      stage.fromUnits(box.x + box.width, box.y + box.height, ahead)]);
    const own = corners.length ? corners : [[at[0] - 16, at[1] - 16], [at[0] + 16, at[1] + 16]];
    const [xs, ys] = [0, 1].map((k) => own.map((corner) => corner[k]));
    return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  };

  /** Put each tag beside its thing, away from the sitter, and if there is room upon nothing. */
  const spread = (tags) => {
    const middle = placeOf("sitter")?.[0] ?? stage.size[0] / 2;
    const solids = new Map(tags.map(([, at, thing]) => [thing, extent(thing, at)]));
    const taken = [];
    for (const [tag, at, thing] of tags) {
      const [width, height] = [tag.offsetWidth, tag.offsetHeight];
      const [left, top, right, bottom] = solids.get(thing);
      const level = (top + bottom) / 2 - height / 2;
      const across = (left + right) / 2 - width / 2;
      const beside = [[left - GAP_PX - width, level], [right + GAP_PX, level]];
      if (at[0] >= middle - 4) beside.reverse();
      const over = [[across, top - GAP_PX - height], [across, bottom + GAP_PX]];
      if (FLAT.test(thing)) over.reverse();
      const first = (stage.which === "side") !== FLAT.test(thing) ? over : beside;
      const order = [...first, ...(first === over ? beside : over)];
      const held = order.map(([x, y]) => [
        Math.min(Math.max(x, 2), stage.size[0] - 2 - width),
        Math.min(Math.max(y, 2), stage.size[1] - 2 - height)]);
      const boxed = ([x, y]) => [x, y, x + width, y + height];
      const others = [...solids].filter(([other]) => other !== thing).map(([, box]) => box);
      const free = (place, against) => !against.some((one) => meets(boxed(place), one));
      const best = held.find((place) => free(place, [...taken, ...others, solids.get(thing)]))
        ?? held.find((place) => free(place, [...taken, solids.get(thing)]))
        ?? held.find((place) => free(place, taken)) ?? held[0];
      taken.push(boxed(best));
      tag.style.transform = `translate(${(best[0] - at[0]).toFixed(1)}px, ${(best[1] - at[1]).toFixed(1)}px)`;
    }
  };

  stage.whenMoved.push(lay);
  return {
    lay,
    follow,
    button: (thing) => buttons.get(thing)?.button ?? null,
  };
}
