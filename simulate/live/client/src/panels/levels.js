// Contrast of a small detail against how bright the picture around it is, at the chosen seat.

import { h, s } from "../dom.js";
import { digits } from "../units.js";

const WIDE = 360, HIGH = 210, LEFT = 46, RIGHT = 10, TOP = 10, BOTTOM = 34;

export function levelCurve(variants, chosen) {
  const lines = variants.map(({ numbers, slot }) => ({ slot, x: numbers.levels, y: numbers.contrast[chosen] ?? [] }));
  const values = lines.flatMap(({ y }) => y).filter((each) => each > 0);
  if (!values.length) return h("p", {}, "No contrast to show: no light falls on the screen.");
  const x = (level) => LEFT + ((WIDE - LEFT - RIGHT) * Math.log(level / 0.005)) / Math.log(200);
  const low = Math.log(Math.min(...values) / 1.15), high = Math.log(Math.max(...values) * 1.15);
  const y = (value) => TOP + ((HIGH - TOP - BOTTOM) * (high - Math.log(value))) / (high - low);
  const ticks = [];
  for (let power = 0; power < 9; power += 1) for (const step of [1, 2, 5]) ticks.push(step * 10 ** power);
  const shown = ticks.filter((each) => Math.log(each) > low && Math.log(each) < high);
  const drawing = s("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "chart", "aria-hidden": "true" },
    shown.map((each) => [
      s("line", { x1: LEFT, x2: WIDE - RIGHT, y1: y(each), y2: y(each), class: "rule" }),
      s("text", { x: LEFT - 6, y: y(each) + 4, "text-anchor": "end" }, String(each)),
    ]).flat(),
    [0.01, 0.03, 0.1, 0.3, 1].map((each) => s("text", { x: x(each), y: HIGH - BOTTOM + 16, "text-anchor": each === 1 ? "end" : "middle" }, `${100 * each} %`)),
    s("text", { x: (LEFT + WIDE - RIGHT) / 2, y: HIGH - 4, "text-anchor": "middle" }, "average picture level"),
    lines.map(({ slot, x: levels, y: contrasts }) => s("polyline", {
      class: `curve ${slot}`, points: contrasts.map((each, k) => (each ? `${x(levels[k]).toFixed(1)},${y(each).toFixed(1)}` : "")).join(" "),
    })),
    lines.length > 1 ? lines.map(({ slot, x: levels, y: contrasts }, k) => {
      const at = Math.floor(levels.length / 2), above = (contrasts[at] ?? 0) >= (lines[1 - k].y[at] ?? 0);
      return s("text", { x: x(levels[at]), y: y(contrasts[at] || 1) + (above ? -8 : 18), "text-anchor": "middle", class: `name ${slot}` }, slot.toUpperCase());
    }) : null);
  const at = (line, level) => line.y[line.x.reduce((best, each, k) => (Math.abs(Math.log(each / level)) < Math.abs(Math.log(line.x[best] / level)) ? k : best), 0)];
  const words = lines.map((line) => `${lines.length > 1 ? `${line.slot.toUpperCase()}: ` : ""}${digits(at(line, 0.01))} : 1 in a dark scene (1 %), ${digits(at(line, 0.1))} : 1 at 10 %, ${digits(at(line, 0.5))} : 1 in a bright one (50 %)`).join("; ");
  return h("figure", { class: variants.some((v) => v.stale) ? "stale" : "" }, drawing, h("figcaption", {}, `${words}.`));
}
