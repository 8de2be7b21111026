// The chosen seat in every light state.

import { h } from "../dom.js";
import { lightUnit, toLight, withError } from "../units.js";

export function lightTable(variants, chosen) {
  const both = variants.length > 1;
  const states = [...new Set(variants.flatMap((variant) => variant.numbers.seats[chosen]?.states.map((state) => state.name) ?? []))];
  if (!states.length) return h("p", { class: "hint" }, "Only the dark room is told. Add other light under the controls to see what it leaves.");
  const of = (variant, name) => {
    const seat = variant.numbers.seats[chosen];
    return name === null ? seat?.values : seat?.states.find((state) => state.name === name)?.values;
  };
  const row = (name, variant, k) => {
    const values = of(variant, name);
    return h("tr", { class: variant.stale ? "stale" : "" },
      k === 0 ? h("th", { scope: "row", rowSpan: variants.length }, name ?? "dark") : null,
      both ? h("td", { class: `which ${variant.slot}` }, variant.slot.toUpperCase()) : null,
      [["white_cd_m2", toLight], ["black_cd_m2", toLight], ["full_on_off_ratio"], ["checkerboard_ratio"]].map(([key, change]) => h("td", {}, values ? withError(values[key], change) : "–")));
  };
  return h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Light states" }, h("table", {},
    h("caption", { class: "unseen" }, "The chosen seat in every light state"),
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "Light"), both ? h("th", { scope: "col" }, h("span", { class: "unseen" }, "Variant")) : null,
      ["White", "Black"].map((title) => h("th", { scope: "col" }, title, h("span", { class: "unit" }, ` ${lightUnit()}`))),
      ["On : off", "Checkerboard"].map((title) => h("th", { scope: "col" }, title, h("span", { class: "unit" }, " : 1"))))),
    h("tbody", {}, [null, ...states].flatMap((name) => variants.map((variant, k) => row(name, variant, k))))));
}
