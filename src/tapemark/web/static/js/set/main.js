// The set screen: puts its parts together and answers what the server says.

import { openDialog, makeAdding, makeElsewhere } from "./dialogs.js";
import { el, namesApart, say, svg } from "./dom.js";
import { grabber, makePannable } from "./gestures.js";
import { makeHandles } from "./handles.js";
import { makeHands } from "./hands.js";
import { listenForKeys, presser } from "./keys.js";
import { makeMapLayer } from "./layer.js";
import { openLink } from "./link.js";
import { makeMoves } from "./moves.js";
import { makeNotes } from "./notes.js";
import { makeStage } from "./stage.js";
import { makeStore, wholeOf } from "./store.js";
import { makeStrip, verdictSentence } from "./strip.js";
import { makeThings } from "./things.js";
import { makeKey, makeThrough } from "./through.js";

const SLIP_MS = 7000;
const byId = (id) => document.getElementById(id);
const root = byId("set");
const store = makeStore();
const plan = makeStage(byId("plan-stage"), "plan");
const side = makeStage(byId("side-stage"), "side");
const stages = [plan, side];
const narrow = window.matchMedia("(max-width: 56rem)");

let slipTimer = null;

/** A short slip of paper with one line, that goes by itself; a quiet one is only for the eyes. */
function slip(text, { quiet = false } = {}) {
  const paper = byId("slip");
  paper.classList.toggle("plain", quiet);
  paper.setAttribute("role", quiet ? "presentation" : "alert");
  paper.setAttribute("aria-hidden", String(quiet));
  paper.textContent = text;
  paper.hidden = false;
  clearTimeout(slipTimer);
  slipTimer = setTimeout(() => (paper.hidden = true), SLIP_MS);
}
byId("slip").addEventListener("click", () => (byId("slip").hidden = true));

/** Say something to readers of the screen; the same again is said again. */
const announce = (text) => {
  const spoken = byId("announce");
  say(spoken, spoken.textContent === text ? `${text}\u00a0` : text);
};

/** The handle of what is in hand goes along with it. */
const whenEchoed = (thing) => {
  for (const one of handles) if (thing) one.follow(thing);
};
let handles = [];

const settled = () => {
  hands.forget();
  store.set({ dragging: Boolean(hands.current && !hands.current.gone && store.state.dragging) });
};

const saved = (said) => ({
  view: said.view,
  saved: said.view,
  setup: said.setup ?? store.state.setup,
  revision: said.revision,
  canUndo: said.can_undo ?? store.state.canUndo,
  canRedo: said.can_redo ?? store.state.canRedo,
});

const link = openLink(root.dataset.live, {
  online(online) {
    store.set({ online });
  },
  unsaved(unsaved) {
    if (store.state.unsaved !== unsaved) store.set({ unsaved });
  },
  state(said) {
    if (said.name) say(byId("set-name"), said.name);
    if (!link.unsaved) hands.forget();
    store.set(saved(said));
    hands.follow();
  },
  taken(said, take, more) {
    if (!more) settled();
    store.set({ ...saved(said), trying: null });
    hands.follow();
    if (!said.words) return;
    const words = namesApart(said.view)(said.words);
    announce(words);
    // What undo and redo did may be out of sight: on another leaf, or a number.
    if (["undo", "redo"].includes(take.message.do)) slip(words, { quiet: true });
  },
  changed(said) {
    if (hands.current || store.state.trying) {
      // Something is in hand: it stays as the person sees it, until it is let go.
      store.set({ saved: said.view, revision: said.revision, setup: said.setup ?? store.state.setup });
    } else {
      store.set(saved({ ...said, can_undo: said.can_undo ?? true }));
    }
    announce("The set was changed elsewhere.");
  },
  elsewhere(said, take) {
    store.set({ ...saved(said), trying: null });
    if (take.message.do !== "take") {
      hands.forget();
      slip("Changed in another window meanwhile: look, then try again.");
      return;
    }
    elsewhere.open(said, take);
  },
  stopped(said) {
    layer.stopped(said);
    moves.stopped(said);
  },
  both(said) {
    window.location.assign(`/set/${said.id}`);
  },
  refused() {
    hands.forget();
    store.set({ view: store.state.saved });
    hands.follow();
  },
  error(text, kind) {
    if (kind === "map") layer.failed(text);
    else if (kind === "moves") moves.failed(text);
    else slip(text);
  },
  progress(said) {
    layer.progress(said);
    moves.progress(said);
  },
  map(said) {
    layer.found(said);
  },
  moves(said) {
    moves.found(said);
  },
});

