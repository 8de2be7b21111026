// All that is told in figures: the line under the view, tables and charts.

import { h, morph } from "./dom.js";
import { fitPanel } from "./panels/fit.js";
import { FoldControls, foldVerdict } from "./panels/folds.js";
import { levelCurve } from "./panels/levels.js";
import { lightTable } from "./panels/lights.js";
import { seatTable } from "./panels/seats.js";
import { washoutBars } from "./panels/washout.js";
import { digits, lightUnit, toLight, unitSystem } from "./units.js";

export class Figures {
  constructor(app) {
    this.app = app;
    const card = (title, rest = "") => {
      const body = h("div", { class: "body" }), sub = h("span", { class: "sub" });
      return { node: h("section", { class: `card ${rest}` }, h("h2", {}, title, " ", sub), body), body, sub };
    };
    this.seats = card("Seats", "wide");
    this.washout = card("Where wash-out comes from");
    this.levels = card("Contrast of a small detail");
    this.foldCard = card("Folds against a flat cloth");
    this.lights = card("In other light", "wide");
    this.fits = card("Can it be built");
    this.foldVerdicts = h("div", { "aria-live": "polite" });
    this.foldControls = new FoldControls({ set: (key, value, gesture) => app.set(key, value, gesture), setLevel: (level) => app.setLevel(level) });
    this.foldCard.body.append(this.foldVerdicts, this.foldControls.node);
    this.strip = h("div", { class: "strip" });
    this.node = h("div", { class: "results", id: "results", tabIndex: -1 },
      [this.seats, this.washout, this.levels, this.lights, this.foldCard, this.fits].map((each) => each.node));
  }

  show() {
    const { app } = this, ready = app.shown.filter((variant) => variant.numbers && variant.scene);
    if (!ready.length) return;
    const seat = Math.min(app.seat, ready[0].numbers.seats.length - 1), name = ready[0].numbers.seats[seat].name;
    morph(this.seats.body, seatTable(ready, seat, (index) => app.chooseSeat(index)));
    const stale = ready.some((each) => each.stale), worst = Math.max(...ready.map((each) => each.numbers.error));
    this.seats.sub.textContent = stale ? `light paths arrive, ± ${digits(100 * worst, 2)} %` : `± ${digits(100 * worst, 1)} %`;
    for (const each of [this.washout, this.levels, this.lights]) each.sub.textContent = `at ${name}`;
    morph(this.washout.body, washoutBars(ready, seat));
    morph(this.levels.body, levelCurve(ready, seat));
    morph(this.lights.body, lightTable(ready, seat));
    this.node.dataset.settled = String(!stale);
    this.summary(ready, seat);
    this.folds();
  }

  /** The chosen seat in one line, right under what it sees. */
  summary(ready, index) {
    const { light, variants } = { light: this.app.light, variants: ready };
    morph(this.strip, variants.map((variant) => {
      const seat = variant.numbers.seats[index];
      if (!seat) return null;
      const values = (light && seat.states.find((state) => state.name === light)?.values) || seat.values;
      const part = (label, text, unit) => h("span", {}, h("span", { class: "label" }, label), h("b", {}, text), h("span", { class: "unit" }, ` ${unit}`));
      return h("div", { class: variant.stale ? "stale" : "" }, ready.length > 1 ? h("span", { class: `which ${variant.slot}` }, variant.slot.toUpperCase()) : null,
        part("white", digits(toLight(values.white_cd_m2[0])), lightUnit()), part("checkerboard", digits(values.checkerboard_ratio[0]), ": 1"),
        part("wash-out", digits(toLight(seat.values.washout_cd_m2[0])), lightUnit()));
    }));
  }

  folds() {
    const { app } = this, { variant } = app;
    if (!variant.scene) return;
    const name = variant.scene.seats[Math.min(app.seat, variant.scene.seats.length - 1)].name;
    this.foldCard.sub.textContent = `from ${name}`;
    morph(this.foldVerdicts, app.shown.map((each) => (each.scene ? h("div", { class: "fold-row" },
      app.both ? h("span", { class: `which ${each.slot}` }, each.slot.toUpperCase()) : null, foldVerdict(each)) : null)));
    this.foldControls.show(variant, app.level);
  }

  fit() {
    const { app } = this, { scene } = app.variant;
    const told = scene && JSON.stringify([scene.throw, scene.warnings, scene.notes, unitSystem()]);
    if (!scene || told === this.fitTold) return;
    this.fitTold = told;
    morph(this.fits.body, fitPanel(scene, (remedies) => app.mend(remedies)));
  }
}
