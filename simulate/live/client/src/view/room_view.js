// The room in 3-D: finishes evenly lit with the cloth as deep as it is, or its light; turned by pointer, wheel and keys.

import {
  AmbientLight, BufferGeometry, Color, DirectionalLight, Group, LineBasicMaterial, LineSegments, LinearSRGBColorSpace, Mesh, MeshStandardMaterial, PerspectiveCamera, Scene,
  SphereGeometry, SRGBColorSpace, Vector3, WebGLRenderer,
} from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";
import { inView } from "./lit_room.js";

const STEP = Math.PI / 36, SOON_MS = 150, RIM = 0.04;

export class RoomView {
  constructor(canvas, paper) {
    this.canvas = canvas;
    this.renderer = new WebGLRenderer({ canvas, antialias: true });
    this.scene = new Scene();
    this.scene.background = new Color(paper);
    const lamp = new DirectionalLight("white", 1.4);
    lamp.position.set(1.2, 3, 2);
    this.scene.add(new AmbientLight("white", 1.9), lamp);
    this.camera = new PerspectiveCamera(42, 16 / 9, 0.05, 300);
    this.turn = -0.55;
    this.tilt = 0.5;
    this.zoom = 1;
    this.deep = 1;
    this.loader = new GLTFLoader();
    this.mode = "finishes";
    this.people = new Group();
    this.bare = new MeshStandardMaterial({ color: new Color().setRGB(0.35, 0.35, 0.35), roughness: 1 });
    this.listen();
    new ResizeObserver(() => this.draw()).observe(canvas);
    new IntersectionObserver((seen) => { this.inSight = seen.at(-1).isIntersecting; if (this.inSight && this.waits) this.draw(); }, { rootMargin: "400px" }).observe(canvas);
  }

  setPaper(paper) {
    this.scene.background = new Color(paper);
    this.draw();
  }

  /** The room as GLB; the one before stays until this one is read. */
  async setRoom(glb, scene) {
    const read = await this.loader.parseAsync(glb.buffer.slice(glb.byteOffset, glb.byteOffset + glb.byteLength), "");
    if (this.model) this.scene.remove(this.model);
    this.model = read.scene;
    this.model.add(this.people);
    this.scene.add(this.model);
    const { right_m, out_m, height_m } = scene.room, wide = right_m[1] - right_m[0], deep = out_m[1] - out_m[0];
    this.middle = new Vector3((right_m[0] + right_m[1]) / 2, height_m / 2, (out_m[0] + out_m[1]) / 2);
    this.half = new Vector3(wide / 2, height_m / 2, deep / 2);
    this.screenMesh = this.model.getObjectByName("screen");
    this.show(this.latest ?? scene);
    this.setDeep(this.deep);
    this.setMode(this.mode);
  }

  /** A scene of the same room: its colours, viewers, lens and beam. */
  show(scene) {
    this.latest = scene;
    if (!this.model) return;
    const shown = JSON.stringify([scene.surfaces.map((each) => each.reflectance), scene.fabric.tint, scene.seats, scene.projector.lens_m, scene.raster, scene.screen]);
    if (shown === this.shown) return;
    this.shown = shown;
    const colours = new Map([...scene.surfaces.map((each) => [each.name, each.reflectance]), ["screen", scene.fabric.tint]]);
    this.model.traverse(({ material }) => { if (colours.has(material?.name)) material.color.setRGB(...colours.get(material.name)); });
    this.people.clear();
    for (const { eye_m } of scene.seats) this.ball(0.11, eye_m);
    this.ball(0.07, scene.projector.lens_m);
    this.beam(scene);
    this.drawSoon();
  }

  ball(radius, place) {
    const ball = new Mesh(new SphereGeometry(radius, 20, 12), this.bare);
    ball.position.copy(inView(place));
    this.people.add(ball);
  }

  beam(scene) {
    if (this.rays) { this.scene.remove(this.rays); this.rays.geometry.dispose(); }
    const [left, right, bottom, top] = scene.raster, { right_m, gap_to_wall_m, bottom_m, height_m } = scene.screen;
    const ends = [[left, bottom], [right, bottom], [right, top], [left, top]].map(
      ([x, y]) => new Vector3(right_m + x, bottom_m + height_m / 2 + y, gap_to_wall_m),
    );
    const lens = inView(scene.projector.lens_m);
    this.rays = new LineSegments(
      new BufferGeometry().setFromPoints(ends.flatMap((end, k) => [lens, end, end, ends[(k + 1) % 4]])), new LineBasicMaterial({ color: "#c98a12" }),
    );
    this.scene.add(this.rays);
  }

