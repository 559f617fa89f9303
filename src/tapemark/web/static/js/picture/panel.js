// The picture of one set: looked at while it is taken, then turned light by light at once.
//
//   const panel = makePicture(holder, { address: "/picture/ID/live", id, older, compact, ready });
//
// `older`: of a version that is no longer current, whose powers cannot be set. `ready` is called
// when the panel has nothing to do, so that two pictures are taken one after the other.

import { el, say } from "../set/dom.js";
import { mix, readLights } from "./develop.js";
import { makeLights } from "./lights.js";
import { PictureLink } from "./link.js";

export function makePicture(holder, { address, id, older = false, compact = false, ready = () => {}, hold = false }) {
  let about = null; // what the server says of the set as it is now
  let revision = null;
  let shown = null; // the pictures on screen, light by light or together
  let under = 0; // the number of the message for the picture under way
  let setting = 0; // the number of the message that sets powers, until it is answered
  let waiting = hold; // another picture comes first
  let drawing = 0;
  const view = { glasses: false, clay: false };

  // ---------------------------------------------------------------- what there is to see

  const canvas = el("canvas", { role: "img", "aria-label": "No picture yet", tabindex: "-1" });
  const words = el("p", { class: "plate-words", text: "opening\u2026" });
  const bar = el("progress", { max: "1", "aria-label": "How far the picture is", hidden: true });
  const spoken = el("p", { class: "visually-hidden", role: "status", "aria-live": "polite" });
  const camera = el("p", { class: "plate-facts soft" });
  const whole = choice("Whole frame", () => see({ glasses: false }));
  const close = choice("Glasses", () => see({ glasses: true }));
  const clay = choice("Clay", () => see({ clay: !view.clay }));
  const take = el("button", { type: "button", class: "main-action", onclick: () => begin(false) });
  const stop = el("button", { type: "button", text: "Stop", hidden: true, onclick: () => link.say({ do: "enough" }) });
  const finer = el("button", { type: "button", class: "quiet", text: "Finer, in minutes", hidden: true, onclick: () => begin(true) });
  const list = el("ul", { class: "turns" });
  const set = el("button", { type: "button", text: "Set these powers", disabled: true, onclick: setPowers });
  const reset = el("button", { type: "button", class: "quiet", text: "As set", disabled: true, onclick: () => lights.reset() });
  const done = el("p", { class: "explain", hidden: true });
  const beyond = el("p", { class: "refused", role: "alert", hidden: true });
  const save = el("a", { class: "button quiet", text: "Save PNG", download: "", hidden: true });
  const larger = compact ? el("a", { class: "button quiet", href: `/picture/${id}`, text: "Larger, and beside another" }) : null;
  const plate = el("figure", { class: "plate" },
    el("div", { class: "mat" }, canvas), el("figcaption", {}, words, bar, camera));
  holder.classList.toggle("compact", compact);
  holder.append(
    plate,
    el("div", { class: "bench" },
      el("div", { class: "bar seen", role: "group", "aria-label": "What is seen" }, whole, close, clay),
      el("div", { class: "bar doing" }, take, stop),
      el("h3", { text: "Lights" }), list, beyond,
      el("div", { class: "bar setting" }, older ? null : set, reset), done,
      el("div", { class: "bar keeping" }, finer, save, larger), spoken));
  const lights = makeLights(list, { turned });

  // ---------------------------------------------------------------- the talk

  const hello = () => ({ do: "hello", ...view });
  const link = new PictureLink(address, {
    async state(said) {
      if (under < said.n) under = 0; // asked of a connection that is no more
      setting = 0;
      heard(said);
      await showKept();
      if (!about.kept && !waiting && !under) begin(false);
      else if (!under) ready();
    },
    async changed(said) {
      const before = shown?.mark;
      heard(said);
      if (about.mark !== before) await showKept();
      if (under && !isShown()) announce("The set has changed: the picture under way was stopped.");
      refresh();
    },
    taken(said) {
      setting = 0;
      heard(said);
      announce(`Set: ${said.words}`);
      note(said.words && `${said.words}. ${compact ? "Undo" : "Undo on the set"} takes it back.`);
    },
    progress(said) {
      if (said.n !== under) return;
      say(words, said.text);
      bar.value = said.share;
    },
    async look(said) {
      if (said.n !== under || shown?.mark === about.mark) return;
      const first = shown === null;
      const found = await readLights(`/picture/lights/${said.mark}`);
      if (!found || said.n !== under || shown?.mark === about.mark) return;
      shown = found;
      draw();
      if (first) announce("A first look is there.");
    },
    async done(said) {
      if (said.n !== under) return;
      under = 0;
      if (said.mark) {
        shown = (await readLights(`/picture/lights/${said.mark}`)) ?? shown;
        if (about.mark === said.mark) about.kept = { fine: said.fine };
        announce("The picture is there. Each light can be turned.");
      } else announce("Stopped: this is how far it was.");
      refresh();
      ready();
    },
    stopped(said) {
      if (said.n !== under) return;
      under = 0;
      refresh();
      ready();
    },
    error(said) {
      if (said.n === under) under = 0;
      if (said.n === setting) setting = 0;
      refresh();
      refuse(toldOf(said));
      ready();
    },
    away() {
      under = 0;
      setting = 0;
      if (about) say(words, "The connection is away: connecting again\u2026");
    },
    gone(said) {
      about = null;
      say(words, said.text);
      take.disabled = true;
    },
  }, hello);

  function heard(said) {
    about = said.about;
    revision = said.revision;
    refuse("");
    lights.show(about, othersOf(shown, about));
    refresh();
  }

  function begin(fine) {
    if (!about) return;
    refuse("");
    if (!fine && !isShown()) leave();
    under = link.say({ do: "expose", ...view, finer: fine });
    bar.removeAttribute("value");
    say(words, "Taking the picture\u2026");
    announce("Taking the picture.");
    refresh();
  }

  function see(change) {
    Object.assign(view, change);
    under = 0; // whatever is taken is of what was seen before
    leave();
    link.say({ do: "stop" });
    link.say(hello());
    refresh();
  }

  /** Leave what is on screen, dimmed, until the first of the new picture is there. */
  function leave() {
    shown = null;
    canvas.classList.add("before");
    canvas.setAttribute("aria-label", "No picture yet");
  }

  function setPowers() {
    if (setting) return; // a second click asks for nothing new
    setting = link.say({ do: "powers", base: revision, stops: lights.changes });
    set.disabled = true;
  }

  /** Show what is kept of the set as it is now, if anything is. */
  async function showKept() {
    if (!about.kept) return;
    const { mark } = about;
    const found = await readLights(`/picture/lights/${mark}`);
    if (about.mark !== mark) return;
    if (found) shown = found;
    else about.kept = null;
    refresh();
  }

  // ---------------------------------------------------------------- what it says

  const isShown = () => shown !== null && shown.mark === about?.mark;

  function refresh() {
    for (const [button, on] of [[whole, !view.glasses], [close, view.glasses], [clay, view.clay]]) {
      button.setAttribute("aria-pressed", String(on));
    }
    if (!about) return; // nothing is known of the set yet, or it is gone
    const complete = isShown();
    const stale = shown !== null && !under && !complete;
    holder.classList.toggle("stale", stale && !together());
    plate.style.setProperty("--shape", `${about.columns} / ${about.rows}`);
    if (complete) lights.show(about, othersOf(shown, about));
    lights.enable(complete);
    take.hidden = Boolean(under) || complete;
    say(take, shown === null || !stale ? "Take the picture" : "Take again");
    stop.hidden = !under;
    finer.hidden = Boolean(under) || !complete || shown.fine;
    bar.hidden = !under;
    say(camera, about.camera);
    save.hidden = !complete;
    if (!under) {
      say(words, complete ? nowWords() : stale ? staleWords() : "Not taken yet");
    }
    draw();
  }

  const nowWords = () => (shown.fine ? "As the set is now, fine" : "As the set is now");

  /** Whether what is on screen is a look on the way, with all lights in one. */
  const together = () => shown.lights.length === 1 && shown.lights[0].name === "";

  const staleWords = () => (together()
    ? "As far as it was when it was stopped" : "The set has changed since: take again");

  function refuse(text) {
    say(beyond, text);
    beyond.hidden = !text;
  }

  function note(text) {
    say(done, text);
    done.hidden = !text;
  }

  const announce = (text) => say(spoken, text);

  // ---------------------------------------------------------------- light

  function turned() {
    if (!about) return;
    note("");
    refuse(lights.beyond);
    draw();
  }

  function exponents() {
    const now = new Map(about.lights.map((one) => [one.name, one.power_stops]));
    return shown.lights.map((one) =>
      (now.has(one.name) ? now.get(one.name) - one.power_stops : 0) + lights.stops(one.name));
  }

  /** Draw at the next frame of the screen, once. */
  function draw() {
    drawing ||= requestAnimationFrame(() => {
      drawing = 0;
      if (!shown) return;
      const complete = isShown();
      const stops = complete ? exponents() : shown.lights.map(() => 0);
      const weights = stops.map((one, number) =>
        (complete && lights.alone && lights.alone !== shown.lights[number].name ? 0 : 2 ** one));
      mix(shown, weights, canvas);
      canvas.classList.remove("before");
      canvas.setAttribute("aria-label", complete ? `The picture; ${lights.words}` : "The picture as far as it is");
      const any = complete && Object.keys(lights.changes).length > 0;
      if (complete && !under) {
        say(words, lights.alone ? `${lights.alone} alone` : any ? "Turned, not set yet" : nowWords());
      }
      set.disabled = !any || Boolean(lights.beyond) || Boolean(setting);
      reset.disabled = !any && !lights.alone;
      if (complete) save.href = `/picture/${id}/${shown.mark}.png?stops=${stops.map((one) => one.toFixed(2)).join(",")}`;
    });
  }

  return {
    /** Let a picture that waited for another one be taken. */
    go() {
      waiting = false;
      if (about && !about.kept && !under && shown === null) begin(false);
    },
  };
}

/** What shines in a picture besides the set's lights. */
function othersOf(shown, about) {
  const own = new Set(about.lights.map((one) => one.name));
  return (shown?.lights ?? []).map((one) => one.name).filter((name) => name && !own.has(name));
}

/** What stands in the way, and what to do; of a set's problems without their place in a file. */
function toldOf({ text, problems = [] }) {
  if (problems.length === 0) return text;
  return problems.map((one) => `${one.key}: ${one.given}. Allowed: ${one.allowed}; ${one.advice}.`).join(" ");
}

function choice(text, onclick) {
  return el("button", { type: "button", text, "aria-pressed": "false", onclick });
}
