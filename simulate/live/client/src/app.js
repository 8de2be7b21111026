// The page: keeps the variants, hears the server, asks it, and hands what is new to the parts.

import { download, say } from "./dom.js";
import { Layout } from "./layout.js";
import { ownImage } from "./own_image.js";
import { Socket } from "./socket.js";
import { remember, remembered, Variant } from "./store.js";
import { Traffic } from "./traffic.js";
import { setUnitSystem, unitSystem } from "./units.js";

const IDLE_MS = 1500, TEXT_WAIT_MS = 350, FAULTS_SHOWN = 3, KEEP_MS = 400;

export class App {
  constructor(root) {
    this.variants = { a: new Variant("a"), b: new Variant("b") };
    this.active = "a";
    this.both = false;
    this.seat = 0;
    this.show = "letters";
    this.own = null;
    this.level = "typical";
    this.light = null;
    this.count = 0;
    this.making = false; // a report of this page
    this.precise = true;
    this.layout = new Layout(root, this);
    this.traffic = { a: new Traffic(() => this.question("a")), b: new Traffic(() => this.question("b")) };
    addEventListener("pagehide", () => { if (this.keeping) this.keepNow(); });
    this.socket = new Socket((message) => this.hear(message), (word) => this.connection(word));
  }

  get variant() { return this.variants[this.active]; }
  get shown() { return this.both ? [this.variants.a, this.variants.b] : [this.variant]; }

  connection(word) {
    this.layout.connection(word);
    if (word !== "lost") return;
    for (const each of Object.values(this.traffic)) each.reset();
    if (this.making) this.reportEnded("The connection was lost, and the report with it.", "bad");
  }

  // ---- what the user does

  set(key, value, gesture) {
    this.variant.change(["set", key, value], gesture);
    this.renew(this.active);
  }

  add(list, entry) { this.list(["add", list, entry]); }
  take(list, name) { this.list(["take", list, name]); }
  list(edit) {
    this.variant.change(edit, null);
    this.renew(this.active);
  }

  mend(remedies) {
    for (const { key, axis, to_m } of remedies) {
      const lens = this.variant.scene.projector.lens_m;
      if (key === "projector.lens_m") {
        const waiting = this.variant.pending.find(({ edit }) => edit[1] === key)?.edit[2] ?? lens;
        this.variant.change(["set", key, waiting.map((each, k) => (["right", "out", "up"][k] === axis ? to_m : each))], null);
      } else this.variant.change(["set", key, to_m], null);
    }
    this.renew(this.active);
  }

  chooseSeat(index) {
    if (index === this.seat) return;
    this.seat = index;
    this.renewAll();
    this.layout.seatChosen();
  }

  setShow(name) {
    this.show = name;
    if (name !== "own") this.own = null;
    this.renewAll();
    this.layout.pictureChosen();
  }

  async setOwn(file) {
    try {
      const [left, right, bottom, top] = this.variant.scene.picture;
      this.own = await ownImage(file, (right - left) / (top - bottom));
      this.show = "own";
      this.renewAll();
      this.layout.pictureChosen();
    } catch (fault) {
      this.layout.message(fault.message, "bad");
    }
  }

  setLevel(level) { this.level = level; this.renewAll(); }

  /** Even light is added by the page itself, that of lamps and windows is asked of the server. */
  setLight(name) {
    const traced = (light) => this.shown.some(({ scene }) => scene?.dimmed.some((each) => each.name === light)), before = this.light;
    this.light = name || null;
    this.layout.noPrecise();
    if (traced(before) || traced(this.light)) { this.renewAll(); this.layout.lightChosen(); } else this.layout.draw();
    this.keep();
  }
  setUnits(system) { setUnitSystem(system); this.layout.unitsChanged(); this.keep(); }

  undo() { if (this.variant.undo()) { say("Undone"); this.renew(this.active); this.keep(); } }
  redo() { if (this.variant.redo()) { say("Done again"); this.renew(this.active); this.keep(); } }

  /** Variant B from A as it stands, and both side by side; or back to one. */
  beside() {
    const other = this.active === "a" ? "b" : "a";
    this.variant.copyTo(this.variants[other]);
    this.both = true;
    this.activate(other);
    this.renew(other);
    say(`Two variants. You now change ${other.toUpperCase()}.`);
  }

  activate(slot) {
    this.active = slot;
    this.layout.variantsChanged();
    this.keep();
  }

