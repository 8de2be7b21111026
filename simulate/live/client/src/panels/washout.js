// Where wash-out comes from at the chosen seat: bars by the surface that light leaves last.

import { h } from "../dom.js";
import { digits } from "../units.js";

const LEAST = 0.005;

export function washoutBars(variants, chosen) {
  const found = variants.map((variant) => variant.numbers.seats[chosen]?.share ?? {});
  const names = [...new Set(found.flatMap((share) => Object.keys(share)))].filter((name) => found.some((share) => (share[name]?.[0] ?? 0) >= LEAST));
  names.sort((a, b) => (found[0][b]?.[0] ?? 0) - (found[0][a]?.[0] ?? 0));
  const most = Math.max(0.01, ...found.flatMap((share) => Object.values(share).map((pair) => pair[0] ?? 0)));
  if (!names.length) return h("p", {}, "No light comes back to the screen.");
  const bar = (variant, share, name) => {
    const [value, error] = share[name] ?? [0, 0];
    const fill = h("span", { class: `fill ${variant.slot}` });
    fill.style.width = `${(100 * value) / most}%`;
    return h("span", { class: "bar" }, fill, h("span", { class: "amount" },
      `${variants.length > 1 ? `${variant.slot.toUpperCase()} ` : ""}${digits(100 * value, value < 0.1 ? 2 : 3)} %${error > 5e-4 ? ` ± ${digits(100 * error, 1)}` : ""}`));
  };
  return h("dl", { class: "bars" }, names.map((name) => h("div", {}, h("dt", {}, name === "screen" ? "the screen itself" : name),
    h("dd", { class: variants.some((v) => v.stale) ? "stale" : "" }, variants.map((variant, k) => bar(variant, found[k], name))))));
}
