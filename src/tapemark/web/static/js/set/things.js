// The margin's third leaf: everything in the set, every number as it was typed.

import { el } from "./dom.js";
import { at, fieldRow } from "./fields.js";
import { lightOf } from "./store.js";

/** Which tables make up a thing, and what is seen before "more". */
const FIRST = {
  Light: ["place.distance", "place.side", "place.height", "power", "on", "aim", "head", "modifier"],
  Camera: ["place.distance", "place.side", "place.height", "focal_length", "aperture", "shutter", "iso", "aim"],
  Sitter: ["eye_height", "turn", "chin", "tip", "posture", "gaze", "glasses"],
  Companion: ["across", "back", "eye_height", "turn", "chin", "tip", "posture", "gaze", "glasses"],
  Room: ["width", "length", "height", "behind_sitter", "camera_left", "ceiling_reflectance", "wall_reflectance"],
  Backdrop: ["distance", "width", "height", "reflectance", "look"],
};
const LISTS = {
  light: ["Light", "light"], companion: ["Companion", "person"], panel: ["Panel", "reflector or flag"],
  window: ["Window", "window"], screen: ["Screen", "screen"], circuit: ["Circuit", "mains circuit"],
  walkway: ["Walkway", "way across the floor"],
};
/** What an optional part starts with. */
const STARTS = {
  Meter: { aperture: "f/8", distance: "1.5 m" },
  Place: { distance: "0 m", height: "1.2 m" },
  Prescription: { sphere: "0 D" },
  Spot: { distance: "2 m" },
};

