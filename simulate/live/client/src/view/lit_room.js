// The room with its light: one mesh for all surfaces, the cloth as one seat sees it, viewers' heads. Shared by all views.

import {
  BufferAttribute, BufferGeometry, ClampToEdgeWrapping, DataTexture, Group, HalfFloatType, LinearFilter, LinearMipmapLinearFilter, Mesh, PlaneGeometry,
  RedFormat, RGBAFormat, SRGBColorSpace, Texture, Vector2, Vector3, Vector4,
} from "three";
import { floats } from "../wire.js";
import { Materials } from "./materials.js";

const HALF_ONE = 0x3c00;
const FIRST = { heads: -2, cloth: -1, surfaces: 0 }; // what hides others is drawn before them

/** A place of the file [right, out, up] in the view's axes: right, up, out. */
export const inView = ([right, out, up]) => new Vector3(right, up, out);

export class LitRoom {
  constructor() {
    this.group = new Group();
    this.tone = { adapted: { value: 10 }, white: { value: 100 }, raw: { value: false }, ambient: { value: 0 } };
    const none = map(new Uint16Array([0]), 1, 1, RedFormat);
    this.cloth = {
      ...this.tone, direct: { value: none }, even: { value: none }, ratio: { value: none }, back: { value: map(new Uint16Array(4), 1, 1, RGBAFormat) },
      shown: { value: null }, directSize: { value: new Vector2(1, 1) }, backSize: { value: new Vector2(1, 1) }, tint: { value: new Vector3(1, 1, 1) },
      level: { value: new Vector3(1, 1, 1) }, black: { value: 0 }, veil: { value: 0 }, average: { value: 1 }, scale: { value: 1 },
      folded: { value: false }, chart: { value: false }, area: { value: new Vector4(-1, 1, -1, 1) },
    };
    const { chart, shown, level, black, veil, average, area } = this.cloth;
    this.beam = {
      ...this.tone, chart, shown, level, black, veil, average, area, atlas: { value: map(new Uint16Array(4), 1, 1, RGBAFormat) }, lens: { value: new Vector3() }, middle: { value: new Vector3() },
      raster: { value: new Vector4() }, sheet: { value: new Vector4() }, peak: { value: 0 }, fallOff: { value: 0 }, far2: { value: 1 },
    };
    this.materials = new Materials(this.beam, this.cloth);
    this.spills = false;
    this.room = null;
    this.screen = null;
    this.heads = [];
    this.panes = [];
    this.textures = new Map();
    this.shape = "";
    this.seat = null;
  }

  /** The maps of a seat ("sight" message) for a scene. */
  setSight(message, scene) {
    const { direct, even, ratio } = message.arrays;
    put(this.cloth.direct, direct.data, direct.shape, RedFormat);
    put(this.cloth.even, even.data, even.shape, RedFormat);
    this.cloth.folded.value = message.ratio !== "";
    if (ratio) put(this.cloth.ratio, ratio.data, ratio.shape, RedFormat);
    this.cloth.directSize.value.set(direct.shape[1], direct.shape[0]);
    this.cloth.tint.value.set(...message.tint);
    this.cloth.black.value = message.black;
    this.cloth.veil.value = message.veil;
    this.cloth.area.value.set(...message.picture);
    const middle = floats(direct.data)[Math.floor(direct.shape[0] / 2) * direct.shape[1] + Math.floor(direct.shape[1] / 2)];
    this.tone.white.value = middle || 1;
    this.seat = { eye: inView(message.eye_m), field: message.field_deg, aspect: message.aspect, index: message.seat };
    this.placeScreen(scene.screen);
    const { width_m: width, height_m: height, border_m: border } = scene.screen;
    this.beam.sheet.value.set(-width / 2 - border, width / 2 + border, -height / 2 - border, height / 2 + border);
    this.showHeads();
  }

  placeScreen(screen) {
    const key = JSON.stringify([screen.width_m, screen.height_m, screen.bottom_m, screen.right_m, screen.gap_to_wall_m]);
    if (this.screenKey === key) return;
    this.screenKey = key;
    if (this.screen) { this.group.remove(this.screen); this.screen.geometry.dispose(); }
    this.screen = this.mesh(new PlaneGeometry(screen.width_m, screen.height_m), "cloth");
    this.screen.position.set(screen.right_m, screen.bottom_m + screen.height_m / 2, screen.gap_to_wall_m + 1e-4);
    this.screen.name = "screen";
    this.group.add(this.screen);
    this.middle = this.screen.position.clone();
  }