const through = makeThrough(byId("view-frame"), { store });
const hands = makeHands({ store, link, stages, pictures: [...stages, through], whenEchoed });

const actions = {
  step(which) {
    if (which === "undo" ? store.state.canUndo : store.state.canRedo) link.step(which);
  },
  help() {
    openDialog(byId("helping"));
  },
  map() {
    layer.toggle();
  },
  numbers(thing) {
    store.set({ hand: thing });
    showLeaf("things");
    things.open(thing, { focus: true });
  },
  remove(thing) {
    link.take({ edits: [{ remove: thing }] }, { done: (text) => text && slip(text) });
    store.set({ hand: null });
  },
  tryMove(move) {
    hands.settle();
    if (store.state.trying) actions.putBack();
    for (const stage of stages) stage.keepGhosts();
    const trying = { move };
    store.set({ trying });
    link.try({ setup: move.setup }, (view) => {
      if (store.state.trying !== trying) return;
      store.set({ view: { ...store.state.saved, ...view, findings: store.state.saved.findings } });
      for (const stage of stages) stage.sortGhosts();
      announce(`Trying: ${move.change}. ${verdictSentence(view)}`);
    });
    if (narrow.matches) showLeaf("plan");
  },
  putBack() {
    if (!store.state.trying) return;
    link.dropTry();
    store.set({ trying: null, view: store.state.saved });
    announce("Put back.");
  },
  takeMove(move) {
    link.take({ setup: move.setup, why: move.change }, {
      base: move.base, // of the set that it was found for
      done: (text) => {
        if (text) slip(text);
        store.set({ trying: null });
      },
    });
  },
};

// ---- the leaves

function showLeaf(leaf) {
  if (["notes", "moves", "things", "picture"].includes(leaf)) root.dataset.margin = leaf;
  root.dataset.leaf = leaf;
  for (const thumb of document.querySelectorAll("[data-thumb]")) {
    const name = thumb.dataset.thumb;
    const shown = narrow.matches ? name === root.dataset.leaf : name === root.dataset.margin;
    thumb.setAttribute("aria-pressed", String(shown));
  }
}
for (const thumb of document.querySelectorAll("[data-thumb]")) {
  thumb.addEventListener("click", () => showLeaf(thumb.dataset.thumb));
}
narrow.addEventListener("change", () => showLeaf(root.dataset.leaf));
showLeaf(root.dataset.leaf);

const countOn = (leaf, count, what) => {
  const badge = document.querySelector(`[data-thumb="${leaf}"] .count`);
  badge.hidden = !count;
  badge.textContent = count ? ` ${count}` : "";
  if (count) badge.append(el("span", { class: "visually-hidden", text: ` ${what}` }));
};

makeNotes(byId("notes-leaf"), {
  store,
  counted: (trouble) => countOn("notes", trouble, "in trouble"),
});
const moves = makeMoves(byId("moves-leaf"), { store, link, actions });
const layer = makeMapLayer({ store, link, stages, bar: byId("map-bar"), band: byId("map-said"), announce });
const things = makeThings(byId("things-leaf"), {
  store,
  fieldsAddress: root.dataset.fields,
  base: () => (link.unsaved ? null : link.revision), // what is under way belongs to this window
  take: (edits, options = {}) =>
    link.take({ edits }, { done: (text) => text && slip(text), ...options }),
  choose: (thing) => store.set({ hand: thing }),
  remove: actions.remove,
});
makeStrip(byId("strip"), { store });

// ---- the drawings

const tapped = (thing) => {
  const chosen = wholeOf(thing);
  store.set({ hand: chosen });
  if (!narrow.matches) showLeaf("things");
  things.open(chosen);
};
const grab = grabber({ store, hands, tapped });