export function makeThings(leaf, { store, take, base, choose, remove, fieldsAddress }) {
  const list = el("div", { class: "things" });
  leaf.append(list);
  let tables = null;
  let shape = "";
  let rows = [];
  const open = new Set();
  let names = {}; // of the things in each list, as they were when the rows were made
  let wanted = null; // what to open once there is something to open

  const load = async () => {
    const answer = await fetch(fieldsAddress);
    tables = await answer.json();
    build();
    if (wanted) openEntry(...wanted);
  };

  /** The rows of a table at a path; parts of it in rows of their own. */
  const tableRows = (name, node, path, keys) => {
    const table = tables[name];
    const first = FIRST[name];
    const one = (field) => entry(field, node, `${path}.${field.key}`, [...keys, field.key]);
    if (!first) return table.filter((field) => field.key !== "name" || keys.length > 1).flatMap(one);
    const seen = new Set(first.map((key) => key.split(".")[0]));
    const early = first.flatMap((key) => {
      const [head, inner] = key.split(".");
      const field = table.find((other) => other.key === head);
      if (!inner) return one(field);
      const part = tables[field.part].find((other) => other.key === inner);
      return entry(part, at(node, [head]) ?? {}, `${path}.${head}.${inner}`, [...keys, head, inner]);
    });
    const named = keys[0] in LISTS && keys.length === 2; // its name has a row of its own
    const late = table.filter((field) => !seen.has(field.key) && !(named && field.key === "name")).flatMap(one);
    return [...early, late.length ? fold(`${path} more`, "More", () => late) : null];
  };

  const entry = (field, node, path, keys) => {
    if (field.kind !== "part") return [addRow(field, path, keys)];
    const value = at(node, [field.key]);
    const whole = typeof value === "object" && value !== null;
    if (field.presets) return [partWithPresets(field, value, path, keys)];
    if (field.options && !whole) {
      const pick = { ...field, kind: "choice" };
      return [addRow(pick, path, keys), startButton(field, path, "Aim at a point instead")];
    }
    if (!whole && field.optional) return [startButton(field, path, `Add: ${field.label.toLowerCase()}`)];
    const inner = () => tables[field.part].flatMap((one) => entry(one, value ?? {}, `${path}.${one.key}`, [...keys, one.key]));
    const drop = field.optional || field.options
      ? [button(field.options ? "Aim at the face again" : `Take out: ${field.label.toLowerCase()}`,
        () => take([{ set: path, value: field.options ? "face" : null }]))]
      : [];
    return [fold(path, field.label, () => [...inner(), ...drop], field.why)];
  };

  const partWithPresets = (field, value, path, keys) => {
    const whole = typeof value === "object" && value !== null;
    const pick = {
      ...field, kind: "choice", options: field.presets, needed: !field.optional, usual: null,
      none: whole ? "own values" : "none",
    };
    const preset = addRow(pick, whole ? `${path}.preset` : path, whole ? [...keys, "preset"] : keys);
    if (!whole) return preset;
    if (!value.preset) preset.querySelector("select").prepend(el("option", { value: "", text: "own values" }));
    const inner = () => [
      ...tables[field.part].filter((one) => one.key !== "preset")
        .flatMap((one) => entry(one, value, `${path}.${one.key}`, [...keys, one.key])),
      field.optional ? button(`Take out: ${field.label.toLowerCase()}`, () => take([{ set: path, value: null }])) : null,
    ];
    return el("div", { class: "part" }, preset, fold(`${path} own`, `${field.label} in numbers`, inner));
  };

  const startButton = (field, path, text) =>
    button(text, () => take([{ set: path, value: STARTS[field.part] ?? {} }]), field.why);

  const button = (text, onclick, why) =>
    el("p", { class: "part-button" }, el("button", { type: "button", class: "small", text, onclick, title: why }));

  const addRow = (field, path, keys) => {
    const made = fieldRow(field, path, { take, base });
    rows.push({ made, keys });
    return made.row;
  };

  /** A part that opens; its rows are made when it does. */
  const fold = (key, title, inside, why) => {
    const box = el("details", { class: "fold", open: open.has(key) },
      el("summary", { title: why }, el("span", { dir: "auto", text: title })));
    const makeRows = () => {
      if (box.childElementCount > 1) return;
      box.append(el("div", { class: "inside" }, inside()));
      refresh();
    };
    box.addEventListener("toggle", () => {
      if (box.open) open.add(key);
      else open.delete(key);
      if (box.open) makeRows();
    });
    if (open.has(key)) queueMicrotask(makeRows);
    return box;
  };

  /** All things of a setup: [thing, table, title, kind in words, keys in the mapping]. */
  const allThings = (setup) => {
    const found = [];
    const listed = (key) => (setup[key] ?? []).forEach((one, k) =>
      found.push([`${key}.${one.name}`, LISTS[key][0], one.name, LISTS[key][1], [key, k]]));
    listed("light");
    found.push(["camera", "Camera", "camera", "", ["camera"]]);
    found.push(["sitter", "Sitter", setup.sitter?.name ?? "sitter", "sitter", ["sitter"]]);
    ["companion", "panel", "window", "screen"].forEach(listed);
    if (setup.backdrop) found.push(["backdrop", "Backdrop", "backdrop", "", ["backdrop"]]);
    found.push(["room", "Room", "room", "", ["room"]]);
    ["circuit", "walkway"].forEach(listed);
    return found;
  };

  /** Paths that go on under another name when a thing was renamed. */
  const renamed = (setup) => {
    const before = names;
    names = Object.fromEntries(Object.keys(LISTS).map((kind) => [kind, (setup[kind] ?? []).map((one) => one.name)]));
    const pairs = Object.keys(LISTS).flatMap((kind) => {
      const [old, now] = [before[kind] ?? [], names[kind]];
      const other = now.map((_, k) => k).filter((k) => old[k] !== now[k]);
      return old.length === now.length && other.length === 1
        ? [[`${kind}.${old[other[0]]}`, `${kind}.${now[other[0]]}`]] : [];
    });
    return (path) => {
      const pair = pairs.find(([old]) => path === old || path?.startsWith(`${old}.`) || path?.startsWith(`${old} `));
      return pair ? pair[1] + path.slice(pair[0].length) : path;
    };
  };

  const build = () => {
    const { setup } = store.state;
    if (!tables || !setup) return;
    const now = renamed(setup);
    const focused = document.activeElement?.closest?.(".things .field")
      ? now(rows.find((one) => one.made.control === document.activeElement)?.made.path) : null;
    const stayOpen = [...open].map(now);
    open.clear();
    stayOpen.forEach((key) => open.add(key));
    if (now(store.state.hand) !== store.state.hand) choose(now(store.state.hand));
    rows = [];
    list.replaceChildren(...allThings(setup).map(oneThing));
    refresh();
    if (focused) queueMicrotask(() => rows.find((one) => one.made.path === focused)?.made.control.focus());
  };

  const oneThing = ([thing, table, title, kind, keys]) => {
    const inside = () => [
      ...tableRows(table, at(store.state.setup, keys), thing, keys),
      ...(keys[0] in LISTS ? [nameRow(thing, table, keys)] : []),
      keys[0] in LISTS || thing === "backdrop"
        ? button(`Take ${title} away`, () => remove(thing)) : null,
    ];
    const box = fold(thing, title, inside);
    box.classList.add("thing-entry");
    box.dataset.entry = thing;
    box.firstChild.append(el("span", { class: "kind", text: kind }), el("span", { class: "now number" }));
    box.firstChild.addEventListener("click", () => {
      if (!box.open) choose(thing);
    });
    return box;
  };

  const nameRow = (thing, table, keys) => {
    const field = tables[table].find((one) => one.key === "name");
    return addRow({ ...field, label: "Name" }, `${thing}.name`, [...keys, "name"]);
  };

  /** Short numbers on each entry's line. */
  const nowText = (thing, view) => {
    const light = lightOf(view, thing);
    if (light) return [light.reading, light.power].filter(Boolean).join(" · ");
    if (thing === "camera") return [view.camera?.focal, view.camera?.aperture].filter(Boolean).join(" · ");
    if (thing === "backdrop") return view.others?.find((one) => one.thing === thing)?.distance ?? "";
    if (thing === "sitter") return view.sitter?.eye_height ? `eyes ${view.sitter.eye_height}` : "";
    return "";
  };

  const refresh = () => {
    const { setup, view, dragging, hand } = store.state;
    if (!setup) return;
    for (const box of list.children) {
      box.querySelector(".now").textContent = nowText(box.dataset.entry, view ?? {});
      box.classList.toggle("in-hand", box.dataset.entry === hand);
    }
    for (const { made, keys } of rows) {
      const live = dragging ? liveValue(made.path, view) : undefined;
      made.show(live ?? at(setup, keys));
    }
  };
  const liveValue = (path, view) => {
    const found = /^(.*)\.place\.(distance|side|height)$/.exec(path);
    if (!found) return undefined;
    return lightOf(view, found[1])?.[found[2]] ?? (found[1] === "camera" ? view.camera?.[found[2]] : undefined);
  };

  /** What decides which rows there are: names and parts, not their values. */
  const shapeOf = (node) => {
    if (Array.isArray(node)) return node.map(shapeOf).join();
    if (node === null || typeof node !== "object") return "";
    return Object.entries(node)
      .map(([key, value]) => (key === "name" ? value : typeof value === "object" ? `${key}{${shapeOf(value)}}` : ""))
      .join();
  };

  store.watch((state, before) => {
    if (state.setup && state.setup !== before.setup) {
      const now = shapeOf(state.setup);
      if (now !== shape) {
        shape = now;
        if (tables) build();
        else load();
        return;
      }
    }
    // While something is dragged, nobody reads a leaf that is not open.
    if (tables && !(state.dragging && leaf.closest("[data-margin]").dataset.margin !== "things")) refresh();
  });

  const openEntry = (thing, { focus = false } = {}) => {
    wanted = null;
    const box = [...list.children].find((one) => one.dataset.entry === thing);
    if (!box) return;
    for (const other of list.children) if (other !== box) other.open = false;
    box.open = true;
    setTimeout(() => {
      box.scrollIntoView({ block: "nearest" });
      if (focus) box.querySelector(".field input, .field select")?.focus();
    }, 0);
  };

  return {
    /** Open the entry of a thing; with `focus`, go to its first number. */
    open(...which) {
      if (tables) openEntry(...which);
      else wanted = which;
    },
  };
}
