// One drawing to scale (plan or side): shows it, zooms it, and knows where a metre is.

import { pieces, svg } from "./dom.js";
import { makeParts } from "./parts.js";

const MM = 1000;
const MOST_ZOOM = 8;
const MARGIN = 250; // things nearer to the edge count as out of sight [mm]
/** Room around what stands there [mm], for what hangs on stands and for names. */
const AROUND = {
  plan: { u: 900, above: 700, below: 600 },
  side: { u: 750, above: 850, below: 120 },
};

const AROUND_GHOST = 60; // free room around what is drawn at another place [mm]
const BEHIND_BACKDROP = 320; // of floor that is shown behind it, with its name [mm]

/** How world metres lie on each drawing, in the drawing's own millimetres. */
const LAID = {
  plan: {
    to: (x, y) => [-MM * x, MM * y],
    from: (u, v) => ({ x: -u / MM, y: v / MM }),
  },
  side: {
    to: (x, y, z) => [MM * y, -MM * z],
    from: (u, v) => ({ y: u / MM, z: -v / MM }),
  },
};

/**
 * A stage for one drawing.
 * @param {HTMLElement} frame element with class "stage"
 * @param {"plan"|"side"} which drawing
 */
export function makeStage(frame, which) {
  const laid = LAID[which];
  const sheet = svg("svg", { class: "to-scale", "aria-hidden": "true", focusable: "false" });
  const layer = svg("g", { class: "map-layer" });
  const ghosts = svg("g", { class: "ghosts" });
  const ground = svg("g", { class: "under" });
  const picture = svg("g", { class: "picture" });
  sheet.append(ground, layer, picture, ghosts); // the map lies on the floor, under the things
  frame.prepend(sheet);
  const stage = {
    which, frame, sheet,
    box: [0, 0, MM, MM],
    zoom: 1,
    middle: [0.5, 0.5], // of the window, as shares of the box
    size: [1, 1],
    whenMoved: [],
    held: null, // the thing that is moved on ahead of its drawing
    hidden: false,
    waiting: null, // a drawing that came while the stage was hidden
  };

  const isGround = (node) => node.localName === "pattern" || node.classList?.contains("ground");
  // The handles over the drawing are what one focuses; in here things are only shapes.
  const plain = (node) => {
    if (!node.hasAttribute?.("tabindex")) return;
    for (const name of ["tabindex", "role", "aria-label"]) node.removeAttribute(name);
  };
  const parts = makeParts((node) => (isGround(node) ? ground : picture), plain);
  let groups = new Map(); // thing -> its group in the picture

  const measured = () => {
    const { width, height } = frame.getBoundingClientRect();
    stage.hidden = width < 1 || height < 1;
    if (stage.hidden) return;
    stage.size = [width, height];
    stage.catchUp();
    if (stage.opened && !stage.own && !stage.held) stage.fitThings();
    else laidOut();
  };

  /** Scale [px per mm] and the corner of the window, in the drawing's millimetres. */
  const window_ = () => {
    const [x0, y0, w, h] = stage.box;
    const scale = stage.zoom * Math.min(stage.size[0] / w, stage.size[1] / h);
    const seen = [stage.size[0] / scale, stage.size[1] / scale];
    const middle = [x0 + stage.middle[0] * w, y0 + stage.middle[1] * h];
    return { scale, left: middle[0] - seen[0] / 2, top: middle[1] - seen[1] / 2, seen };
  };

  const laidOut = () => {
    const { scale, left, top, seen } = window_();
    sheet.setAttribute("viewBox", [left, top, ...seen].map((one) => one.toFixed(1)).join(" "));
    sheet.style.setProperty("--px", (1 / scale).toFixed(3)); // so that text keeps its size
    for (const listener of stage.whenMoved) listener();
  };

  /** The marks of the parts that are drawn. */
  stage.marks = () => parts.marks;

  /** Show a drawing {box, marks, parts}; what stays the same keeps its place on the screen. */
  stage.show = (made) => {
    stage.waiting = stage.hidden ? made : null;
    if (stage.hidden) return; // drawn when it is looked at
    const box = made.box.map((metres) => metres * MM);
    const same = box.every((part, k) => part === stage.box[k]);
    if (stage.held) stage.thing(stage.held)?.removeAttribute("transform");
    stage.held = null;
    stage.box = box;
    if (parts.show(made)) {
      groups = new Map([...picture.querySelectorAll("[data-thing]")].map((one) => [one.dataset.thing, one]));
    }
    if (!stage.opened) {
      stage.opened = true;
      stage.fitThings();
    } else if (!same) laidOut();
  };

  /** Draw what came while nobody looked. */
  stage.catchUp = () => {
    const made = stage.waiting;
    if (!made) return;
    stage.hidden = false;
    stage.show(made);
  };

  /** Pixels on the stage of a point in metres. */
  stage.pixels = (x, y, z) => {
    const [u, v] = laid.to(x, y, z);
    const { scale, left, top } = window_();
    return [(u - left) * scale, (v - top) * scale];
  };

  /** Pixels of a point in the drawing's own millimetres, moved on by metres. */
  stage.fromUnits = (u, v, ahead) => {
    const [du, dv] = laid.to(ahead.x, ahead.y, ahead.z);
    const { scale, left, top } = window_();
    return [(u + du - left) * scale, (v + dv - top) * scale];
  };

  /** Metres per pixel. */
  stage.metresPerPixel = () => 1 / (window_().scale * MM);

  /** A shift of the pointer [px] as a shift in metres: {x, y} on the plan, {y, z} at the side. */
  stage.shift = (dx, dy) => {
    const { scale } = window_();
    return laid.from(dx / scale, dy / scale);
  };

  stage.thing = (thing) => groups.get(thing) ?? null;
  stage.things = () => [...groups.values()];

  /** Move a thing on the drawing by metres, until the next drawing comes. */
  stage.echo = (thing, shift) => {
    const group = stage.thing(thing);
    if (!group) return;
    stage.held = shift.x || shift.y || shift.z ? thing : null;
    if (!stage.held) {
      group.removeAttribute("transform");
      return;
    }
    const [u, v] = laid.to(shift.x ?? 0, shift.y ?? 0, shift.z ?? 0);
    group.setAttribute("transform", `translate(${u.toFixed(1)} ${v.toFixed(1)})`);
  };

  /** Keep outlines of how things stand now, dashed. */
  stage.keepGhosts = () => {
    stage.catchUp();
    stage.ghostBox = stage.box;
    ghosts.replaceChildren(
      ...stage.things().map((one) => {
        const copy = one.cloneNode(true);
        copy.removeAttribute("data-thing");
        copy.dataset.was = one.dataset.thing;
        return copy;
      }),
    );
  };
  stage.dropGhosts = () => ghosts.replaceChildren();

  /** Leave only the ghosts of things that have moved, where they stood in the room. */
  stage.sortGhosts = () => {
    const shift = [0, 1].map((k) => stage.box[k] - stage.ghostBox[k]);
    const still = shift.every((part) => Math.abs(part) < 1);
    ghosts.setAttribute("transform", `translate(${shift.join(" ")})`);
    for (const ghost of [...ghosts.children]) {
      const now = stage.thing(ghost.dataset.was);
      const moved = !now || (still
        ? shapes(now) !== shapes(ghost)
        : placed(now).some((part, k) => Math.abs(part - placed(ghost)[k] - shift[k]) > 5));
      if (!moved) ghost.remove();
    }
  };
  /** What a thing looks like, whatever its lenses show. */
  const shapes = (group) => {
    const copy = group.cloneNode(true);
    for (const one of copy.querySelectorAll(".verdict")) one.remove();
    return copy.innerHTML;
  };
  const placed = (group) => laid.to(...["x", "y", "z"].map((axis) => Number(group.dataset[axis])));

  stage.showLayer = (text) => {
    layer.replaceChildren(...pieces(text));
    // Hatching is the page's own, so that it is there whichever drawing is seen.
    for (const one of layer.querySelectorAll("pattern")) one.remove();
    if (!stage.hidden) stage.keepInSight();
  };

  /** What the layer shows of another place, left, top, right and bottom; or nothing. */
  const ghosted = () => {
    const drawn = stage.hidden ? null : layer.querySelector(".best-place");
    if (!drawn) return null;
    const { x, y, width, height } = drawn.getBBox();
    return [x - AROUND_GHOST, y - AROUND_GHOST, x + width + AROUND_GHOST, y + height + AROUND_GHOST];
  };

  /** Zoom by a factor about a point on the stage [px]. */
  stage.zoomBy = (factor, at = [stage.size[0] / 2, stage.size[1] / 2]) => {
    stage.own = true; // the person's own choice: it stays
    const before = window_();
    const kept = [before.left + at[0] / before.scale, before.top + at[1] / before.scale];
    stage.zoom = Math.min(Math.max(stage.zoom * factor, 1), MOST_ZOOM);
    const after = window_();
    moveBy(kept[0] - (after.left + at[0] / after.scale), kept[1] - (after.top + at[1] / after.scale));
  };

  /** Shift what is seen by pixels. */
  stage.pan = (dx, dy) => {
    const { scale } = window_();
    moveBy(-dx / scale, -dy / scale);
  };

  const moveBy = (du, dv) => {
    const [, , w, h] = stage.box;
    const held = (share) => Math.min(Math.max(share, 0), 1);
    stage.middle = stage.zoom <= 1
      ? [0.5, 0.5]
      : [held(stage.middle[0] + du / w), held(stage.middle[1] + dv / h)];
    laidOut();
  };

  stage.fit = () => {
    stage.own = true;
    stage.zoom = 1;
    stage.middle = [0.5, 0.5];
    laidOut();
  };

  const standing = () => stage.things()
    .filter((one) => "x" in one.dataset && !/^(backdrop|window)/.test(one.dataset.thing))
    .map(placed);
  /** How far the backdrop hangs along the drawing, or nothing. */
  const hung = () => {
    const backdrop = stage.thing("backdrop");
    return backdrop ? placed(backdrop) : null;
  };

  /** Show just what stands there, with some floor around it. */
  stage.fitThings = () => {
    const places = standing();
    if (!places.length) return stage.fit();
    stage.own = false;
    const [us, vs] = [0, 1].map((k) => places.map((place) => place[k]));
    if (which === "side") vs.push(0); // the floor
    const around = AROUND[which];
    const edges = [
      Math.min(...us) - around.u, Math.max(...us) + around.u,
      Math.min(...vs) - around.above, Math.max(...vs) + around.below,
    ];
    const backdrop = hung();
    const end = which === "plan" ? 2 : 0;
    if (backdrop) edges[end] = Math.min(edges[end], backdrop[which === "plan" ? 1 : 0] - BEHIND_BACKDROP);
    const ghost = ghosted();
    if (ghost) {
      for (const [end, k] of [[0, 0], [2, 1]]) edges[end] = Math.min(edges[end], ghost[k]);
      for (const [end, k] of [[1, 2], [3, 3]]) edges[end] = Math.max(edges[end], ghost[k]);
    }
    const [x0, y0, w, h] = stage.box;
    const base = Math.min(stage.size[0] / w, stage.size[1] / h);
    const wanted = Math.min(stage.size[0] / (edges[1] - edges[0]), stage.size[1] / (edges[3] - edges[2]));
    stage.zoom = Math.min(Math.max(wanted / base, 1), MOST_ZOOM);
    stage.middle = [((edges[0] + edges[1]) / 2 - x0) / w, ((edges[2] + edges[3]) / 2 - y0) / h];
    laidOut();
  };

  /** Step back if something that stands there has gone out of sight. */
  stage.keepInSight = () => {
    const { left, top, seen } = window_();
    const lost = standing().some(([u, v]) =>
      u < left + MARGIN || u > left + seen[0] - MARGIN || v < top + MARGIN || v > top + seen[1] - MARGIN);
    const ghost = ghosted();
    const cut = ghost && (ghost[0] < left || ghost[1] < top || ghost[2] > left + seen[0] || ghost[3] > top + seen[1]);
    if ((lost || cut) && !stage.own) stage.fitThings();
  };

  new ResizeObserver(measured).observe(frame);
  measured();
  return stage;
}
