// Folds against a flat cloth: the verdict from the chosen seat, and how high the estimated folds are.

import { fill, h } from "../dom.js";
import { choiceField, sliderField } from "../controls/field.js";
import { digits } from "../units.js";

const LEVELS = { low: "hung at its best", typical: "as it usually hangs", high: "hung badly" };

const FIXED = {
  stated: "The folds are those that the scene states; change them in its text.",
  flat: "A fixed frame is taken as flat. Choose another hang to see what it does to the cloth.",
};

export function foldVerdict(variant) {
  const { folds, scene } = variant;
  if (!folds) return h("p", {}, "…");
  if (folds.flat) {
    const words = scene.screen.folds === "flat" ? "The cloth is taken as flat; how flat it is was not judged." : "These folds are of no height: the cloth is flat.";
    return h("p", {}, words);
  }
  const { brightness, geometry } = folds;
  return h("p", { class: "verdict" },
    h("strong", { class: `word ${brightness.word.replace(" ", "-")}` }, brightness.word), ` in brightness (${brightness.margin}), `,
    h("strong", { class: `word ${geometry.word.replace(" ", "-")}` }, geometry.word), ` as bent lines (${digits(geometry.arcmin, 2)} arc minutes).`);
}

/** What chooses the folds; built anew when their kind changes, else only brought up to date. */
export class FoldControls {
  constructor({ set, setLevel }) {
    Object.assign(this, { set, setLevel });
    this.node = h("div", { class: "fields" });
  }

  show({ scene: { screen } }, level) {
    if (this.kind !== screen.folds) {
      this.kind = screen.folds;
      fill(this.node, screen.folds === "estimated" ? this.estimated(screen, level) : h("p", { class: "hint" }, FIXED[screen.folds]));
    }
    this.choice?.update(level);
    this.slider?.update(screen.fold_scale);
  }

  estimated(screen, level) {
    this.choice = choiceField({
      label: "Folds", key: "fold level", value: level, options: Object.entries(LEVELS).map(([value, text]) => ({ value, text })), set: this.setLevel,
    });
    this.slider = sliderField({
      label: "Height of the folds", key: "screen.hanging.amplitude_scale", value: screen.fold_scale, min: 0, max: 4, step: 0.05,
      text: (x) => (x === 0 ? "flat" : `${digits(x, 2)} × the estimate`),
      set: (x, gesture) => this.set("screen.hanging.amplitude_scale", Math.round(100 * x) / 100, gesture),
    });
    return [this.choice, this.slider,
      h("p", { class: "hint" }, "Judged for an even bright field, the hardest case. The estimate is from mechanics: tube, turns wound, weight, stiffness, bar and cords.")];
  }
}
