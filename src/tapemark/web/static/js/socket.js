// The talk with the server about one set. One request is under way at a time; while it is, a newer
// try takes the place of one that waits. After a break it connects again, says hello with the
// revision it knew, and sends again what had no answer.
//
//   const link = new LiveLink("/live/" + id);
//   link.on("state", (message) => …);   also "view", "taken", "elsewhere", "both", "changed",
//                                       "progress", "map", "moves", "stopped", "error",
//                                       "away" (no connection), "back", "gone" (for good)
//   link.open();
//   link.attempt({ edits });            try: latest wins, nobody waits for it
//   const answer = await link.ask({ do: "take", base, edits });   in order, answered once each
//   link.long({ do: "map", light });    long work: answers come as events

const FIRST_WAIT_MS = 250;
const LONGEST_WAIT_MS = 3000;
const CONNECT_WITHIN_MS = 6000; // an attempt that hangs on a dead network
const SLEPT_MS = 20000; // hidden for longer, a phone has let go of its line without a word
const HERE_EVERY_MS = 25000;
const ANSWER_WITHIN_MS = 45000;
const QUIET_BEFORE_OVERLAY_MS = 600;
const GONE = 4404;
const BESIDE = new Set(["progress", "map", "moves", "stopped", "changed", "state"]);

export class LiveLink {
  #path;
  #socket = null;
  #listeners = new Map();
  #number = 0;
  #underway = null; // the message that has no answer yet
  #queue = []; // asked for, in order
  #attempt = null; // the newest try that waits
  #asked = new Map(); // n to the promise's two ends
  #long = null; // the newest long work, until it is answered
  #wait = FIRST_WAIT_MS;
  #retry = 0;
  #here = 0;
  #late = 0;
  #overlayTimer = 0;
  #overlay = null;
  #ready = false;
  #greetedOnce = false;
  #closed = false;
  #window = windowName();
  revision = null;

