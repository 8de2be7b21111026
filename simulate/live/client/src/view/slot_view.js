// One variant's seat view with what stands over it: the precise picture, the word that light is being worked out.

import { h } from "../dom.js";
import { LitRoom } from "./lit_room.js";
import { PreciseView } from "./precise_view.js";
import { SeatView } from "./seat_view.js";

export class SlotView {
  constructor(slot) {
    this.slot = slot;
    this.room = new LitRoom();
    this.canvas = h("canvas", { class: "seat-canvas", role: "img", "aria-label": "What the seat sees" });
    this.over = h("canvas", { class: "precise-canvas", hidden: true, "aria-hidden": "true" });
    this.badge = h("span", { class: "badge" });
    this.veil = h("span", { class: "veil" }, "The light is being worked out …");
    this.node = h("div", { class: "seat-frame" }, this.canvas, this.over, this.badge, this.veil);
    this.view = new SeatView(this.canvas, this.room);
    this.preciseView = new PreciseView(this.over, this.room.tone);
    this.have = {};
  }

  size() { return [Math.min(1280, Math.round(this.canvas.clientWidth)), Math.min(720, Math.round(this.canvas.clientHeight))]; }

  /** The seat's maps; drawn when its light comes, or at once where that takes long. */
  sight(message, scene) {
    this.room.setSight(message, scene);
    this.have.sight = message.sight;
    if (message.ratio) this.have.ratio = message.ratio;
  }

  light(message) {
    this.waiting(false);
    if (!this.room.setLight(message)) { delete this.have.shape; return false; }
    this.have.shape = message.shape;
    this.view.draw();
    return true;
  }

  /** An image on the graphics before the screen shows it. */
  prepare(image) { this.view.renderer.initTexture(this.room.texture(image)); }

  waiting(yes) {
    this.veil.hidden = !yes;
    if (yes) this.view.draw();
    this.node.classList.toggle("stale", yes);
  }

  precise(message) {
    this.preciseView.show(message.arrays.cd_m2);
    this.over.hidden = false;
    this.badge.textContent = "precise";
  }

  noPrecise() {
    this.over.hidden = true;
    this.badge.textContent = "";
  }

  draw() {
    this.view.draw();
    if (!this.over.hidden) this.preciseView.draw();
  }
}
