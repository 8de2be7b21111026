// The page's frame: header, views, figures, controls; hands every change to the part that shows it.

import { Header } from "./header.js";
import { confirmDialog, newRoomDialog, openDialog, saveDialog } from "./dialogs.js";
import { download, fill, h, say } from "./dom.js";
import { markField } from "./controls/field.js";
import { Panel } from "./controls/panel.js";
import { Figures } from "./figures.js";
import { Plan } from "./plan.js";
import { SceneText } from "./scene_text.js";
import { faultText } from "./units.js";
import { SlotView } from "./view/slot_view.js";
import { RoomPanel } from "./view/room_panel.js";
import { ViewBar } from "./view/view_bar.js";

const MESSAGE_MS = 9000, FAULTS = "faults";

/** The light state of a scene by its name. */
export const stateOf = (scene, name) => [...scene.lights, ...scene.dimmed].find((each) => each.name === name);

export class Layout {
  constructor(root, app) {
    this.app = app;
    this.views = { a: new SlotView("a"), b: new SlotView("b") };
    this.header = new Header(app, this);
    this.viewBar = new ViewBar(app, this);
    this.figures = new Figures(app);
    this.plan = new Plan({ choose: (index) => app.chooseSeat(index), move: (key, place, gesture) => app.set(key, place, gesture) });
    this.roomPanel = new RoomPanel();
    this.text = new SceneText(app);
    this.frames = h("div", { class: "frames" });
    this.note = h("div", { class: "note", role: "status", hidden: true });
    this.errors = h("div", { id: FAULTS, class: "errors", role: "alert", hidden: true });
    this.controls = h("aside", { class: "side", "aria-label": "Controls" });
    this.built = false;
    fill(root, this.header.node, this.note, this.errors, h("main", { class: "grid" },
      h("section", { class: "sight-panel", "aria-label": "What the seat sees" }, this.viewBar.node, h("div", { class: "stick" }, this.frames, this.figures.strip), this.viewBar.words),
      this.controls,
      h("section", { class: "room-panels", "aria-label": "The room" }, this.roomPanel.node, h("div", { class: "card" }, h("h2", {}, "Plan"), this.plan.node)),
      this.figures.node,
      this.text.node));
  }

  hello(message) {
    const { app } = this;
    if (!this.panel) {
      this.panel = new Panel({
        libraries: message.libraries, set: (key, value, gesture) => app.set(key, value, gesture), add: (list, entry) => app.add(list, entry), take: (list, name) => app.take(list, name),
      });
      fill(this.controls, h("h2", { class: "unseen" }, "Controls"), this.panel.node);
    }
    this.viewBar.hello(message.libraries);
    for (const view of Object.values(this.views)) view.have = {};
    this.roomPanel.key = null;
  }

  connection(word) {
    this.header.connection(word);
    document.body.classList.toggle("lost", word === "lost");
  }

  variantsChanged() {
    const { app } = this;
    fill(this.frames, app.shown.map(({ slot }) => this.views[slot].node));
    this.frames.classList.toggle("two", app.both);
    for (const { slot } of app.shown) {
      this.views[slot].node.dataset.slot = app.both ? slot.toUpperCase() : "";
      this.views[slot].view.draw();
    }
    this.header.show();
    this.sceneChanged();
    this.numbersChanged();
    this.textChanged();
  }

  sceneChanged() {
    const { variant, seat } = this.app;
    if (!variant.scene || !this.panel) return;
    this.panel.show(variant.scene);
    this.plan.show(variant.scene, seat);
    this.roomPanel.show(variant.scene);
    this.header.show();
    this.viewBar.show();
    this.figures.fit();
    this.figures.folds();
    this.text.show();
    this.errorsChanged();
    document.title = `${variant.scene.title} – halfgain`;
  }

  numbersChanged() {
    this.figures.show();
  }

  foldsChanged() { this.figures.folds(); }

