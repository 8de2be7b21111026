// A picture of luminances from the server through the same tone curve as the view under it.

import { floats } from "../wire.js";

const display = (x) => (x <= 0.0031308 ? 12.92 * x : 1.055 * x ** (1 / 2.4) - 0.055);

export class PreciseView {
  constructor(canvas, tone) {
    Object.assign(this, { canvas, tone });
  }

  show({ data, shape }) {
    this.light = floats(data);
    [this.canvas.height, this.canvas.width] = shape;
    this.draw();
  }

  draw() {
    if (!this.light) return;
    const { width, height } = this.canvas, pen = this.canvas.getContext("2d"), image = pen.createImageData(width, height);
    const adapted = this.tone.adapted.value, top = (1.1 * 0.18 * this.tone.white.value) / adapted;
    for (let i = 0; i < width * height; i += 1) {
      const rgb = this.light.subarray(3 * i, 3 * i + 3), y = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
      const scaled = (0.18 * y) / adapted, factor = y > 0 ? (scaled * (1 + scaled / top ** 2)) / (1 + scaled) / y : 0;
      for (let c = 0; c < 3; c += 1) image.data[4 * i + c] = 255 * display(Math.min(1, Math.max(0, rgb[c] * factor))) + 0.5;
      image.data[4 * i + 3] = 255;
    }
    pen.putImageData(image, 0, 0);
  }
}
