// Controls: a number, a choice, a slider with its number. Each says its key, so that errors of the scene find it, and shows another
// value by update(value) without being made anew.

import { h, newId } from "../dom.js";
import { fromLength, lengthStep, lengthUnit, toLength } from "../units.js";

/** Whether a field's new value was refused; `words` is the id of what says why, told beside the field's own hint. */
export function markField(node, refused, words) {
  const others = (node.getAttribute("aria-describedby") ?? "").split(" ").filter((each) => each && each !== words);
  const told = refused ? [...others, words] : others;
  if (refused) node.setAttribute("aria-invalid", "true"); else node.removeAttribute("aria-invalid");
  if (told.length) node.setAttribute("aria-describedby", told.join(" ")); else node.removeAttribute("aria-describedby");
}

/** A labelled number; kind "length" is shown in the page's unit. set(value, gesture) is called with metres or plain numbers. */
export function numberField({ label, key, value, kind = "plain", unit = "", min, max, step = "any", set, hint, empty }) {
  const id = newId("n"), length = kind === "length", written = (x) => (x === null ? "" : String(length ? toLength(x) : x));
  let now = value;
  const input = h("input", {
    id, type: "number", inputMode: "decimal", value: written(value), step: length ? lengthStep() : step, "data-focus": key,
    "data-key": key, "aria-describedby": hint ? `${id}-h` : null, placeholder: empty ?? "",
    onchange: () => {
      if (input.value === "" || !Number.isFinite(Number(input.value))) { input.value = written(now); return; }
      const given = Number(input.value);
      set(length ? fromLength(given) : given, null);
    },
  });
  if (min !== undefined) input.min = length ? toLength(min) : min;
  if (max !== undefined) input.max = length ? toLength(max) : max;
  const shown = length ? lengthUnit() : unit;
  const node = h("div", { class: "field" }, h("label", { for: id }, label, shown ? h("span", { class: "unit" }, ` ${shown}`) : null), input,
    hint ? h("p", { class: "hint", id: `${id}-h` }, hint) : null);
  node.update = (next) => {
    const typing = document.activeElement === input && input.value !== written(now);
    now = next;
    if (!typing && input.value !== written(now)) input.value = written(now);
  };
  return node;
}

/** A labelled list; options are texts or { value, text, group }. update(value, own): own is the text of an option for what is in no list. */
export function choiceField({ label, key, value, options, set, hidden = false, ownValue = "own" }) {
  const id = newId("c"), groups = new Map(), known = new Set();
  const select = h("select", { id, "data-focus": key, "data-key": key, onchange: () => set(select.value) });
  const own = h("option", { value: ownValue });
  for (const option of options) {
    const { value: name, text = name, group = null } = typeof option === "string" ? { value: option } : option;
    known.add(name);
    if (group && !groups.has(group)) { groups.set(group, h("optgroup", { label: group })); select.append(groups.get(group)); }
    (group ? groups.get(group) : select).append(h("option", { value: name }, text));
  }
  const node = h("div", { class: "field" }, h("label", { for: id, class: hidden ? "unseen" : "" }, label), select);
  node.update = (next, words = null) => {
    if (words === null) own.remove();
    else {
      if (own.textContent !== words) own.textContent = words;
      if (own.parentNode !== select) select.prepend(own);
    }
    const name = words === null ? next : ownValue;
    if (select.value !== name) select.value = name;
  };
  node.update(value);
  return node;
}

/** A slider with its value in words; while it moves all changes are one gesture. */
export function sliderField({ label, key, value, min, max, step, set, text, log = false, hint }) {
  const id = newId("r"), inside = log ? Math.log : (x) => x, outside = log ? Math.exp : (x) => x;
  let gesture = null, drawn = value;
  const shown = h("span", { class: "value", "aria-hidden": "true" }, text(value));
  const input = h("input", {
    id, type: "range", min: inside(min), max: inside(max), step: log ? (Math.log(max) - Math.log(min)) / 400 : step, value: inside(value), "data-focus": `${key} slider`,
    "data-key": key, "aria-valuetext": text(value), "aria-describedby": hint ? `${id}-h` : null,
    oninput: () => {
      gesture ??= `slide ${key} ${Date.now()}`;
      input.dataset.dragging = "yes";
      drawn = outside(Number(input.value));
      tell(drawn);
      set(drawn, gesture);
    },
    onchange: () => { gesture = null; delete input.dataset.dragging; },
  });
  const tell = (now) => {
    shown.textContent = text(now);
    input.setAttribute("aria-valuetext", text(now));
  };
  const node = h("div", { class: "field slider" }, h("label", { for: id }, label), shown, input, hint ? h("p", { class: "hint", id: `${id}-h` }, hint) : null);
  node.update = (now) => {
    if (gesture || now === drawn) return;
    drawn = now;
    input.value = inside(now);
    tell(now);
  };
  return node;
}
