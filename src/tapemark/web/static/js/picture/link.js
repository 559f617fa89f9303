// The talk with the server about one set's picture; after a break it says hello again.
//
//   const link = new PictureLink(address, { state, changed, look, progress, done, stopped, taken, error, gone });
//   link.say({ do: "expose", glasses: false, clay: false });   returns the number of the message

const FIRST_WAIT_MS = 250;
const LONGEST_WAIT_MS = 3000;
const HERE_EVERY_MS = 25000;
const GONE = 4404;

export class PictureLink {
  #address;
  #hears;
  #socket = null;
  #number = 0;
  #wait = FIRST_WAIT_MS;
  #here = 0;
  #hello;

  constructor(address, hears, hello) {
    this.#address = address;
    this.#hears = hears;
    this.#hello = hello;
    this.#connect();
  }

  get connected() {
    return this.#socket?.readyState === WebSocket.OPEN;
  }

  say(message) {
    const n = ++this.#number;
    if (this.connected) this.#socket.send(JSON.stringify({ ...message, n }));
    return n;
  }

  #connect() {
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    const socket = new WebSocket(`${scheme}://${location.host}${this.#address}`);
    this.#socket = socket;
    socket.addEventListener("open", () => {
      this.#wait = FIRST_WAIT_MS;
      this.#here = setInterval(() => this.connected && socket.send('{"do":"here"}'), HERE_EVERY_MS);
      this.say(this.#hello());
    });
    socket.addEventListener("message", (event) => {
      const said = JSON.parse(event.data);
      this.#hears[said.say]?.(said);
    });
    socket.addEventListener("close", (event) => {
      clearInterval(this.#here);
      if (event.code === GONE) {
        this.#hears.gone?.({ text: event.reason });
        return;
      }
      this.#hears.away?.();
      setTimeout(() => this.#connect(), this.#wait);
      this.#wait = Math.min(this.#wait * 2, LONGEST_WAIT_MS);
    });
  }
}