handles = stages.map((stage) => {
  const press = presser({ store, hands, which: stage.which, actions });
  const made = makeHandles(stage, {
    store, hands, press,
    grab: (event, thing, button) => grab(event, thing, button, stage),
  });
  stage.sheet.addEventListener("pointerdown", (event) => {
    const thing = event.target.closest("[data-thing]")?.dataset.thing;
    const button = thing ? made.button(thing) : null;
    if (button) grab(event, thing, button, stage);
  });
  makePannable(stage, { emptied: () => store.set({ hand: null }) });
  return made;
});

const FITS = [
  ["Smaller", "M4 10h12", (stage) => stage.zoomBy(1 / 1.4)],
  ["Larger", "M4 10h12M10 4v12", (stage) => stage.zoomBy(1.4)],
  ["Close in on what stands there", "M8 3v5H3M12 3v5h5M8 17v-5H3M12 17v-5h5", (stage) => stage.fitThings()],
  ["The whole room", "M3 7V3h4M13 3h4v4M17 13v4h-4M7 17H3v-4", (stage) => stage.fit()],
];
for (const holder of document.querySelectorAll("[data-fits]")) {
  const stage = holder.dataset.fits === "plan" ? plan : side;
  holder.append(...FITS.map(([label, path, act]) =>
    el("button", { type: "button", class: "quiet", "aria-label": label, title: label, onclick: () => act(stage) },
      svg("svg", { viewBox: "0 0 20 20", "aria-hidden": "true" }, svg("path", { d: path })))));
}

makeKey(byId("view-key"));

let drawn = {};
store.watch((state, before) => {
  const { view } = state;
  if (view && view !== before.view) {
    for (const stage of stages) {
      const made = view.drawings?.[stage.which];
      if (made && made !== drawn[stage.which]) {
        drawn[stage.which] = made;
        stage.show(made);
        if (!state.dragging) stage.keepInSight();
      }
    }
    root.dataset.ready = "yes";
  }
  if (!state.trying && before.trying) for (const stage of stages) stage.dropGhosts();
  root.dataset.hand = state.hand ?? "";
  root.classList.toggle("dragging", state.dragging);
  byId("trying").hidden = !state.trying;
  if (state.trying) {
    say(byId("trying-text"), `Trying: ${state.trying.move.change}`);
    byId("trying-text").title = state.trying.move.change;
  }
  byId("undo").disabled = !state.canUndo;
  byId("redo").disabled = !state.canRedo;
  const note = !state.online ? "waiting for the line"
    : state.dragging ? "let go to keep"
      : state.unsaved || hands.current ? "keeping…" : "kept";
  if (state.revision !== null) say(byId("kept"), note);
  if (state.hand !== before.hand || state.view !== before.view || state.dragging !== before.dragging) {
    for (const one of handles) one.lay();
  }
  markHand(state.hand);
});

/** Show on the drawings which thing is in hand. */
function markHand(hand) {
  for (const stage of stages) {
    for (const group of stage.things()) {
      group.classList.toggle("in-hand", group.dataset.thing === hand);
    }
    for (const tape of stage.sheet.querySelectorAll("[data-of]")) {
      tape.classList.toggle("in-hand", tape.dataset.of === hand);
    }
  }
}

// ---- buttons and keys

byId("undo").addEventListener("click", () => (hands.settle(), actions.step("undo")));
byId("redo").addEventListener("click", () => (hands.settle(), actions.step("redo")));
byId("help").addEventListener("click", actions.help);
byId("add").addEventListener("click", () => openDialog(byId("adding")));
byId("trying-take").addEventListener("click", () => actions.takeMove(store.state.trying.move));
byId("trying-back").addEventListener("click", actions.putBack);

const elsewhere = makeElsewhere(byId("elsewhere"), {
  settle(how, take) {
    hands.forget();
    link.settle(how, take);
  },
  drop() {
    hands.forget();
    store.set({ view: store.state.saved });
    hands.follow();
  },
});
makeAdding(byId("adding"), {
  add: (kind, body, done) =>
    link.take({ edits: [{ add: kind, body }] }, { done: (text) => (done ? done(text) : text && slip(text)) }),
});
listenForKeys({ store, hands, actions });
window.addEventListener("beforeunload", (event) => {
  if (link.unsaved) event.preventDefault();
});
