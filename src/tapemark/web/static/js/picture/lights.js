// The lights of a picture, each with a slider in stops, a typed value, and a look at it alone.

import { el, say } from "../set/dom.js";

const MOST = 3; // stops either way
let made = 0;

/** A list of lights; `turned` is called whenever a slider moves. */
export function makeLights(holder, { turned }) {
  let rows = new Map(); // name to its row
  let alone = null;
  let lights = [];

  const build = (about, others) => {
    lights = about.lights;
    rows = new Map();
    alone = null;
    holder.replaceChildren(
      ...lights.map((light) => {
        const row = makeRow(light, { turned: changed, only });
        rows.set(light.name, row);
        return row.node;
      }),
      ...others.map((name) => {
        const row = makeOther(name, { only });
        rows.set(name, row);
        return row.node;
      }),
    );
  };
  const changed = () => turned();
  const only = (name) => {
    alone = alone === name ? null : name;
    for (const [one, row] of rows) row.press(one === alone);
    turned();
  };
  let known = "";

  return {
    /** Show the lights of a set, and what else shines in its picture, such as a window. */
    show(about, others) {
      const mark = JSON.stringify([about.lights, others]);
      if (mark !== known) build(about, others);
      known = mark;
    },
    enable(on) {
      for (const row of rows.values()) row.enable(on);
    },
    reset() {
      for (const row of rows.values()) row.set(0);
      if (alone) only(alone);
      turned();
    },
    get alone() {
      return alone;
    },
    stops: (name) => rows.get(name)?.stops ?? 0,
    /** By how much each light is turned that is turned at all. */
    get changes() {
      const found = lights.map((one) => [one.name, rows.get(one.name).stops]);
      return Object.fromEntries(found.filter(([, stops]) => stops !== 0));
    },
    /** What no head gives, in words; empty where all is possible. */
    get beyond() {
      return lights.map((one) => rows.get(one.name).beyond).filter(Boolean).join(" ");
    },
    /** Every light and its power, as one sentence. */
    get words() {
      return lights.map((one) => `${one.name} ${rows.get(one.name).words}`).join(", ");
    },
  };
}

function makeRow(light, { turned, only }) {
  const id = `turn-${++made}`;
  const range = { min: -MOST, max: MOST, step: 0.1, value: 0 };
  const slider = el("input", { type: "range", id, ...range, "aria-describedby": `${id}-power` });
  const typed = el("input", { type: "number", ...range, inputmode: "decimal", "aria-label": `${light.name}, stops` });
  const power = el("output", { class: "power number", id: `${id}-power`, for: id });
  const button = aloneButton(light.name, only);
  let stops = 0;

  const show = () => {
    const now = Math.round((light.power_stops + stops) * 10) / 10;
    const words = beyondWords(light, now);
    power.classList.toggle("beyond", Boolean(words));
    say(power, stops === 0 ? light.power : `${light.power} \u2192 ${words ? words : dial(now)}`);
    slider.setAttribute("aria-valuetext", `${signed(stops)} stops`);
  };
  const take = (value, from) => {
    const number = Number.parseFloat(value);
    if (!Number.isFinite(number)) return;
    stops = Math.round(Math.min(MOST, Math.max(-MOST, number)) * 10) / 10;
    if (from !== slider) slider.value = stops;
    if (from !== typed) typed.value = stops;
    show();
    turned();
  };
  slider.addEventListener("input", () => take(slider.value, slider));
  typed.addEventListener("input", () => take(typed.value, typed));
  typed.addEventListener("change", () => (typed.value = stops));
  show();
  return {
    node: el("li", { class: "turn" },
      el("div", { class: "turn-head" }, el("label", { for: id, text: light.name }), power, button),
      el("div", { class: "turn-by" }, slider, typed, el("span", { class: "soft", text: "stops", "aria-hidden": "true" }))),
    set: (value) => {
      stops = value;
      slider.value = value;
      typed.value = value;
      show();
    },
    enable: (on) => {
      for (const one of [slider, typed, button]) one.disabled = !on;
    },
    press: (on) => button.setAttribute("aria-pressed", String(on)),
    get stops() {
      return stops;
    },
    get beyond() {
      const words = beyondWords(light, Math.round((light.power_stops + stops) * 10) / 10);
      return words ? `${light.name}: ${words}.` : "";
    },
    get words() {
      return dial(Math.round((light.power_stops + stops) * 10) / 10);
    },
  };
}

/** A window, a lit screen or the room's lamps: nothing to turn, but to be seen alone. */
function makeOther(name, { only }) {
  const button = aloneButton(name, only);
  return {
    node: el("li", { class: "turn other" },
      el("div", { class: "turn-head" }, el("b", { text: name }), el("span", { class: "power soft", text: "as it shines" }), button)),
    set: () => {},
    enable: (on) => (button.disabled = !on),
    press: (on) => button.setAttribute("aria-pressed", String(on)),
    stops: 0,
    beyond: "",
    words: "",
  };
}

function aloneButton(name, only) {
  return el("button", {
    type: "button", class: "alone quiet", "aria-pressed": "false", text: "Alone",
    "aria-label": `${name} alone`, onclick: () => only(name),
  });
}

function beyondWords(light, stops) {
  if (stops > 0) return `${stops.toFixed(1)} above full`;
  if (stops < light.lowest_stops - 1e-6) return "less than it gives";
  return "";
}

const signed = (stops) => (stops > 0 ? `+${stops.toFixed(1)}` : stops.toFixed(1)).replace("-", "\u2212");

/** A power as heads show it: the next lower whole stop, and tenths above it. */
function dial(stops) {
  const tenths = Math.round(stops * 10);
  const whole = Math.floor(tenths / 10);
  const more = tenths - 10 * whole;
  const part = whole >= 0 ? "full" : `1/${2 ** -whole}`;
  return more === 0 ? part : `${part} + ${(more / 10).toFixed(1)}`;
}
