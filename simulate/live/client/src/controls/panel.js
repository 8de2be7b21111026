// The panel of controls: built from a scene, built anew when its things change, only brought up to date while they are the same.

import { fill, h } from "../dom.js";
import { digits, unitSystem } from "../units.js";
import { choiceField, numberField, sliderField } from "./field.js";

const grey = (rgb) => 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
const percent = (share) => `${digits(100 * share, share < 0.1 ? 2 : 3)} %`;
const swatch = (rgb) => `rgb(${rgb.map((x) => Math.round(255 * (x <= 0.0031308 ? 12.92 * x : 1.055 * x ** (1 / 2.4) - 0.055))).join(" ")})`;

export class Panel {
  constructor({ set, add, take, libraries }) {
    Object.assign(this, { set, add, take, libraries });
    this.node = h("div", { class: "controls" });
    this.open = new Set(matchMedia("(min-width: 1100px)").matches ? ["Paint and furniture", "Screen"] : []);
    this.kept = [];
    this.inLibrary = new Set(libraries.finishes.map((finish) => finish.name));
  }

  /** Shows a scene. */
  show(scene) {
    this.scene = scene;
    const things = this.things(scene);
    if (things === this.built) for (const [field, read] of this.kept) field.update(...[read(scene)].flat());
    else this.build(scene);
    this.built = things;
    this.paint();
  }

  /** What decides which controls there are. */
  things({ surfaces, seats, lights, dimmed, room }) {
    const names = (list) => list.map((each) => each.name);
    return JSON.stringify([names(surfaces), names(seats), names(lights), dimmed.map((each) => [each.name, Object.keys(each.lamps), Object.keys(each.windows)]), room.box, unitSystem()]);
  }

  build(scene) {
    this.kept = [];
    fill(this.node, [
      this.group("Paint and furniture", scene.surfaces.map((each, k) => this.surface(each, k))),
      this.group("Screen", this.screen()),
      this.group("Projector", this.projector()),
      this.group("Seats", this.seats()),
      this.group("Other light", this.lights()),
      this.group("Room", this.room()),
    ]);
    this.swatches = [...this.node.querySelectorAll(".swatch")];
  }

  group(title, content) {
    const node = h("details", { class: "group", open: this.open.has(title), ontoggle: () => { if (node.open) this.open.add(title); else this.open.delete(title); } },
      h("summary", { "data-focus": title }, title), h("div", { class: "fields" }, content));
    return node;
  }

  /** A field that shows what read(scene) gives, of every scene to come. */
  keep(field, read) {
    this.kept.push([field, read]);
    return field;
  }

  slider(options, read) { return this.keep(sliderField({ ...options, value: read(this.scene) }), read); }
  number(options, read) { return this.keep(numberField({ ...options, value: read(this.scene) }), read); }

  /** A choice; read gives a name of the list, or a name and the words for what is in no list. */
  choice(options, read) {
    const field = this.keep(choiceField({ ...options, value: null }), read);
    field.update(...[read(this.scene)].flat());
    return field;
  }

  surface(each, index) {
    const { finishes } = this.libraries, suits = (finish) => finish.for.includes(each.kind), here = (scene) => scene.surfaces[index];
    const option = (finish, group) => ({ value: finish.name, text: `${finish.name}, ${percent(grey(finish.reflectance))}`, group });
    const options = [
      ...finishes.filter(suits).map((finish) => option(finish, `Made for a ${each.kind}`)),
      ...finishes.filter((finish) => !suits(finish)).map((finish) => option(finish, "All others")),
    ];
    return h("fieldset", { class: "surface" },
      h("legend", {}, h("span", { class: "swatch" }), each.name),
      this.choice({ label: `Finish of ${each.name}`, hidden: true, key: each.key, options, set: (name) => this.inLibrary.has(name) && this.set(here(this.scene).key, name, null) },
        (scene) => [here(scene).finish, this.inLibrary.has(here(scene).finish) ? null : `own: ${percent(grey(here(scene).reflectance))}`]),
      this.slider({
        label: `Reflectance of ${each.name}`, key: `${each.key} grey`, min: 0, max: 0.95, step: 0.01, text: percent,
        set: (value, gesture) => this.set(here(this.scene).key, Math.round(1000 * value) / 1000, gesture),
      }, (scene) => grey(here(scene).reflectance)));
  }