  /** The same room with its light, of a LitRoom: taken anew after every change. */
  setLit(lit) {
    this.litRoom = lit;
    if (this.mode !== "light") return;
    this.takeLit();
    this.drawSoon();
  }

  takeLit() {
    if (this.lit) this.scene.remove(this.lit);
    this.lit = this.litRoom?.fromOutside() ?? null;
    if (this.lit) this.scene.add(this.lit);
  }

  setMode(mode) {
    this.mode = mode;
    if (mode === "light") this.takeLit();
    const light = mode === "light" && Boolean(this.lit);
    if (this.model) this.model.visible = !light;
    if (this.lit) this.lit.visible = light;
    this.renderer.outputColorSpace = light ? LinearSRGBColorSpace : SRGBColorSpace;
    this.draw();
  }

  /** Folds drawn so many times as deep, about the cloth's plane. */
  setDeep(factor) {
    this.deep = factor;
    if (!this.screenMesh) return;
    const plane = this.latest.screen.gap_to_wall_m;
    this.screenMesh.scale.z = factor;
    this.screenMesh.position.z = plane * (1 - factor);
    this.draw();
  }

  listen() {
    const { canvas } = this;
    let held = null;
    canvas.addEventListener("pointerdown", (event) => {
      held = [event.clientX, event.clientY];
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (!held) return;
      this.move((event.clientX - held[0]) / 150, (event.clientY - held[1]) / 150);
      held = [event.clientX, event.clientY];
    });
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => { held = null; });
    canvas.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && document.activeElement !== canvas) return; // the page scrolls until the view is chosen
      event.preventDefault();
      this.nearer(Math.exp(-event.deltaY / 600));
    }, { passive: false });
    canvas.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, STEP], ArrowDown: [0, -STEP] }[event.key];
      if (way) this.move(...way);
      else if (event.key === "+" || event.key === "=") this.nearer(1.1);
      else if (event.key === "-") this.nearer(1 / 1.1);
      else return;
      event.preventDefault();
    });
  }

  move(round, up) {
    this.turn += round;
    this.tilt = Math.min(1.5, Math.max(-0.2, this.tilt + up));
    this.draw();
  }

  nearer(factor) {
    this.zoom = Math.min(5, Math.max(0.4, this.zoom * factor));
    this.draw();
  }

  look(turn, tilt) {
    Object.assign(this, { turn, tilt, zoom: 1 });
    this.draw();
  }

  /** When nothing else has changed for a moment: what the seat sees goes first. */
  drawSoon() {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.draw(), SOON_MS);
  }

  draw() {
    this.waits = !this.inSight;
    if (this.asked || this.waits) return;
    this.asked = true;
    requestAnimationFrame(() => { this.asked = false; this.render(); });
  }

  /** How far off in a direction the whole room is in the picture. */
  reach(way) {
    const across = new Vector3(Math.cos(this.turn), 0, Math.sin(this.turn)), upward = new Vector3().crossVectors(way, across);
    const high = Math.tan((this.camera.fov * Math.PI) / 360) / (1 + RIM), wide = high * this.camera.aspect, { x, y, z } = this.half;
    let far = 0;
    for (let k = 0; k < 8; k += 1) {
      const corner = new Vector3(k & 1 ? x : -x, k & 2 ? y : -y, k & 4 ? z : -z), near = corner.dot(way);
      far = Math.max(far, near + Math.abs(corner.dot(across)) / wide, near + Math.abs(corner.dot(upward)) / high);
    }
    return far;
  }

  render() {
    const width = this.canvas.clientWidth, height = this.canvas.clientHeight;
    if (!this.model || !width || !height) return;
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    const way = new Vector3(-Math.cos(this.tilt) * Math.sin(this.turn), Math.sin(this.tilt), Math.cos(this.tilt) * Math.cos(this.turn));
    this.camera.position.copy(this.middle).addScaledVector(way, this.reach(way) / this.zoom);
    this.camera.lookAt(this.middle);
    this.camera.updateProjectionMatrix();
    this.renderer.render(this.scene, this.camera);
    this.canvas.dataset.drawn = String(Number(this.canvas.dataset.drawn ?? 0) + 1);
  }
}
