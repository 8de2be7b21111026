// What the chosen seat sees: the lit room from its eye, drawn anew whenever anything changes.

import { FloatType, LinearSRGBColorSpace, NoToneMapping, PerspectiveCamera, RGBAFormat, Scene, WebGLRenderer, WebGLRenderTarget } from "three";

export class SeatView {
  constructor(canvas, room) {
    this.canvas = canvas;
    this.room = room;
    this.renderer = new WebGLRenderer({ canvas, antialias: true, powerPreference: "high-performance" });
    this.renderer.outputColorSpace = LinearSRGBColorSpace; // the shaders end in sRGB themselves
    this.renderer.toneMapping = NoToneMapping;
    this.scene = new Scene();
    this.scene.add(room.group);
    this.camera = new PerspectiveCamera(60, 16 / 9, 0.02, 200);
    this.asked = false;
    new ResizeObserver(() => this.draw()).observe(canvas);
  }

  draw() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => { this.asked = false; this.render(); });
  }

  aim(width, height) {
    const { seat, middle } = this.room;
    this.camera.position.copy(seat.eye);
    this.camera.up.set(0, 1, 0);
    this.camera.lookAt(middle);
    const across = Math.tan((seat.field * Math.PI) / 360);
    this.camera.aspect = width / height;
    this.camera.fov = (2 * Math.atan((across * height) / width) * 180) / Math.PI;
    this.camera.updateProjectionMatrix();
  }

  render() {
    const width = this.canvas.clientWidth, height = this.canvas.clientHeight;
    if (!this.room.seat || !this.room.room || !width || !height) return;
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    if (this.canvas.width !== Math.round(width * ratio) || this.canvas.height !== Math.round(height * ratio)) {
      this.renderer.setPixelRatio(ratio);
      this.renderer.setSize(width, height, false);
    }
    this.aim(width, height);
    this.renderer.render(this.scene, this.camera);
    this.canvas.dataset.drawn = String(Number(this.canvas.dataset.drawn ?? 0) + 1);
  }

  /** Luminances of the view, (height, width, 4) from the bottom row, in cd/m2: what tests hold against pictures on disk. */
  luminances(width, height) {
    const target = new WebGLRenderTarget(width, height, { type: FloatType, format: RGBAFormat, samples: 4 });
    this.room.tone.raw.value = true;
    this.aim(width, height);
    this.renderer.setRenderTarget(target);
    this.renderer.render(this.scene, this.camera);
    const out = new Float32Array(4 * width * height);
    this.renderer.readRenderTargetPixels(target, 0, 0, width, height, out);
    this.renderer.setRenderTarget(null);
    this.room.tone.raw.value = false;
    target.dispose();
    return out;
  }
}