  single() {
    const other = this.active === "a" ? "b" : "a";
    Object.assign(this.variants[other], new Variant(other));
    this.both = false;
    if (this.active === "b") { this.variants.a = Object.assign(this.variants.b, { slot: "a" }); this.variants.b = new Variant("b"); this.active = "a"; }
    this.layout.variantsChanged();
    this.renew("a");
    this.keep();
  }

  /** The scene's text as it is being typed: the last good room stays until this one is good. */
  typed(text) {
    clearTimeout(this.typing);
    this.typing = setTimeout(() => {
      this.draft = text;
      this.renew(this.active);
    }, TEXT_WAIT_MS);
  }

  openFile(name, library) { this.socket.tell("open", { name, library }); }
  async readFile(file) {
    if (file.size > 2_000_000) { this.layout.message(`${file.name} is too large for a scene.`, "bad"); return; }
    this.begin(await file.text(), file.name, "");
  }
  newRoom(form) { this.socket.tell("new", { form }); }
  save(name) {
    const { variant } = this;
    this.saving = { variant, text: variant.text, name };
    this.socket.tell("save", { name, text: variant.text, seen: name === variant.name ? variant.seen : "" });
  }
  saveAnyway() { this.socket.tell("save", { name: this.saving.name, text: this.saving.text, seen: "any" }); }
  report() {
    if (!this.making) this.making = this.socket.tell("report", { text: this.variant.text, name: this.variant.name });
    if (!this.making) return;
    this.layout.reporting("begun");
  }

  reportEnded(words, kind) {
    this.making = false;
    this.layout.reporting("ended");
    this.layout.message(words, kind);
  }

  stopReport() { this.socket.tell("stop-report"); }

  begin(text, name, seen) {
    this.variant.begin(text, name, seen);
    this.variant.savedText = seen ? text : "";
    this.seat = 0;
    this.light = null;
    this.draft = undefined;
    this.renew(this.active);
    this.layout.textChanged();
  }

  // ---- to the server

  renewAll() { for (const { slot } of this.shown) this.renew(slot); }

  renew(slot) {
    const variant = this.variants[slot];
    if (!variant.used && this.draft === undefined) return;
    clearTimeout(this.idle);
    this.layout.noPrecise();
    this.traffic[slot].want();
  }

  question(slot) {
    const variant = this.variants[slot], number = (this.count += 1);
    const gesture = variant.pending.at(-1)?.gesture ?? null, edits = [...variant.pending];
    const typed = this.draft !== undefined && slot === this.active ? this.draft : null;
    if (!this.socket.ready) return false;
    variant.asked = number;
    variant.texts.set(number, { gesture: typed === null ? gesture : "typing", edits });
    this.draft = undefined;
    const { have } = this.layout.views[slot];
    return this.socket.tell("ask", {
      number, slot, text: typed ?? variant.text, name: variant.name, edits: typed === null ? edits.map((each) => each.edit) : [], seat: this.seat,
      show: this.own ? "white" : this.show, zones: this.own?.zones ?? null, level: this.level, light: this.light ?? "", have,
      wants: ["numbers", "folds", "view", ...(slot === this.active ? ["room"] : [])],
    });
  }

  askPrecise() {
    if (!this.precise || this.own || this.both || this.light || !this.socket.ready) return;
    const [width, height] = this.layout.views[this.active].size();
    if (width < 16) return;
    this.socket.tell("precise", {
      number: this.variant.asked, slot: this.active, text: this.variant.text, name: this.variant.name, seat: this.seat, show: this.show, level: this.level, width, height,
    });
  }

  // ---- from the server

  hear(message) {
    const variant = this.variants[message.slot];
    const answer = this[`on_${message.kind.replace("-", "_")}`];
    if (variant && message.number < variant.asked && message.kind !== "scene" && message.kind !== "refused") return; // of a question that was replaced
    if (answer) answer.call(this, message, variant);
  }

  on_hello(message) {
    this.libraries = message.libraries;
    this.folder = message.folder;
    this.layout.hello(message);
    for (const each of Object.values(this.traffic)) each.reset();
    if (this.variant.used) { this.renewAll(); return; } // the connection was lost and is back: go on where we were
    const kept = remembered();
    if (kept) this.restore(kept);
    else this.variant.begin(message.first.text, message.first.name, message.first.seen);
    this.layout.variantsChanged();
    this.layout.pictureChosen();
    this.layout.textChanged();
    this.renewAll();
  }

