// The seats in a table: what an instrument would read at each, both variants under one another.

import { h } from "../dom.js";
import { lightUnit, toLight, withError } from "../units.js";

const COLUMNS = [
  ["white_cd_m2", "White", "light"], ["black_cd_m2", "Black", "light"], ["checkerboard_ratio", "Checkerboard", ": 1"], ["washout_cd_m2", "Wash-out", "light"],
  ["side_to_centre_ratio", "Dimmer side", "%"],
];

const cell = (pair, unit) =>
  withError(pair, unit === "light" ? toLight : unit === "%" ? (x) => 100 * x : undefined);

export function seatTable(variants, chosen, choose) {
  const both = variants.length > 1, names = variants[0].numbers.seats.map((seat) => seat.name);
  const rows = names.flatMap((name, index) => variants.map((variant, k) => {
    const seat = variant.numbers.seats.find((each) => each.name === name), first = k === 0;
    const pick = h("button", {
      class: "seat-name", "aria-pressed": String(index === chosen), "data-focus": `pick ${index}`, onclick: () => choose(index),
    }, `${index + 1}. ${name}`);
    return h("tr", { class: `${index === chosen ? "chosen" : ""} ${variant.stale ? "stale" : ""} ${first ? "first" : ""}` },
      first ? h("th", { scope: "row", rowSpan: variants.length }, pick) : null,
      both ? h("td", { class: `which ${variant.slot}` }, variant.slot.toUpperCase()) : null,
      COLUMNS.map(([key, , unit]) => h("td", {}, seat ? cell(seat.values[key], unit) : "–")));
  }));
  return h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Figures of all seats" }, h("table", {},
    h("caption", { class: "unseen" }, "Figures of all seats in the dark room, each with its standard error"),
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "Seat"), both ? h("th", { scope: "col" }, h("span", { class: "unseen" }, "Variant")) : null,
      COLUMNS.map(([, title, unit]) => h("th", { scope: "col" }, title, h("span", { class: "unit" }, unit === "light" ? ` ${lightUnit()}` : ` ${unit}`))))),
    h("tbody", {}, rows)));
}
