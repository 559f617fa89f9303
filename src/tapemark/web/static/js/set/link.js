// What the set screen asks of the server, on top of the talk in socket.js: tries of which the
// latest wins, takes one after the other, and long work.

import { LiveLink } from "../socket.js";

const FIRST_TAKE = 1_000_000; // numbers of takes, apart from those that the talk gives itself

/**
 * Open the line of a set.
 * @param {string} path of the web socket
 * @param {object} hears `online(bool)`, `unsaved(bool)`, `state`, `taken`, `changed`, `elsewhere`, `both`,
 *   `refused(text, take)`, `error(text, kind)`, `progress`, `map`, `moves`, `stopped`
 */
export function openLink(path, hears) {
  const live = new LiveLink(path);
  const seen = new Map(); // number of a try -> who wants to see its view
  const takes = [];
  let under = null;
  let number = FIRST_TAKE;
  let long = null; // {n, kind}
  let away = false;
  let lastTry = 0;
  let lastDropped = 0;
  const dropped = (n) => n <= lastDropped;

  live
    .on("state", (said) => {
      away = false;
      hears.online(true);
      hears.state(said);
      flush();
    })
    .on("away", () => {
      away = true;
      if (under) under.again = true;
      hears.online(false);
    })
    .on("gone", () => hears.online(false))
    .on("view", (said) => {
      const look = seen.get(said.n);
      for (const n of seen.keys()) if (n <= said.n) seen.delete(n);
      if (!look) return;
      // Drawn with the next frame: until then the next try is already on its way.
      requestAnimationFrame(() => {
        if (!takes.length && !under && !dropped(said.n)) look(said.view);
      });
    })
    .on("changed", (said) => hears.changed(said))
    .on("error", (said) => {
      if (said.n >= FIRST_TAKE) return; // told to whoever asked
      const kind = said.n === long?.n ? long.kind : null;
      if (kind) long = null;
      seen.delete(said.n);
      hears.error(said.text, kind);
    });
  for (const what of ["progress", "map", "moves", "stopped"]) {
    live.on(what, (said) => {
      if (said.n === long?.n && what !== "progress") long = null;
      hears[what](said);
    });
  }

  const flush = async () => {
    hears.unsaved(takes.length > 0 || under !== null);
    if (under || !takes.length || live.revision === null) return;
    under = takes.shift();
    const take = under;
    take.n = number += 1;
    take.base ??= live.revision;
    try {
      settled(await live.ask({ ...take.message, n: take.n, base: take.base }), take);
    } catch (said) {
      if (!("text" in said)) throw said;
      under = null;
      if (take.done) take.done(said.text);
      else hears.error(said.text, null);
      hears.refused(said.text, take);
    }
    flush();
  };

  const settled = (said, take) => {
    under = null;
    if (said.say === "taken") {
      if (takes[0]?.follows) takes[0].base = said.revision;
      hears.taken(said, take, takes.length > 0);
      take.done?.(null);
      return;
    }
    // It met another change. What was to come after it would stand on sand.
    for (const one of [take, ...takes]) one.lost?.();
    takes.length = 0;
    // Sent twice over a broken line, it met itself, or touches nothing of the other: put together.
    if (take.again && said.can_merge) settle("merge", take);
    else hears.elsewhere(said, take);
  };

  const settle = async (how, take) => {
    under = take;
    try {
      const said = await live.ask({ do: how, n: take.n });
      under = null;
      if (said.say === "taken") hears.taken(said, take, false);
      else if (said.say === "both") hears.both(said);
      else hears.elsewhere(said, take);
      take.done?.(null);
    } catch (said) {
      under = null;
      hears.error(said.text, null);
      hears.refused(said.text, take);
    }
    flush();
  };

  const put = (take) => {
    takes.push({ ...take, follows: takes.length > 0 || under !== null });
    flush();
  };

  live.open();
  return {
    /** Show what a change would do; `look` gets the view. */
    try(change, look) {
      lastTry = live.attempt(change);
      seen.set(lastTry, look);
    },
    /** Forget tries that have not been answered. */
    dropTry() {
      live.dropAttempt();
      seen.clear();
      lastDropped = lastTry;
    },
    /** Save a change, on top of the revision the person saw; `done` gets null or an error,
     * `lost` is called where it met a change from elsewhere. */
    take(change, { base = null, done = null, lost = null } = {}) {
      this.dropTry();
      put({ message: { do: "take", why: "", ...change }, base, done, lost });
    },
    /** "undo" or "redo". */
    step(which) {
      this.dropTry();
      put({ message: { do: which }, base: null, done: null });
    },
    /** Ask for long work ("map", "moves"); returns its number. Newer work stops older. */
    ask(kind, message) {
      const n = live.long({ do: kind, ...message });
      long = { n, kind };
      return n;
    },
    /** Stop long work. */
    stop(n) {
      if (long?.n !== n) return;
      long = null;
      live.stop();
    },
    /** Answer to "elsewhere": "merge" or "keep both". */
    settle,
    /** Whether something is not saved yet. */
    get unsaved() {
      return takes.length > 0 || under !== null;
    },
    get away() {
      return away;
    },
    get revision() {
      return live.revision;
    },
  };
}
