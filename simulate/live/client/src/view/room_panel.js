// The 3-D view with its buttons.

import { h } from "../dom.js";
import { choiceField } from "../controls/field.js";
import { RoomView } from "./room_view.js";

const paper = () => getComputedStyle(document.documentElement).getPropertyValue("--stage").trim();
const LOOKS = { "from behind": [0, 0.35], "from a corner": [-0.55, 0.5], "from above": [0, 1.5], "from the side": [-Math.PI / 2, 0.2] };

export class RoomPanel {
  constructor() {
    this.canvas = h("canvas", {
      class: "room-canvas", tabIndex: 0, role: "img", "aria-label": "The room in 3-D. Arrow keys turn it, plus and minus bring it nearer.", "aria-describedby": "room-hint",
    });
    const button = (text, act) => h("button", { class: "small", onclick: act }, text);
    this.node = h("div", { class: "card" }, h("h2", {}, "The room"), this.canvas,
      h("div", { class: "row room-tools" },
        choiceField({ label: "Shows", key: "room mode", value: "finishes", options: [{ value: "finishes", text: "finishes" }, { value: "light", text: "its light" }], set: (mode) => this.view?.setMode(mode) }),
        choiceField({
          label: "Folds drawn", key: "room folds", value: "1", options: [["1", "as deep as they are"], ["10", "10 times as deep"], ["50", "50 times as deep"]].map(([value, text]) => ({ value, text })),
          set: (factor) => this.view?.setDeep(Number(factor)),
        })),
      h("div", { class: "row room-tools" }, Object.entries(LOOKS).map(([text, look]) => button(text, () => this.view?.look(...look))),
        button("nearer", () => this.view?.nearer(1.2)), button("farther", () => this.view?.nearer(1 / 1.2))),
      h("p", { class: "hint", id: "room-hint" }, "Drag to turn it; choose it and use the wheel or the keys to come nearer."));
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.view?.setPaper(paper()));
  }

  make() {
    this.view ??= new RoomView(this.canvas, paper());
    return this.view;
  }

  setRoom(glb, scene) { this.make().setRoom(glb, scene); }
  show(scene) { this.view?.show(scene); }
  setLit(room) { this.make().setLit(room); }
  /** After a change of tone: only its light heeds that. */
  draw() { if (this.view?.mode === "light") this.view.drawSoon(); }
}
