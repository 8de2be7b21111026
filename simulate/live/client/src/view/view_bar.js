// What stands over and under the seat's view: which seat, what the screen shows, which light, how the eye is adapted.

import { fill, h } from "../dom.js";
import { choiceField, sliderField } from "../controls/field.js";
import { digits, lightUnit, toLight } from "../units.js";

const USUAL = 0.1; // of white: between the screen and a dark room, as pictures on disk have it
const idle = (act) => (window.requestIdleCallback ? requestIdleCallback(act) : setTimeout(act, 200)); // not every browser has it
const NAMES = { own: "an image of your own" };

export class ViewBar {
  constructor(app, layout) {
    this.app = app;
    this.layout = layout;
    this.share = USUAL;
    this.images = new Map();
    this.node = h("div", { class: "view-bar" });
    this.said = h("p", { class: "hint tone-words" });
    this.words = h("div", { class: "view-words" }, sliderField({
      label: "Eye adapted to", key: "adaptation", value: USUAL, min: 0.001, max: 1, log: true, text: (x) => `${digits(100 * x, 2)} % of white`,
      set: (x) => { this.share = x; this.layout.tone(); },
    }), this.said);
    this.file = h("input", { type: "file", accept: "image/*", class: "unseen", tabIndex: -1, "aria-hidden": "true", onchange: () => { if (this.file.files[0]) app.setOwn(this.file.files[0]); this.file.value = ""; } });
  }

  hello(libraries) { this.libraries = libraries; }
  adapted(white) { return this.share * white; }

  show() {
    const { app } = this, { scene } = app.variant;
    if (!scene || !this.libraries) return;
    const states = [...scene.lights, ...scene.dimmed];
    const key = JSON.stringify([scene.seats.map((seat) => seat.name), states.map((light) => light.name), app.seat, app.show, app.light, Boolean(app.own)]);
    if (key === this.key) return;
    this.key = key;
    fill(this.node,
      choiceField({
        label: "Seat", key: "bar seat", value: String(app.seat), options: scene.seats.map((seat, k) => ({ value: String(k), text: `${k + 1}. ${seat.name}` })), set: (k) => app.chooseSeat(Number(k)),
      }),
      choiceField({
        label: "On the screen", key: "bar show", value: app.show,
        options: [...this.libraries.shows.map((name) => ({ value: name, text: name.endsWith("%") ? `even ${name}` : name })), { value: "own", text: NAMES.own }],
        set: (name) => { if (name === "own") this.file.click(); else app.setShow(name); },
      }),
      choiceField({
        label: "Light", key: "bar light", value: app.light ?? "", options: [{ value: "", text: "dark" }, ...states.map((light) => ({ value: light.name, text: light.name }))], set: (name) => app.setLight(name),
      }),
      this.file);
  }

  /** The chart or image onto the screens. */
  async picture() {
    const { app } = this, { show } = app;
    const put = (image, level) => {
      for (const [slot, view] of Object.entries(this.layout.views)) {
        view.room.setPicture(image, level);
        if (!app.traffic[slot].under) view.view.draw(); // else it is drawn once, with its light
      }
      this.layout.roomPanel.draw();
    };
    if (app.own) { put(app.own.canvas, 1); return; }
    if (show.endsWith("%")) { put(null, Number(show.slice(0, -1)) / 100); return; }
    const aspect = this.aspect();
    const image = await this.chart(show, aspect);
    if (app.show === show && image) put(image, 1);
  }

  aspect() {
    const [left, right, bottom, top] = this.app.variant.scene?.picture ?? [0, 16, 0, 9];
    this.drawnAspect = ((right - left) / (top - bottom)).toFixed(3);
    return this.drawnAspect;
  }

  /** All charts for the screen in use, one after the other while the page has nothing else to do: choosing one then shows it at once. */
  makeReady() {
    const names = this.libraries.shows.filter((name) => !name.endsWith("%")), aspect = this.aspect();
    if (aspect === this.readyFor || this.app.own) return;
    this.readyFor = aspect;
    const next = () => idle(async () => {
      const name = names.shift();
      if (name === undefined || this.readyFor !== aspect) return;
      const image = await this.chart(name, aspect);
      if (image) this.layout.views[this.app.active].prepare(image);
      next();
    });
    next();
  }

  async chart(name, aspect) {
    const key = `chart/${name}.png?aspect=${aspect}`;
    if (!this.images.has(key)) {
      const image = new Image();
      image.src = key;
      this.images.set(key, image.decode().then(() => image, () => null));
    }
    return this.images.get(key);
  }

  /** What the view is, in words. */
  tell() {
    const { app } = this, { scene } = app.variant;
    if (!scene) return;
    if (app.variant.scene && this.drawnAspect && !app.own && !app.show.endsWith("%")) {
      const before = this.drawnAspect;
      if (this.aspect() !== before) this.picture();
    }
    const { tone } = this.layout.views[app.active].room, even = scene.lights.find((each) => each.name === app.light);
    const traced = scene.dimmed.find((each) => each.name === app.light);
    const state = even ? `${even.name}, ${digits(even.screen_lx, 2)} lx taken as even on every surface`
      : traced ? `${traced.name}, the light of its lamps and windows followed through the room` : "room dark but for the picture";
    this.said.textContent = `${scene.seats[app.seat]?.name ?? ""}: ${app.own ? app.own.name : app.show} on the screen, ${state}. Photographic tone curve (Reinhard et al. 2002): ${digits(toLight(tone.adapted.value))} ${lightUnit()} is shown as 18 % grey, white at the middle by the projector's own light is ${digits(toLight(tone.white.value))} ${lightUnit()}.`;
    for (const each of app.shown) this.layout.views[each.slot].canvas.setAttribute("aria-label", `What ${scene.seats[app.seat]?.name ?? "the seat"} sees${app.both ? ` in variant ${each.slot.toUpperCase()}` : ""}: ${app.own ? app.own.name : app.show} on the screen, ${state}`);
  }
}