  screen() {
    const { fabrics, hangs } = this.libraries, names = new Set(fabrics.map((each) => each.name));
    const text = (each) => `${each.name}: gain ${digits(each.gain)}${each.half_gain_deg ? `, half at ${digits(each.half_gain_deg, 2)}°` : ""}`;
    const custom = (change) => {
      const { fabric } = this.scene;
      const next = { gain: fabric.gain, half: fabric.half_gain_deg ?? 60, kind: fabric.kind.includes("retro") ? "retro-reflective" : "angular-reflective", ...change };
      return next.half >= 60 && next.gain <= 1 ? { kind: "diffuse", gain: next.gain } : { kind: next.kind, gain: next.gain, half_gain_deg: next.half };
    };
    return [
      this.choice({
        label: "Fabric", key: "screen.fabric", options: fabrics.map((each) => ({ value: each.name, text: text(each) })),
        set: (name) => names.has(name) && this.set("screen.fabric", name, null),
      }, ({ fabric }) => [fabric.name, fabric.in_library ? null : text(fabric)]),
      this.slider({
        label: "Gain (own fabric)", key: "screen.fabric gain", min: 0.3, max: 4, step: 0.05, text: (x) => digits(x),
        set: (gain, gesture) => this.set("screen.fabric", custom({ gain: Math.round(100 * gain) / 100 }), gesture),
      }, (now) => now.fabric.gain),
      this.slider({
        label: "Half-gain angle (own fabric)", key: "screen.fabric half", min: 10, max: 60, step: 1, text: (x) => `${Math.round(x)}°`,
        set: (half, gesture) => this.set("screen.fabric", custom({ half }), gesture),
      }, (now) => now.fabric.half_gain_deg ?? 60),
      this.choice({ label: "Hang", key: "screen.hang", options: hangs, set: (name) => this.set("screen.hang", name, null) }, (now) => now.screen.hang),
      h("div", { class: "pair" },
        this.length("Picture width", "screen", "width_m"), this.length("Lower edge above floor", "screen", "bottom_m"),
        this.length("Right of the wall's middle", "screen", "right_m"), this.length("Gap to the wall", "screen", "gap_to_wall_m")),
    ];
  }

  projector() {
    const number = (label, name, rest = {}) => this.number(
      { label, key: `projector.${name}`, set: (x) => this.set(`projector.${name}`, x, null), ...rest }, (now) => now.projector[name],
    );
    return [
      this.slider({
        label: "Light output, lm", key: "projector.light_output_lm", min: 100, max: 20000, log: true, text: (x) => `${Math.round(x / 10) * 10} lm`,
        set: (x, gesture) => this.set("projector.light_output_lm", Math.round(x / 10) * 10, gesture),
      }, (now) => now.projector.light_output_lm),
      h("div", { class: "pair" },
        number("Share of it in use", "in_use", { min: 0.05, max: 1, step: 0.05, empty: "not said" }),
        number("Native contrast", "native_contrast", { min: 1.1, unit: ": 1" }),
        number("Its own checkerboard", "checkerboard_contrast", { min: 1.1, unit: ": 1", empty: "not said" })),
      this.place("Lens", "projector.lens_m", (now) => now.projector.lens_m),
    ];
  }

  length(label, table, name) {
    const key = `${table}.${name}`;
    return this.number({ label, key, kind: "length", set: (x) => this.set(key, x, null) }, (now) => now[table][name]);
  }