  lightChanged(slot) {
    if (slot === this.app.active) this.roomPanel.setLit(this.views[slot].room);
    this.tone();
  }

  room(message, scene) {
    this.views[this.app.active].have.room = message.room;
    this.roomPanel.setRoom(message.arrays.glb.data, scene);
  }

  precise(message) { this.views[message.slot].precise(message); }
  noPrecise() { for (const view of Object.values(this.views)) view.noPrecise(); }

  pictureChosen() {
    this.viewBar.show();
    this.viewBar.picture();
  }

  seatChosen() {
    const { variant, seat } = this.app;
    if (variant.scene) this.plan.show(variant.scene, seat);
    this.viewBar.show();
    this.figures.show();
    say(`Looking from ${variant.scene?.seats[seat]?.name ?? "another seat"}`);
  }

  /** Tone curve and light state to all views, and drawn anew. */
  tone() {
    const { app } = this;
    for (const { slot, scene } of app.shown) {
      const view = this.views[slot], light = scene && stateOf(scene, app.light);
      view.room.tone.ambient.value = light?.screen_lx ?? 0;
      view.room.tone.adapted.value = this.viewBar.adapted(view.room.tone.white.value);
      view.draw();
    }
    this.viewBar.tell();
    this.roomPanel.draw();
  }

  draw() { this.tone(); this.viewBar.show(); this.figures.show(); }
  /** Its light is on the way. */
  lightChosen() { this.viewBar.show(); this.figures.show(); }
  textChanged() { this.text.take(); }
  historyChanged() { this.header.show(); }
  unitsRestored() { this.header.units(); }
  unitsChanged() { this.sceneChanged(); this.numbersChanged(); this.viewBar.tell(); }

  errorsChanged() {
    const { errors, refused } = this.app.variant;
    this.errors.hidden = errors.length === 0;
    fill(this.errors, errors.length ? [h("p", {}, "That cannot be; the room stays as it was."), h("ul", {}, errors.map((each) => h("li", {}, faultText(each))))] : []);
    this.text.errors(errors);
    for (const node of document.querySelectorAll("[data-key]")) {
      const { key } = node.dataset;
      markField(node, errors.length > 0 && refused.some((each) => key === each || key.startsWith(`${each} `)), FAULTS);
    }
    if (this.panel?.scene && errors.length) this.panel.show(this.app.variant.scene);
  }

  message(text, kind) {
    clearTimeout(this.noteTimer);
    this.note.hidden = false;
    this.note.className = `note ${kind}`;
    fill(this.note, h("p", {}, text), h("button", { class: "small", onclick: () => { this.note.hidden = true; } }, "Close"));
    if (kind === "good") this.noteTimer = setTimeout(() => { this.note.hidden = true; }, MESSAGE_MS);
  }

  reporting(stage) {
    if (stage === "ended") { this.note.hidden = true; return; }
    clearTimeout(this.noteTimer);
    this.note.hidden = false;
    this.note.className = "note";
    const words = stage === "begun" ? "The report is being made; it takes a minute or two." : `The report is being made: ${stage}.`;
    fill(this.note, h("p", {}, words), h("button", { class: "small", "data-focus": "stop report", onclick: () => this.app.stopReport() }, "Stop it"));
  }

  // ---- dialogs

  newRoom() { newRoomDialog((form) => this.app.newRoom(form)); }
  openDialog(names) {
    const { app } = this;
    openDialog({ names, folder: app.folder, scenes: app.libraries.scenes, open: (name, library) => app.openFile(name, library), read: (file) => app.readFile(file) });
  }
  saveDialog() {
    const { app } = this;
    saveDialog({ name: app.variant.name, folder: app.folder, save: (name) => app.save(name), fetch: (name) => download(name, app.variant.text, "application/toml") });
  }
  replaceDialog(words) {
    confirmDialog("Replace the file?", `${words}.`, "Replace it", () => this.app.saveAnyway());
  }
}
