// The room with its light: one mesh for all surfaces, the cloth as one seat sees it, viewers' heads. Shared by all views.

import {
  BufferAttribute, BufferGeometry, ClampToEdgeWrapping, DataTexture, DoubleSide, FrontSide, Group, HalfFloatType, LinearFilter, LinearMipmapLinearFilter, Mesh,
  PlaneGeometry, RedFormat, RGBAFormat, ShaderMaterial, SRGBColorSpace, Texture, Vector2, Vector3, Vector4,
} from "three";
import { floats } from "../wire.js";
import { CLOTH_FRAGMENT, CLOTH_VERTEX, ROOM_FRAGMENT, ROOM_VERTEX } from "./shaders.js";

const HALF_ONE = 0x3c00;

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
      ...this.tone, chart, shown, level, black, veil, average, area, spills: { value: false }, lens: { value: new Vector3() }, middle: { value: new Vector3() },
      raster: { value: new Vector4() }, sheet: { value: new Vector4() }, peak: { value: 0 }, fallOff: { value: 0 }, far2: { value: 1 },
    };
    this.roomMaterial = new ShaderMaterial({ vertexShader: ROOM_VERTEX, fragmentShader: ROOM_FRAGMENT, uniforms: this.beam, side: DoubleSide });
    this.clothMaterial = new ShaderMaterial({
      vertexShader: CLOTH_VERTEX, fragmentShader: CLOTH_FRAGMENT, uniforms: this.cloth, side: DoubleSide,
    });
    const outside = { side: FrontSide }; // from outside a room one looks through its walls
    this.outsideMaterials = new Map([
      [this.roomMaterial, Object.assign(this.roomMaterial.clone(), outside, { uniforms: this.beam })],
      [this.clothMaterial, Object.assign(this.clothMaterial.clone(), outside, { uniforms: this.cloth })],
    ]);
    this.room = null;
    this.screen = null;
    this.heads = [];
    this.shape = "";
    this.seat = null;
  }

  /** The maps of a seat ("sight" message) for a scene. */
  setSight(message, scene) {
    const { direct, even, ratio } = message.arrays;
    const put = (uniform, array) => {
      uniform.value.dispose();
      uniform.value = map(array.data.slice(), array.shape[1], array.shape[0], RedFormat);
    };
    put(this.cloth.direct, direct);
    put(this.cloth.even, even);
    this.cloth.folded.value = Boolean(ratio);
    if (ratio) put(this.cloth.ratio, ratio);
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
    this.screen = new Mesh(new PlaneGeometry(screen.width_m, screen.height_m), this.clothMaterial);
    this.screen.position.set(screen.right_m, screen.bottom_m + screen.height_m / 2, screen.gap_to_wall_m + 1e-4);
    this.screen.name = "screen";
    this.group.add(this.screen);
    this.middle = this.screen.position.clone();
  }

  /** The light of the room ("light" message). */
  setLight(message) {
    const { place, corners, surface, light, back, heads } = message.arrays;
    if (place) {
      if (this.room) { this.group.remove(this.room); this.room.geometry.dispose(); }
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(place.data.slice(), 3));
      geometry.setIndex(new BufferAttribute(corners.data.slice(), 1));
      this.surface = surface.data.slice();
      this.room = new Mesh(geometry, this.roomMaterial);
      this.room.frustumCulled = false;
      this.room.name = "room";
      this.group.add(this.room);
      this.shape = message.shape;
    }
    if (!this.room || message.shape !== this.shape) return false;
    const geometry = this.room.geometry, rho = new Float32Array(3 * this.surface.length);
    for (let i = 0; i < this.surface.length; i += 1) rho.set(message.reflectance[this.surface[i]], 3 * i);
    geometry.setAttribute("light", new BufferAttribute(floats(light.data), 3));
    geometry.setAttribute("rho", new BufferAttribute(rho, 3));
    const wide = new Uint16Array((back.data.length / 3) * 4);
    for (let i = 0; i < back.data.length / 3; i += 1) wide.set([back.data[3 * i], back.data[3 * i + 1], back.data[3 * i + 2], HALF_ONE], 4 * i);
    this.cloth.back.value.dispose();
    this.cloth.back.value = map(wide, back.shape[1], back.shape[0], RGBAFormat);
    this.cloth.backSize.value.set(back.shape[1], back.shape[0]);
    this.cloth.average.value = message.average;
    this.setBeam(message.beam);
    this.setHeads(message, heads);
    return true;
  }

  /** The projector's own light beside the cloth, or none. */
  setBeam(beam) {
    this.beam.spills.value = Boolean(beam);
    if (!beam) return;
    this.beam.lens.value.set(...beam.lens);
    this.beam.middle.value.set(...beam.middle);
    this.beam.raster.value.set(...beam.raster);
    this.beam.peak.value = beam.peak_lx;
    this.beam.fallOff.value = beam.fall_off;
    this.beam.far2.value = beam.far2;
  }

  setHeads(message, heads) {
    for (const each of this.heads) { this.group.remove(each); each.geometry.dispose(); }
    this.heads = [];
    if (!heads) return;
    const [down, round] = message.head_grid, many = down * round;
    message.eyes.forEach((eye, k) => {
      const light = floats(heads.data.subarray(3 * many * k, 3 * many * (k + 1)));
      const mesh = new Mesh(headGeometry(down, round, light), this.roomMaterial);
      mesh.position.copy(inView(eye));
      mesh.name = `head ${k}`;
      this.heads.push(mesh);
      this.group.add(mesh);
    });
    this.showHeads();
  }

  /** The same things for a view from outside, to be taken anew after every change. */
  fromOutside() {
    const group = this.group.clone();
    group.traverse((each) => {
      if (each.isMesh) Object.assign(each, { material: this.outsideMaterials.get(each.material), visible: true });
    });
    return group;
  }

  /** All heads but the viewer's own. */
  showHeads() {
    this.heads.forEach((each, k) => { each.visible = !this.seat || k !== this.seat.index; });
  }

  /** What the screen shows: an image (sRGB), or an even share of white [1]. */
  setPicture(image, level) {
    this.cloth.chart.value = Boolean(image);
    if (!image) { this.cloth.level.value.set(level, level, level); return; }
    const texture = new Texture(image);
    texture.colorSpace = SRGBColorSpace;
    texture.minFilter = LinearMipmapLinearFilter;
    texture.magFilter = LinearFilter;
    texture.wrapS = texture.wrapT = ClampToEdgeWrapping;
    texture.generateMipmaps = true;
    texture.anisotropy = 8;
    texture.needsUpdate = true;
    this.cloth.shown.value?.dispose();
    this.cloth.shown.value = texture;
  }
}