  constructor(path) {
    this.#path = path;
    addEventListener("online", () => this.#atOnce({ renew: true }));
    addEventListener("pageshow", () => this.#atOnce({ renew: false }));
    let hiddenAt = 0;
    document.addEventListener("visibilitychange", () => {
      if (document.hidden) hiddenAt = Date.now();
      else this.#atOnce({ renew: Date.now() - hiddenAt > SLEPT_MS });
    });
  }

  on(what, listener) {
    const there = this.#listeners.get(what) ?? [];
    this.#listeners.set(what, [...there, listener]);
    return this;
  }

  open() {
    this.#closed = false;
    this.#connect();
    return this;
  }

  close() {
    this.#closed = true;
    clearTimeout(this.#retry);
    this.#forgetSocket();
  }

  get connected() {
    return this.#ready;
  }

  // True while something was asked for and has no answer.
  get busy() {
    return this.#underway !== null || this.#queue.length > 0;
  }

  attempt(change) {
    const n = ++this.#number;
    this.#attempt = { do: "try", n, ...change };
    this.#next();
    return n;
  }

  // Forget a try that waits; the answer to one under way still comes.
  dropAttempt() {
    this.#attempt = null;
  }

  ask(message) {
    const n = message.n ?? ++this.#number;
    const whole = { ...message, n };
    return new Promise((resolve, reject) => {
      this.#asked.set(n, { resolve, reject });
      this.#queue.push(whole);
      this.#next();
    });
  }

  long(message) {
    const n = ++this.#number;
    this.#long = { ...message, n };
    this.#send(this.#long);
    return n;
  }

  stop() {
    this.#long = null;
    this.#send({ do: "stop", n: ++this.#number });
  }

  // ---------------------------------------------------------------- connection

  #connect() {
    clearTimeout(this.#retry);
    if (this.#closed || this.#socket) return;
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    const socket = new WebSocket(`${scheme}://${location.host}${this.#path}`);
    this.#socket = socket;
    this.#late = setTimeout(() => this.#lost(socket), CONNECT_WITHIN_MS);
    socket.addEventListener("open", () => {
      clearTimeout(this.#late);
      this.#late = setTimeout(() => this.#lost(socket), ANSWER_WITHIN_MS);
      this.#raw({ do: "hello", window: this.#window, revision: this.revision });
    });
    socket.addEventListener("message", (event) => this.#hear(socket, event.data));
    socket.addEventListener("close", (event) => {
      if (event.code === GONE) this.#gone(event.reason);
      else this.#lost(socket);
    });
  }

  #lost(socket) {
    if (socket !== this.#socket) return;
    this.#forgetSocket();
    if (this.#closed) return;
    this.#showOverlay("Connection lost: connecting again …");
    this.#tell("away", {});
    this.#again(this.#wait * (0.75 + Math.random() / 4));
    this.#wait = Math.min(this.#wait * 2, LONGEST_WAIT_MS);
    if (this.#wait >= 2000) this.#askWhy();
  }

  // A socket that is refused says nothing; a page that is refused says why.
  async #askWhy() {
    try {
      const answer = await fetch("/set", { method: "HEAD", redirect: "manual", cache: "no-store" });
      if (answer.status === 401) {
        this.#showOverlay("This device is no longer let in: open a new link here.");
      }
    } catch {
      // nobody there: the overlay says so already
    }
  }

  #gone(reason) {
    this.#closed = true;
    this.#forgetSocket();
    this.#showOverlay(reason || "This set is not in the library any more.");
    this.#tell("gone", { text: reason });
  }

  #forgetSocket() {
    const socket = this.#socket;
    this.#socket = null;
    this.#ready = false;
    clearInterval(this.#here);
    clearTimeout(this.#late);
    if (socket && socket.readyState <= WebSocket.OPEN) socket.close();
  }

  // The network is back or the person is: do not wait, and do not trust a line from before.
  #atOnce({ renew }) {
    if (this.#closed) return;
    this.#wait = FIRST_WAIT_MS;
    if (this.#socket && renew) this.#lost(this.#socket);
    this.#again(0);
  }

  #again(wait) {
    if (this.#closed || this.#socket) return;
    clearTimeout(this.#retry);
    this.#retry = setTimeout(() => this.#connect(), wait);
  }

  // ---------------------------------------------------------------- talk

  #hear(socket, text) {
    if (socket !== this.#socket) return;
    const message = JSON.parse(text);
    if (message.say === "state") this.#greeted();
    if ("revision" in message && message.say !== "error") this.revision = message.revision;
    if (this.#underway && !BESIDE.has(message.say) && this.#isAnswer(message)) this.#settle(message);
    if (this.#long && message.n === this.#long.n && message.say !== "progress") this.#long = null;
    this.#tell(message.say, message);
    this.#next();
  }

  #isAnswer(message) {
    return message.n === this.#underway.n;
  }

  #settle(message) {
    const { n } = this.#underway;
    this.#underway = null;
    clearTimeout(this.#late);
    const asked = this.#asked.get(n);
    if (!asked) return;
    this.#asked.delete(n);
    if (message.say === "error") asked.reject(message);
    else asked.resolve(message);
  }

  // Known again: what had no answer goes out once more, and long work with it.
  #greeted() {
    clearTimeout(this.#late);
    const first = !this.#greetedOnce;
    this.#greetedOnce = true;
    this.#ready = true;
    this.#wait = FIRST_WAIT_MS;
    this.#hideOverlay();
    clearInterval(this.#here);
    this.#here = setInterval(() => this.#raw({ do: "here" }), HERE_EVERY_MS);
    if (this.#underway) {
      const again = this.#underway;
      this.#underway = null;
      if (again.do === "try") this.#attempt ??= again;
      else this.#queue.unshift(again);
    }
    if (this.#long) this.#raw(this.#long);
    if (!first) this.#tell("back", {});
  }

  #next() {
    if (!this.#ready || this.#underway) return;
    const message = this.#queue.shift() ?? this.#attempt;
    if (!message) return;
    if (message === this.#attempt) this.#attempt = null;
    this.#underway = message;
    const socket = this.#socket;
    this.#late = setTimeout(() => this.#lost(socket), ANSWER_WITHIN_MS);
    this.#raw(message);
  }

  #send(message) {
    if (this.#ready) this.#raw(message);
  }

  #raw(message) {
    if (this.#socket?.readyState === WebSocket.OPEN) this.#socket.send(JSON.stringify(message));
  }

  #tell(what, message) {
    for (const listener of this.#listeners.get(what) ?? []) listener(message);
  }

  // ---------------------------------------------------------------- overlay

  #showOverlay(text) {
    if (!this.#overlay) {
      this.#overlay = document.createElement("div");
      this.#overlay.className = "away";
      this.#overlay.append(document.createElement("p"));
      this.#overlay.setAttribute("role", "status");
    }
    this.#overlay.firstChild.textContent = text;
    if (this.#overlay.isConnected) return;
    clearTimeout(this.#overlayTimer);
    this.#overlayTimer = setTimeout(
      () => document.body.append(this.#overlay),
      this.#closed ? 0 : QUIET_BEFORE_OVERLAY_MS,
    );
  }

  #hideOverlay() {
    clearTimeout(this.#overlayTimer);
    this.#overlay?.remove();
  }
}

// A name for this window that lives as long as it does, so that the server knows it again.
function windowName() {
  const letters = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(letters, (one) => one.toString(16).padStart(2, "0")).join("");
}