  on_scene(message, variant) {
    if (!variant.accept(message.text, message.number)) return;
    variant.scene = message.scene;
    this.seat = Math.min(this.seat, message.scene.seats.length - 1);
    variant.stale = message.number === variant.asked;
    if (this.light && ![...message.scene.lights, ...message.scene.dimmed].some((each) => each.name === this.light)) this.light = null;
    this.layout.sceneChanged(variant);
    this.keep();
  }

  on_refused(message, variant) {
    variant.refuse(message.errors, message.number);
    variant.settled = variant.lit = variant.fine = variant.judged = message.number;
    if (message.number === variant.asked) this.traffic[message.slot].done();
    this.layout.views[message.slot].draw(); // a picture that was chosen meanwhile waits for no light
    this.layout.errorsChanged();
    say(`Not possible: ${message.errors.slice(0, FAULTS_SHOWN).map((each) => each.text).join("; ")}`);
    if (variant.scene) this.layout.sceneChanged(variant);
  }

  on_numbers(message, variant) {
    const { seats, levels, contrast, paths, error, settled } = message;
    variant.numbers = { seats, levels, contrast, paths, error };
    variant.told = message.number;
    variant.stale = !settled;
    variant.settled = settled ? message.number : 0;
    this.layout.numbersChanged();
  }

  on_folds(message, variant) {
    variant.folds = message;
    variant.judged = message.number;
    this.layout.foldsChanged();
  }

  on_sight(message, variant) {
    if (!variant.scene) return;
    this.layout.views[variant.slot].sight(message, variant.scene);
  }

  on_waiting(message, variant) {
    this.layout.views[variant.slot].waiting(true);
    this.traffic[message.slot].done();
  }

  on_light(message, variant) {
    if (!this.layout.views[variant.slot].light(message)) { this.renew(variant.slot); return; } // its shape was lost on the way
    variant.lit = message.number;
    if (message.fine) variant.fine = message.number;
    this.layout.lightChanged(variant.slot);
    this.traffic[message.slot].done();
    clearTimeout(this.idle);
    if (!message.fine) return;
    this.layout.viewBar.makeReady();
    this.idle = setTimeout(() => this.askPrecise(), IDLE_MS);
  }

  on_room(message, variant) { if (variant.scene) this.layout.room(message, variant.scene); }
  on_precise(message) { if (message.seat === this.seat) this.layout.precise(message); }

  on_opened(message) {
    this.begin(message.text, message.name, message.seen);
    say(`Opened ${message.name}`);
  }

  on_files(message) { this.layout.openDialog(message.names); }

  on_saved(message) {
    const { variant, text } = this.saving;
    Object.assign(variant, { name: message.name, seen: message.seen, savedText: text });
    this.layout.message(`Saved as ${message.name}.`, "good");
    this.layout.variantsChanged();
    this.keep();
  }

  on_failed(message) {
    if (message.of === "report") { this.reportEnded(message.text, "bad"); return; }
    if (message.of === "save" && message.exists) { this.layout.replaceDialog(message.text); return; }
    this.layout.message(message.text, "bad");
  }

  on_report_stage(message) { this.layout.reporting(message.text); }

  on_report(message) {
    download(message.name, message.arrays.html.data.slice(), "text/html");
    this.reportEnded(`The report is in your downloads as ${message.name}.`, "good");
  }

  on_fault(message) {
    this.layout.message(message.text, "bad");
    if (message.slot) this.traffic[message.slot].done();
  }

  on_bad(message) { this.layout.message(message.text, "bad"); }

  // ---- over a reload

  /** Soon: what is kept is large, and a drag changes it many times a second. */
  keep() {
    clearTimeout(this.keeping);
    this.keeping = setTimeout(() => this.keepNow(), KEEP_MS);
    this.layout.historyChanged();
  }

  keepNow() {
    clearTimeout(this.keeping);
    this.keeping = null;
    remember({
      a: this.variants.a.kept(), b: this.variants.b.kept(), active: this.active, both: this.both, seat: this.seat, show: this.own ? "letters" : this.show,
      level: this.level, light: this.light, units: unitSystem(),
    });
  }

  restore(kept) {
    this.variants.a.restore(kept.a);
    this.variants.b.restore(kept.b);
    Object.assign(this, { active: kept.active, both: kept.both, seat: kept.seat, show: kept.show, level: kept.level, light: kept.light });
    setUnitSystem(kept.units);
    this.layout.unitsRestored();
  }
}