  place(name, key, read) {
    return h("fieldset", { class: "place" }, h("legend", {}, name),
      ["right", "out", "up"].map((axis, k) => this.number({
        label: axis, key: `${key} ${axis}`, kind: "length", set: (x) => this.set(key, read(this.scene).map((each, i) => (i === k ? x : each)), null),
      }, (now) => read(now)[k])));
  }

  seats() {
    const { scene } = this;
    return [
      ...scene.seats.map((seat, k) => h("div", { class: "entry" }, this.place(seat.name, `${seat.key}.eye_m`, (now) => now.seats[k].eye_m),
        scene.seats.length > 1 ? h("button", { class: "small", "aria-label": `Take out seat ${seat.name}`, onclick: () => this.take("seat", seat.name) }, "Take out") : null)),
      h("button", { "data-focus": "add seat", onclick: () => this.addSeat() }, "Add a seat"),
    ];
  }

  addSeat() {
    const { scene } = this, names = new Set(scene.seats.map((seat) => seat.name)), last = scene.seats.at(-1).eye_m;
    let k = scene.seats.length + 1;
    while (names.has(`seat ${k}`)) k += 1;
    this.add("seat", { name: `seat ${k}`, eye_m: this.free(scene, last) });
  }

  /** A place beside the last seat, right or left, else in the rows behind and before it: in the room, and nobody sits there. */
  free({ room, seats }, [right, out, up]) {
    const within = (x, [low, high]) => x > low + 0.2 && x < high - 0.2;
    const clear = ([x, y]) => within(x, room.right_m) && within(y, [0, room.depth_m])
      && seats.every(({ eye_m }) => Math.hypot(eye_m[0] - x, eye_m[1] - y) > 0.5);
    const along = [1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6], cm = (x) => Math.round(100 * x) / 100;
    const places = [0, 1, -1, 2, -2].flatMap((row) => (row ? [0, ...along] : along).map((step) => [cm(right + 0.65 * step), cm(out + row), up]));
    return places.find(clear) ?? places[1];
  }

  lights() {
    const { scene } = this, names = new Set(["dark", ...[...scene.lights, ...scene.dimmed].map((light) => light.name)]);
    let k = names.size;
    while (names.has(`lamp ${k}`)) k += 1;
    return [
      h("p", { class: "hint" }, "Vertical illuminance at the screen with the projector off."),
      ...scene.lights.map((light, index) => h("div", { class: "entry" },
        this.slider({
          label: light.name, key: `${light.key}.screen_lx`, min: 0.1, max: 500, log: true, text: (x) => `${digits(x, 2)} lx`,
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
      label: name, key: `${state.key}.${part} ${name}`, min: 0.01, max: 1, step: 0.01, text: percent,
      set: (x, gesture) => this.set(`${state.key}.${part}`, { ...this.scene.dimmed[index][part], [name]: Math.round(100 * x) / 100 }, gesture),
    }, (now) => Math.max(0.01, now.dimmed[index]?.[part][name] ?? 0));
    return h("fieldset", { class: "surface" }, h("legend", {}, state.name),
      Object.keys(state.lamps).map((name) => one("lamps", name)), Object.keys(state.windows).map((name) => one("windows", name)));
  }

  room() {
    if (!this.scene.room.box) return [h("p", { class: "hint" }, "This room has a shape of its own: change it in the scene's text.")];
    return [h("div", { class: "pair" }, this.length("Width", "room", "width_m"), this.length("Depth", "room", "depth_m"), this.length("Height", "room", "height_m"))];
  }

  /** Colours of the swatches, by script since the page allows no styles in its text. */
  paint() {
    this.swatches.forEach((node, k) => {
      const colour = swatch(this.scene.surfaces[k].reflectance);
      if (node.dataset.colour !== colour) { node.dataset.colour = colour; node.style.background = colour; }
    });
  }
}
