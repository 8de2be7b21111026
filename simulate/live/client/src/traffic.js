// Questions of one variant to the server: one under way, the newest waits; what was said before it is forgotten.

const PATIENCE_MS = 20_000;

export class Traffic {
  /** ask(): the question as it stands now, with a number, is sent; returns false while the socket is closed. */
  constructor(ask) {
    this.ask = ask;
    this.under = false;
    this.waits = false;
  }

  want() {
    if (this.under) { this.waits = true; return; }
    if (!this.ask()) return;
    this.under = true;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.done(), PATIENCE_MS);
  }

  /** The answer that a drag waits for has come. */
  done() {
    clearTimeout(this.timer);
    this.under = false;
    if (!this.waits) return;
    this.waits = false;
    this.want();
  }

  /** The connection is new: whatever was under way is lost. */
  reset() {
    this.under = this.waits = false;
    clearTimeout(this.timer);
  }
}
