// The plan from above: seats and lens to drag or to move by arrow keys, the screen, furniture, the beam.

import { fill, h, s } from "./dom.js";
import { heldInside } from "./outline.js";
import { lengthText, round } from "./units.js";

const STEP_M = 0.05, FINE_M = 0.01, MARGIN_M = 0.02;

export class Plan {
  /** choose(index): a seat is chosen; move(key, place, gesture): a place is changed. */
  constructor({ choose, move }) {
    this.choose = choose;
    this.move = move;
    this.node = h("div", { class: "plan" });
    this.hint = h("p", { class: "hint", id: "plan-hint" },
      "Drag a seat or the lens, or choose one with Tab and move it with the arrow keys (Shift: 1 cm). Enter: look from that seat.");
    this.held = null;
  }

  show(scene, chosen) {
    this.scene = scene;
    this.chosen = chosen;
    const drawn = JSON.stringify([scene.room, scene.objects, scene.screen, scene.seats.map((seat) => seat.key)]);
    if (!this.held && drawn !== this.drawn) this.draw(drawn);
    this.place();
  }

  /** Walls, things, screen and marks anew; places of the marks come after. */
  draw(drawn) {
    const { scene } = this;
    this.drawn = drawn;
    const { right_m: [west, east], out_m: [near, far], rings } = scene.room, width = east - west, depth = far - near, pad = 0.25;
    const svg = s("svg", {
      viewBox: `${west - pad} ${near - pad} ${width + 2 * pad} ${depth + 2 * pad}`, role: "group", "aria-label": "Plan of the room, screen wall at the top",
      class: "plan-drawing",
    });
    const unit = Math.max(width, depth) / 100;
    svg.append(rings.length
      ? s("path", { d: rings.map((ring) => `M${ring.map((place) => place.join(" ")).join("L")}Z`).join(""), "fill-rule": "evenodd", class: "walls" })
      : s("rect", { x: west, y: near, width, height: depth, class: "walls" }));
    for (const thing of scene.objects) svg.append(s("polygon", { points: thing.from_above.map((place) => place.join(",")).join(" "), class: "thing" }, s("title", {}, thing.name)));
    this.beam = s("polygon", { class: "beam" });
    svg.append(this.beam);
    const { right_m, gap_to_wall_m, width_m } = scene.screen;
    svg.append(s("line", { x1: right_m - width_m / 2, x2: right_m + width_m / 2, y1: gap_to_wall_m, y2: gap_to_wall_m, class: "cloth" }));
    this.sight = s("polygon", { class: "sight" });
    svg.append(this.sight);
    this.marks = [
      this.mark("lens", -1, "projector.lens_m", scene.projector.lens_m, unit),
      ...scene.seats.map((seat, k) => this.mark(seat.name, k, `${seat.key}.eye_m`, seat.eye_m, unit)),
    ];
    svg.append(...this.marks.map((each) => each.node));
    this.svg = svg;
    fill(this.node, svg, this.hint);
  }

  mark(name, index, key, place, unit) {
    const lens = index < 0, size = Math.max(0.11, 2.6 * unit);
    const shape = lens
      ? s("path", { d: `M0 ${-size} L${size} 0 L0 ${size} L${-size} 0 Z` })
      : s("circle", { r: size });
    const text = lens ? null : s("text", { "text-anchor": "middle", y: size * 0.36, "font-size": size, "aria-hidden": "true" }, String(index + 1));
    const node = s("g", {
      class: lens ? "mark lens" : "mark seat", tabindex: "0", role: "button", "data-focus": `mark ${name}`, "aria-describedby": "plan-hint",
      onkeydown: (event) => this.onKey(event, mark), onpointerdown: (event) => this.grab(event, mark),
    }, s("circle", { r: size * 1.6, class: "touch" }), shape, text);
    const mark = { name, index, key, place: [...place], node };
    return mark;
  }

  place() {
    const { scene } = this;
    if (this.held === null) {
      this.marks.forEach((mark) => { mark.place = [...(mark.index < 0 ? scene.projector.lens_m : scene.seats[mark.index]?.eye_m ?? mark.place)]; });
    }
    for (const { node, place, name, index } of this.marks) {
      node.setAttribute("transform", `translate(${place[0]} ${place[1]})`);
      const side = place[0] < -0.005 ? `${lengthText(-place[0])} left` : place[0] > 0.005 ? `${lengthText(place[0])} right` : "in the middle";
      const looking = index === this.chosen;
      node.setAttribute("aria-label", `${index < 0 ? "Lens" : `Seat ${index + 1}, ${name}`}: ${side}, ${lengthText(place[1])} from the screen wall${looking ? "; looking from here" : ""}`);
      node.classList.toggle("chosen", looking);
    }
    const lens = this.marks[0].place, { right_m: middle, gap_to_wall_m: gap, width_m: width } = scene.screen, [left, right] = scene.raster;
    this.beam.setAttribute("points", `${lens[0]},${lens[1]} ${middle + left},${gap} ${middle + right},${gap}`);
    const seat = this.marks[this.chosen + 1]?.place;
    this.sight.setAttribute("points", seat ? `${seat[0]},${seat[1]} ${middle - width / 2},${gap} ${middle + width / 2},${gap}` : "");
  }

  onKey(event, mark) {
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      if (mark.index >= 0) this.choose(mark.index);
      return;
    }
    const step = event.shiftKey ? FINE_M : STEP_M;
    const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (!way) return;
    event.preventDefault();
    this.to(mark, mark.place[0] + way[0], mark.place[1] + way[1], `keys ${mark.key}`);
  }

  to(mark, right, out, gesture) {
    const { right_m: [west, east], out_m: [, far], rings } = this.scene.room;
    const within = [
      Math.min(east - MARGIN_M, Math.max(west + MARGIN_M, right)), Math.min(far - MARGIN_M, Math.max(this.scene.screen.gap_to_wall_m + 0.05, out)),
    ];
    const kept = rings.length ? heldInside(rings, within, MARGIN_M) : within;
    if (!kept) return;
    mark.place[0] = round(kept[0], 3);
    mark.place[1] = round(kept[1], 3);
    const held = this.held;
    this.held = mark;
    this.place();
    this.held = held;
    this.move(mark.key, [...mark.place], gesture);
  }

  grab(event, mark) {
    event.preventDefault();
    mark.node.focus();
    if (mark.index >= 0) this.choose(mark.index);
    const start = this.at(event), from = [...mark.place], gesture = `drag ${Date.now()}`;
    this.held = mark;
    const node = mark.node;
    node.setPointerCapture(event.pointerId);
    const moved = (next) => {
      const now = this.at(next);
      this.to(mark, from[0] + now.x - start.x, from[1] + now.y - start.y, gesture);
    };
    const ended = () => {
      this.held = null;
      node.removeEventListener("pointermove", moved);
      for (const end of ["pointerup", "pointercancel"]) node.removeEventListener(end, ended);
    };
    node.addEventListener("pointermove", moved);
    for (const end of ["pointerup", "pointercancel"]) node.addEventListener(end, ended);
  }

  at(event) {
    return new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
  }
}
