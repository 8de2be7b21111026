// The two variants: their texts, what undoes them, what is on its way to the server, and the last good answers.

const MOST_PAST = 200;

export class Variant {
  constructor(slot) {
    this.slot = slot;
    this.text = "";
    this.name = "scene.toml";
    this.seen = "";     // digest of the file as it was opened or saved; "" for none
    this.savedText = ""; // what is on the disk, to tell whether anything is unsaved
    this.past = [];
    this.future = [];
    this.pending = [];  // edits not yet answered: { edit, gesture, sent }
    this.asked = 0;     // number of the last question
    this.texts = new Map(); // number of a question -> { base, gesture, edits } as it was sent
    this.gesture = null; // of the last change, so that a drag is one step back
    this.scene = null;
    this.numbers = null;
    this.folds = null;
    this.errors = [];
    this.refused = []; // keys whose new values these errors are about
    this.stale = false;
    this.waiting = new Set();
  }

  get used() { return this.text !== ""; }
  get unsaved() { return this.used && this.text !== this.savedText; }

  begin(text, name, seen) {
    Object.assign(this, { text, name, seen, savedText: seen ? text : "", past: [], future: [], pending: [], errors: [], gesture: null });
    this.texts.clear(); // what is under way belongs to another text
  }

  copyTo(other) {
    other.begin(this.text, this.name, "");
    Object.assign(other, { scene: this.scene, numbers: this.numbers, folds: this.folds });
  }

  /** A change by hand; changes of one gesture on one key replace one another. */
  change(edit, gesture) {
    const same = this.pending.findIndex((each) => each.edit[0] === "set" && edit[0] === "set" && each.edit[1] === edit[1]);
    if (same >= 0) this.pending.splice(same, 1);
    this.pending.push({ edit, gesture });
  }

  /** What the server accepted: the new text, and one step back unless it goes on with the same gesture. False: of no use any more. */
  accept(text, number) {
    const sent = this.texts.get(number);
    for (const key of this.texts.keys()) if (key <= number) this.texts.delete(key);
    if (!sent) return false;
    this.pending = this.pending.filter((each) => !sent.edits.includes(each));
    this.errors = [];
    if (text === this.text) return true;
    if (sent.gesture === null || sent.gesture !== this.gesture) {
      this.past.push(this.text);
      if (this.past.length > MOST_PAST) this.past.shift();
      this.future = [];
    }
    this.gesture = sent.gesture;
    this.text = text;
    return true;
  }

  /** What the server refused: the last good text stays. */
  refuse(errors, number) {
    const sent = this.texts.get(number);
    this.texts.delete(number);
    if (!sent) return;
    this.pending = this.pending.filter((each) => !sent.edits.includes(each));
    this.errors = errors;
    this.refused = sent.edits.map(({ edit }) => edit).filter(([what]) => what === "set").map(([, key]) => key);
  }

  step(from, to) {
    if (!this[from].length) return false;
    this[to].push(this.text);
    this.text = this[from].pop();
    this.pending = [];
    this.texts.clear();
    this.gesture = null;
    this.errors = [];
    return true;
  }

  undo() { return this.step("past", "future"); }
  redo() { return this.step("future", "past"); }

  kept() {
    const { text, name, seen, savedText, past, future } = this;
    return { text, name, seen, savedText, past: past.slice(-30), future: future.slice(-30) };
  }

  restore(kept) { Object.assign(this, kept); }
}

const KEY = () => `halfgain ${document.baseURI}`;

/** The page's state survives a reload in the same tab. */
export function remember(state) {
  try {
    sessionStorage.setItem(KEY(), JSON.stringify(state));
  } catch { /* no room, or not allowed: nothing depends on it */ }
}

export function remembered() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY()) ?? "null");
  } catch {
    return null;
  }
}
