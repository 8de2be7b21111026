// The panel of controls: built from a scene, built anew when its things change, only brought up to date while they are the same.

import { fill, h } from "../dom.js";
import { digits, unitSystem } from "../units.js";
import { choiceField, numberField, sliderField } from "./field.js";

const OWN = "own";
const grey = (rgb) => 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
const percent = (share) => `${digits(100 * share, share < 0.1 ? 2 : 3)} %`;
const swatch = (rgb) => `rgb(${rgb.map((x) => Math.round(255 * (x <= 0.0031308 ? 12.92 * x : 1.055 * x ** (1 / 2.4) - 0.055))).join(" ")})`;

export class Panel {
  constructor({ set, add, take, libraries }) {
    Object.assign(this, { set, add, take, libraries });
    this.node = h("div", { class: "controls" });
    this.open = new Set(matchMedia("(min-width: 1100px)").matches ? ["Paint and furniture", "Screen"] : []);
    this.sliders = [];
  }

  /** Shows a scene; the element under the user's hand is left alone. */
  show(scene) {
    const busy = this.node.querySelector("[data-dragging]") !== null;
    if (busy && this.sameThings(scene)) { this.sliders.forEach(([field, read]) => field.update(read(scene))); this.scene = scene; return; }
    this.scene = scene;
    this.sliders = [];
    fill(this.node, [
      this.group("Paint and furniture", scene.surfaces.map((each) => this.surface(each))),
      this.group("Screen", this.screen(scene)),
      this.group("Projector", this.projector(scene)),
      this.group("Seats", this.seats(scene)),
      this.group("Other light", this.lights(scene)),
      this.group("Room", this.room(scene)),
    ]);
    this.paint();
  }

  sameThings(scene) {
    const names = (each) => JSON.stringify([each.surfaces.map((s) => s.name), each.seats.map((s) => s.name), each.lights.map((l) => l.name), each.dimmed.map((l) => [l.name, Object.keys(l.lamps), Object.keys(l.windows)]), each.screen.folds]);
    return this.scene && names(scene) === names(this.scene) && this.system === unitSystem();
  }

  group(title, content) {
    this.system = unitSystem();
    const node = h("details", { class: "group", open: this.open.has(title), ontoggle: () => { if (node.open) this.open.add(title); else this.open.delete(title); } },
      h("summary", { "data-focus": title }, title), h("div", { class: "fields" }, content));
    return node;
  }

  slider(options, read) {
    const field = sliderField(options);
    this.sliders.push([field, read]);
    return field;
  }

  surface(each) {
    const { finishes } = this.libraries, inLibrary = finishes.some((finish) => finish.name === each.finish);
    const suits = (finish) => finish.for.includes(each.kind);
    const option = (finish, group) => ({ value: finish.name, text: `${finish.name}, ${percent(grey(finish.reflectance))}`, group });
    const options = [
      ...(inLibrary ? [] : [{ value: OWN, text: `own: ${percent(grey(each.reflectance))}` }]),
      ...finishes.filter(suits).map((finish) => option(finish, `Made for a ${each.kind}`)),
      ...finishes.filter((finish) => !suits(finish)).map((finish) => option(finish, "All others")),
    ];
    const index = this.scene.surfaces.indexOf(each);
    return h("fieldset", { class: "surface" },
      h("legend", {}, h("span", { class: "swatch" }), each.name),
      choiceField({
        label: `Finish of ${each.name}`, hidden: true, key: each.key, value: inLibrary ? each.finish : OWN, options, set: (name) => name !== OWN && this.set(each.key, name, null),
      }),
      this.slider({
        label: `Reflectance of ${each.name}`, key: `${each.key} grey`, value: grey(each.reflectance), min: 0, max: 0.95, step: 0.01, text: percent,
        set: (value, gesture) => this.set(each.key, Math.round(1000 * value) / 1000, gesture),
      }, (scene) => grey(scene.surfaces[index].reflectance)));
  }

  screen(scene) {
    const { screen, fabric } = scene, { fabrics, hangs } = this.libraries;
    const text = (each) => `${each.name}: gain ${digits(each.gain)}${each.half_gain_deg ? `, half at ${digits(each.half_gain_deg, 2)}°` : ""}`;
    const custom = (change) => {
      const next = { gain: fabric.gain, half: fabric.half_gain_deg ?? 60, kind: fabric.kind.includes("retro") ? "retro-reflective" : "angular-reflective", ...change };
      return next.half >= 60 && next.gain <= 1 ? { kind: "diffuse", gain: next.gain } : { kind: next.kind, gain: next.gain, half_gain_deg: next.half };
    };
    return [
      choiceField({
        label: "Fabric", key: "screen.fabric", value: fabric.in_library ? fabric.name : OWN,
        options: [...(fabric.in_library ? [] : [{ value: OWN, text: text(fabric) }]), ...fabrics.map((each) => ({ value: each.name, text: text(each) }))],
        set: (name) => name !== OWN && this.set("screen.fabric", name, null),
      }),
      this.slider({
        label: "Gain (own fabric)", key: "screen.fabric gain", value: fabric.gain, min: 0.3, max: 4, step: 0.05, text: (x) => digits(x),
        set: (gain, gesture) => this.set("screen.fabric", custom({ gain: Math.round(100 * gain) / 100 }), gesture),
      }, (now) => now.fabric.gain),
      this.slider({
        label: "Half-gain angle (own fabric)", key: "screen.fabric half", value: fabric.half_gain_deg ?? 60, min: 10, max: 60, step: 1, text: (x) => `${Math.round(x)}°`,
        set: (half, gesture) => this.set("screen.fabric", custom({ half }), gesture),
      }, (now) => now.fabric.half_gain_deg ?? 60),
      choiceField({ label: "Hang", key: "screen.hang", value: screen.hang, options: hangs, set: (name) => this.set("screen.hang", name, null) }),
      h("div", { class: "pair" },
        this.length("Picture width", "screen.width_m", screen.width_m), this.length("Lower edge above floor", "screen.bottom_m", screen.bottom_m),
        this.length("Right of the wall's middle", "screen.right_m", screen.right_m), this.length("Gap to the wall", "screen.gap_to_wall_m", screen.gap_to_wall_m)),
    ];
  }

