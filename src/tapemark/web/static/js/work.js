// Work that takes seconds: begin it, hear how far it is, stop it. After a break it is begun again.
//
//   const work = new WorkLink();
//   work.on("progress", ({ text }) => …).on("done", (answer) => …).on("error", ({ text }) => …);
//   work.begin("plan", { … });   the newest takes the place of one under way
//   work.stop();

const FIRST_WAIT_MS = 250;
const LONGEST_WAIT_MS = 3000;
const HERE_EVERY_MS = 25000;

export class WorkLink {
  #socket = null;
  #listeners = new Map();
  #number = 0;
  #wanted = null;
  #wait = FIRST_WAIT_MS;
  #here = 0;

  constructor() {
    const atOnce = () => {
      this.#wait = FIRST_WAIT_MS;
      if (this.#wanted && this.#socket?.readyState !== WebSocket.OPEN) this.#connect();
    };
    addEventListener("online", atOnce);
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) atOnce();
    });
  }

  on(what, listener) {
    const there = this.#listeners.get(what) ?? [];
    this.#listeners.set(what, [...there, listener]);
    return this;
  }

  get busy() {
    return this.#wanted !== null;
  }

  begin(work, given = {}) {
    this.#wanted = { do: "begin", n: ++this.#number, work, with: given };
    this.#send(this.#wanted);
  }

  stop() {
    this.#wanted = null;
    if (this.#socket?.readyState === WebSocket.OPEN) this.#send({ do: "stop" });
  }

  #send(message) {
    if (this.#socket?.readyState === WebSocket.OPEN) this.#socket.send(JSON.stringify(message));
    else this.#connect();
  }

  #connect() {
    if (this.#socket) return;
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    const socket = new WebSocket(`${scheme}://${location.host}/work`);
    this.#socket = socket;
    socket.addEventListener("open", () => {
      this.#wait = FIRST_WAIT_MS;
      this.#here = setInterval(() => this.#send({ do: "here" }), HERE_EVERY_MS);
      if (this.#wanted) this.#send(this.#wanted);
    });
    socket.addEventListener("message", (event) => this.#hear(JSON.parse(event.data)));
    socket.addEventListener("close", () => {
      clearInterval(this.#here);
      this.#socket = null;
      if (!this.#wanted) return;
      this.#tell("away", {});
      setTimeout(() => this.#wanted && this.#connect(), this.#wait);
      this.#wait = Math.min(this.#wait * 2, LONGEST_WAIT_MS);
    });
  }

  #hear(message) {
    if (message.say !== "error" || message.n !== null) {
      if (message.n !== this.#wanted?.n) return;
    }
    if (message.say !== "progress") this.#wanted = null;
    this.#tell(message.say, message);
  }

  #tell(what, message) {
    for (const listener of this.#listeners.get(what) ?? []) listener(message);
  }
}