  /** The light of the room ("light" message). */
  setLight(message) {
    const { place, corners, surface, at, pull, light, back, heads } = message.arrays, [rows, columns] = light.shape;
    if (place) {
      if (this.room) { this.group.remove(this.room); this.room.geometry.dispose(); }
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(place.data.slice(), 3));
      geometry.setIndex(new BufferAttribute(corners.data.slice(), 1));
      geometry.setAttribute("at", new BufferAttribute(at.data.map((texel, k) => (texel + 0.5) / (k % 2 ? rows : columns)), 2));
      geometry.setAttribute("pull", new BufferAttribute(pull.data.slice(), 2));
      this.surface = surface.data.slice();
      this.room = this.mesh(geometry, "surfaces");
      this.room.frustumCulled = false;
      this.room.name = "room";
      this.group.add(this.room);
      this.shape = message.shape;
      this.painted = "";
    }
    if (!this.room || message.shape !== this.shape) return false;
    put(this.beam.atlas, opaque(light.data), light.shape, RGBAFormat);
    this.paint(message.reflectance);
    put(this.cloth.back, opaque(back.data), back.shape, RGBAFormat);
    this.cloth.backSize.value.set(back.shape[1], back.shape[0]);
    this.cloth.average.value = message.average;
    this.setBeam(message.beam);
    this.setHeads(message, heads);
    this.setPanes(message.arrays);
    return true;
  }

  mesh(geometry, what) {
    const mesh = new Mesh(geometry, this.materials.of(what, { beam: what !== "cloth" && this.spills }));
    mesh.renderOrder = FIRST[what];
    return mesh;
  }

  /** Reflectances of the surfaces by their numbers, onto the corners. */
  paint(reflectance) {
    const painted = JSON.stringify(reflectance);
    if (painted === this.painted) return;
    this.painted = painted;
    const rho = attribute(this.room.geometry, "rho", 3 * this.surface.length);
    for (let i = 0; i < this.surface.length; i += 1) rho.set(reflectance[this.surface[i]], 3 * i);
  }

  /** The projector's own light beside the cloth, or none. */
  setBeam(beam) {
    if (Boolean(beam) !== this.spills) {
      this.spills = Boolean(beam);
      this.room.material = this.materials.of("surfaces", { beam: this.spills });
      for (const each of this.heads) each.material = this.materials.of("heads", { beam: this.spills });
    }
    if (!beam) return;
    this.beam.lens.value.set(...beam.lens);
    this.beam.middle.value.set(...beam.middle);
    this.beam.raster.value.set(...beam.raster);
    this.beam.peak.value = beam.peak_lx;
    this.beam.fallOff.value = beam.fall_off;
    this.beam.far2.value = beam.far2;
  }

  setHeads(message, heads) {
    const count = heads ? message.eyes.length : 0;
    while (this.heads.length > count) {
      const each = this.heads.pop();
      this.group.remove(each);
      each.geometry.dispose();
    }
    if (!count) return;
    const [down, round] = message.head_grid, many = 3 * down * round;
    while (this.heads.length < count) {
      const mesh = this.mesh(headGeometry(), "heads");
      mesh.name = `head ${this.heads.length}`;
      this.heads.push(mesh);
      this.group.add(mesh);
    }
    this.heads.forEach((mesh, k) => {
      mesh.position.copy(inView(message.eyes[k]));
      lightHead(mesh.geometry, down, round, floats(heads.data.subarray(many * k, many * (k + 1))));
    });
    this.showHeads();
  }

  /** Windows that shine, each a small net of corners with its light; none in the dark. */
  setPanes({ panes, shine }) {
    const count = panes ? panes.shape[0] : 0;
    while (this.panes.length > count) {
      const each = this.panes.pop();
      this.group.remove(each);
      each.geometry.dispose();
    }
    for (let k = 0; k < count; k += 1) {
      const many = panes.data.length / count, side = panes.shape[1];
      if (!this.panes[k]) {
        const geometry = new BufferGeometry();
        geometry.setIndex(net(side, side));
        geometry.setAttribute("rho", new BufferAttribute(new Float32Array(many), 3));
        const mesh = new Mesh(geometry, this.materials.of("heads"));
        mesh.name = "window";
        mesh.frustumCulled = false;
        this.panes.push(mesh);
        this.group.add(mesh);
      }
      attribute(this.panes[k].geometry, "position", many).set(panes.data.subarray(many * k, many * (k + 1)));
      floats(shine.data.subarray(many * k, many * (k + 1)), attribute(this.panes[k].geometry, "light", many));
    }
  }

  /** The same things for a view from outside, to be taken anew after every change. */
  fromOutside() {
    const group = this.group.clone();
    group.traverse((each) => {
      if (each.isMesh) Object.assign(each, { material: this.materials.fromOutside(each.material), visible: true });
    });
    return group;
  }

  /** All heads but the viewer's own. */
  showHeads() {
    this.heads.forEach((each, k) => { each.visible = !this.seat || k !== this.seat.index; });
  }

  /** An image as a texture; those of the last images stay with the graphics. */
  texture(image) {
    const { textures } = this, texture = textures.get(image) ?? new Texture(image);
    if (!textures.has(image)) {
      texture.colorSpace = SRGBColorSpace;
      texture.minFilter = LinearMipmapLinearFilter;
      texture.magFilter = LinearFilter;
      texture.wrapS = texture.wrapT = ClampToEdgeWrapping;
      texture.generateMipmaps = true;
      texture.anisotropy = 8;
      texture.needsUpdate = true;
    }
    textures.delete(image);
    textures.set(image, texture);
    if (textures.size > MOST_TEXTURES) {
      const [oldest, dropped] = textures.entries().next().value;
      dropped.dispose();
      textures.delete(oldest);
    }
    return texture;
  }

  /** What the screen shows: an image (sRGB), or an even share of white [1]. */
  setPicture(image, level) {
    this.cloth.chart.value = Boolean(image);
    if (!image) { this.cloth.level.value.set(level, level, level); return; }
    this.cloth.shown.value = this.texture(image);
  }
}