  projector(scene) {
    const { projector } = scene, number = (label, key, value, rest = {}) => numberField({ label, key, value, set: (x) => this.set(key, x, null), ...rest });
    return [
      this.slider({
        label: "Light output, lm", key: "projector.light_output_lm", value: projector.light_output_lm, min: 100, max: 20000, log: true, text: (x) => `${Math.round(x / 10) * 10} lm`,
        set: (x, gesture) => this.set("projector.light_output_lm", Math.round(x / 10) * 10, gesture),
      }, (now) => now.projector.light_output_lm),
      h("div", { class: "pair" },
        number("Share of it in use", "projector.in_use", projector.in_use, { min: 0.05, max: 1, step: 0.05, empty: "not said" }),
        number("Native contrast", "projector.native_contrast", projector.native_contrast, { min: 1.1, unit: ": 1" }),
        number("Its own checkerboard", "projector.checkerboard_contrast", projector.checkerboard_contrast, { min: 1.1, unit: ": 1", empty: "not said" })),
      this.place("Lens", "projector.lens_m", projector.lens_m),
    ];
  }

  length(label, key, value) {
    return numberField({ label, key, value, kind: "length", set: (x) => this.set(key, x, null) });
  }

  place(name, key, place) {
    return h("fieldset", { class: "place" }, h("legend", {}, name),
      ["right", "out", "up"].map((axis, k) => numberField({
        label: axis, key: `${key} ${axis}`, value: place[k], kind: "length", set: (x) => this.set(key, place.map((each, i) => (i === k ? x : each)), null),
      })));
  }

  seats(scene) {
    const names = new Set(scene.seats.map((seat) => seat.name));
    let k = scene.seats.length + 1;
    while (names.has(`seat ${k}`)) k += 1;
    const last = scene.seats.at(-1).eye_m;
    return [
      ...scene.seats.map((seat) => h("div", { class: "entry" }, this.place(seat.name, `${seat.key}.eye_m`, seat.eye_m),
        scene.seats.length > 1 ? h("button", { class: "small", "aria-label": `Take out seat ${seat.name}`, onclick: () => this.take("seat", seat.name) }, "Take out") : null)),
      h("button", {
        "data-focus": "add seat", onclick: () => this.add("seat", { name: `seat ${k}`, eye_m: [this.free(scene, last), last[1], last[2]] }),
      }, "Add a seat"),
    ];
  }

  /** A place beside the last seat that is still in the room. */
  free(scene, last) {
    const right = last[0] + 0.65;
    return Math.round(100 * (right < scene.room.width_m / 2 - 0.2 ? right : last[0] - 0.65)) / 100;
  }

  lights(scene) {
    const names = new Set(["dark", ...[...scene.lights, ...scene.dimmed].map((light) => light.name)]);
    let k = names.size;
    while (names.has(`lamp ${k}`)) k += 1;
    return [
      h("p", { class: "hint" }, "Vertical illuminance at the screen with the projector off."),
      ...scene.lights.map((light, index) => h("div", { class: "entry" },
        this.slider({
          label: light.name, key: `${light.key}.screen_lx`, value: Math.max(0.1, light.screen_lx), min: 0.1, max: 500, log: true, text: (x) => `${digits(x, 2)} lx`,
          set: (x, gesture) => this.set(`${light.key}.screen_lx`, Number(x.toPrecision(2)), gesture),
        }, (now) => Math.max(0.1, now.lights[index].screen_lx)),
        h("button", { class: "small", "aria-label": `Take out ${light.name}`, onclick: () => this.take("light", light.name) }, "Take out"))),
      ...scene.dimmed.map((state, index) => this.dimmers(state, index)),
      h("button", { "data-focus": "add light", onclick: () => this.add("light", { name: `lamp ${k}`, screen_lx: 10 }) }, "Add other light"),
    ];
  }

  /** Lamps and windows of a light state, each with its dimmer. */
  dimmers(state, index) {
    const one = (part, name) => this.slider({
      label: name, key: `${state.key}.${part} ${name}`, value: Math.max(0.01, state[part][name]), min: 0.01, max: 1, step: 0.01, text: percent,
      set: (x, gesture) => this.set(`${state.key}.${part}`, { ...this.scene.dimmed[index][part], [name]: Math.round(100 * x) / 100 }, gesture),
    }, (now) => Math.max(0.01, now.dimmed[index]?.[part][name] ?? 0));
    return h("fieldset", { class: "surface" }, h("legend", {}, state.name),
      Object.keys(state.lamps).map((name) => one("lamps", name)), Object.keys(state.windows).map((name) => one("windows", name)));
  }

  room(scene) {
    if (!scene.room.box) return [h("p", { class: "hint" }, "This room has a shape of its own: change it in the scene's text.")];
    return [h("div", { class: "pair" }, this.length("Width", "room.width_m", scene.room.width_m), this.length("Depth", "room.depth_m", scene.room.depth_m),
      this.length("Height", "room.height_m", scene.room.height_m))];
  }

  /** Colours of the swatches, by script since the page allows no styles in its text. */
  paint() {
    this.node.querySelectorAll(".swatch").forEach((node, k) => { node.style.background = swatch(this.scene.surfaces[k].reflectance); });
  }
}
