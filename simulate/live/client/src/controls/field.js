// Controls: a number, a choice, a slider with its number. Each says its key, so that errors of the scene find it.

import { h, newId } from "../dom.js";
import { fromLength, lengthStep, lengthUnit, toLength } from "../units.js";

/** A labelled number; kind "length" is shown in the page's unit. set(value, gesture) is called with metres or plain numbers. */
export function numberField({ label, key, value, kind = "plain", unit = "", min, max, step = "any", set, hint, empty }) {
  const id = newId("n"), length = kind === "length";
  const input = h("input", {
    id, type: "number", inputMode: "decimal", value: value === null ? "" : length ? toLength(value) : value, step: length ? lengthStep() : step, "data-focus": key,
    "data-key": key, "aria-describedby": hint ? `${id}-h` : null, placeholder: empty ?? "",
    onchange: () => {
      if (input.value === "" || !Number.isFinite(Number(input.value))) { input.value = value === null ? "" : length ? toLength(value) : value; return; }
      const given = Number(input.value);
      set(length ? fromLength(given) : given, null);
    },
  });
  if (min !== undefined) input.min = length ? toLength(min) : min;
  if (max !== undefined) input.max = length ? toLength(max) : max;
  const shown = length ? lengthUnit() : unit;
  return h("div", { class: "field" }, h("label", { for: id }, label, shown ? h("span", { class: "unit" }, ` ${shown}`) : null), input,
    hint ? h("p", { class: "hint", id: `${id}-h` }, hint) : null);
}

/** A labelled list; options are texts or { value, text, group }. */
export function choiceField({ label, key, value, options, set, hidden = false }) {
  const id = newId("c"), groups = new Map();
  const select = h("select", { id, "data-focus": key, "data-key": key, onchange: () => set(select.value) });
  for (const option of options) {
    const { value: name, text = name, group = null } = typeof option === "string" ? { value: option } : option;
    if (group && !groups.has(group)) { groups.set(group, h("optgroup", { label: group })); select.append(groups.get(group)); }
    (group ? groups.get(group) : select).append(h("option", { value: name, selected: name === value }, text));
  }
  return h("div", { class: "field" }, h("label", { for: id, class: hidden ? "unseen" : "" }, label), select);
}

/** A slider with its value in words; while it moves all changes are one gesture. */
export function sliderField({ label, key, value, min, max, step, set, text, log = false, hint }) {
  const id = newId("r"), inside = log ? Math.log : (x) => x, outside = log ? Math.exp : (x) => x;
  let gesture = null;
  const shown = h("span", { class: "value", "aria-hidden": "true" }, text(value));
  const input = h("input", {
    id, type: "range", min: inside(min), max: inside(max), step: log ? (Math.log(max) - Math.log(min)) / 400 : step, value: inside(value), "data-focus": `${key} slider`,
    "data-key": key, "aria-valuetext": text(value), "aria-describedby": hint ? `${id}-h` : null,
    oninput: () => {
      gesture ??= `slide ${key} ${Date.now()}`;
      input.dataset.dragging = "yes";
      const now = outside(Number(input.value));
      shown.textContent = text(now);
      input.setAttribute("aria-valuetext", text(now));
      set(now, gesture);
    },
    onchange: () => { gesture = null; delete input.dataset.dragging; },
  });
  const node = h("div", { class: "field slider" }, h("label", { for: id }, label), shown, input, hint ? h("p", { class: "hint", id: `${id}-h` }, hint) : null);
  node.update = (now) => {
    if (gesture) return;
    input.value = inside(now);
    shown.textContent = text(now);
    input.setAttribute("aria-valuetext", text(now));
  };
  return node;
}