const FINE = [25, 37]; // corners of a head as it is drawn, from pole to pole and round

/** A head with light read between the places for which the server gave it, axes of the view. */
function headGeometry(down, round, light) {
  const radius = 0.11, [rows, columns] = FINE, place = new Float32Array(3 * rows * columns), sent = new Float32Array(3 * rows * columns), corners = [];
  const read = (i, j, c) => {
    const y = (i * (down - 1)) / (rows - 1), x = (j * (round - 1)) / (columns - 1), a = Math.min(Math.floor(y), down - 2), b = Math.min(Math.floor(x), round - 2);
    const at = (row, column) => light[3 * (row * round + column) + c], t = y - a, u = x - b;
    return (1 - t) * ((1 - u) * at(a, b) + u * at(a, b + 1)) + t * ((1 - u) * at(a + 1, b) + u * at(a + 1, b + 1));
  };
  for (let i = 0; i < rows; i += 1) {
    for (let j = 0; j < columns; j += 1) {
      const polar = (Math.PI * i) / (rows - 1), turn = (2 * Math.PI * j) / (columns - 1), k = i * columns + j;
      place.set([Math.sin(polar) * Math.cos(turn), Math.cos(polar), -Math.sin(polar) * Math.sin(turn)].map((each) => radius * each), 3 * k);
      sent.set([read(i, j, 0), read(i, j, 1), read(i, j, 2)], 3 * k);
      if (i + 1 < rows && j + 1 < columns) corners.push(k, k + columns, k + 1, k + 1, k + columns, k + columns + 1);
    }
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(place, 3));
  geometry.setAttribute("light", new BufferAttribute(sent, 3));
  geometry.setAttribute("rho", new BufferAttribute(new Float32Array(place.length).fill(0.25), 3));
  geometry.setIndex(corners);
  return geometry;
}

function map(data, width, height, format) {
  const texture = new DataTexture(data, width, height, format, HalfFloatType);
  texture.minFilter = texture.magFilter = LinearFilter;
  texture.wrapS = texture.wrapT = ClampToEdgeWrapping;
  texture.needsUpdate = true;
  return texture;
}
