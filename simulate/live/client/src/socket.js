// The connection to the server, made again when it is lost.

import { decoded } from "./wire.js";

const WAITS_MS = [300, 700, 1500, 3000, 5000];

export class Socket {
  /** hear(message) for every message; state(word) for "open", "lost". */
  constructor(hear, state) {
    this.hear = hear;
    this.state = state;
    this.tries = 0;
    this.open();
  }

  open() {
    const url = new URL("live", document.baseURI);
    url.protocol = "ws:";
    this.socket = new WebSocket(url);
    this.socket.binaryType = "arraybuffer";
    this.socket.onopen = () => { this.tries = 0; this.state("open"); };
    this.socket.onmessage = (event) => this.hear(decoded(event.data));
    this.socket.onclose = () => {
      this.state("lost");
      const wait = WAITS_MS[Math.min(this.tries, WAITS_MS.length - 1)];
      this.tries += 1;
      setTimeout(() => this.open(), wait);
    };
  }

  get ready() {
    return this.socket.readyState === WebSocket.OPEN;
  }

  tell(word, rest = {}) {
    if (this.ready) this.socket.send(JSON.stringify({ do: word, ...rest }));
    return this.ready;
  }
}