const MOST_TEXTURES = 8; // every chart, and an image of the user's own

const FINE = [25, 37]; // corners of a head as it is drawn, from pole to pole and round

/** Triangles of a net of corners, row by row. */
function net(rows, columns) {
  const corners = [];
  for (let i = 0; i + 1 < rows; i += 1) {
    for (let j = 0; j + 1 < columns; j += 1) {
      const k = i * columns + j;
      corners.push(k, k + columns, k + 1, k + 1, k + columns, k + columns + 1);
    }
  }
  return corners;
}

/** A head in the dark, axes of the view. */
function headGeometry() {
  const radius = 0.11, [rows, columns] = FINE, place = new Float32Array(3 * rows * columns);
  for (let i = 0; i < rows; i += 1) {
    for (let j = 0; j < columns; j += 1) {
      const polar = (Math.PI * i) / (rows - 1), turn = (2 * Math.PI * j) / (columns - 1), k = i * columns + j;
      place.set([Math.sin(polar) * Math.cos(turn), Math.cos(polar), -Math.sin(polar) * Math.sin(turn)].map((each) => radius * each), 3 * k);
    }
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(place, 3));
  geometry.setAttribute("rho", new BufferAttribute(new Float32Array(place.length).fill(0.25), 3));
  geometry.setIndex(net(rows, columns));
  return geometry;
}

/** Light read between the places for which the server gave it. */
function lightHead(geometry, down, round, light) {
  const [rows, columns] = FINE, sent = attribute(geometry, "light", 3 * rows * columns);
  for (let i = 0; i < rows; i += 1) {
    const y = (i * (down - 1)) / (rows - 1), a = Math.min(Math.floor(y), down - 2), t = y - a;
    for (let j = 0; j < columns; j += 1) {
      const x = (j * (round - 1)) / (columns - 1), b = Math.min(Math.floor(x), round - 2), u = x - b, at = 3 * (a * round + b), below = at + 3 * round;
      for (let c = 0; c < 3; c += 1) {
        sent[3 * (i * columns + j) + c] = (1 - t) * ((1 - u) * light[at + c] + u * light[at + 3 + c]) + t * ((1 - u) * light[below + c] + u * light[below + 3 + c]);
      }
    }
  }
}

/** The numbers of an attribute of three a corner, to be written anew. */
function attribute(geometry, name, length) {
  const old = geometry.getAttribute(name);
  if (old?.array.length === length) { old.needsUpdate = true; return old.array; }
  const made = new BufferAttribute(new Float32Array(length), 3);
  geometry.setAttribute(name, made);
  return made.array;
}

/** Three numbers a texel with a fourth, 1: half floats. */
function opaque(data) {
  const out = new Uint16Array((data.length / 3) * 4);
  for (let i = 0, k = 0; i < data.length; i += 3, k += 4) {
    out[k] = data[i];
    out[k + 1] = data[i + 1];
    out[k + 2] = data[i + 2];
    out[k + 3] = HALF_ONE;
  }
  return out;
}

/** A map into a uniform: in place of the old one's numbers where it is of the same size. */
function put(uniform, data, [height, width], format) {
  const { image } = uniform.value;
  if (image.width === width && image.height === height && image.data.length === data.length) {
    image.data.set(data);
    uniform.value.needsUpdate = true;
    return;
  }
  uniform.value.dispose();
  uniform.value = map(data.slice(), width, height, format);
}

function map(data, width, height, format) {
  const texture = new DataTexture(data, width, height, format, HalfFloatType);
  texture.minFilter = texture.magFilter = LinearFilter;
  texture.wrapS = texture.wrapT = ClampToEdgeWrapping;
  texture.needsUpdate = true;
  return texture;
}
