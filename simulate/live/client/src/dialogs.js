// Dialogs: a new room, a scene to open, where to save. All are the browser's own <dialog>, so Escape and focus work by themselves.

import { fill, h, newId } from "./dom.js";
import { fromLength, lengthUnit, toLength } from "./units.js";

/** Shows content in a dialog; resolves when it is closed. */
export function dialog(title, build) {
  const id = newId("d"), node = h("dialog", { "aria-labelledby": id });
  const close = () => node.close();
  const body = h("div", { class: "dialog-body" });
  node.append(h("form", { method: "dialog", class: "dialog-head" }, h("h2", { id }, title), h("button", { class: "small", "aria-label": "Close" }, "Close")), body);
  fill(body, build(close));
  document.body.append(node);
  node.addEventListener("close", () => node.remove());
  node.showModal();
  return node;
}

const number = (name, label, value, min, max, rest = {}) => {
  const id = newId("f"), length = rest.length ?? true;
  return h("div", { class: "field" }, h("label", { for: id }, label, length ? h("span", { class: "unit" }, ` ${lengthUnit()}`) : null),
    h("input", {
      id, name, type: "number", required: true, value: length ? toLength(value) : value, min: length ? toLength(min) : min, max: length ? toLength(max) : max,
      step: length ? "any" : 1, inputMode: "decimal", "data-length": String(length),
    }));
};

export function newRoomDialog(made) {
  return dialog("A new room", (close) => {
    const paint = newId("p"), title = newId("t");
    const form = h("form", {
      class: "fields",
      onsubmit: (event) => {
        event.preventDefault();
        const given = { paint: form.elements.paint.value, title: form.elements.title.value };
        for (const input of form.querySelectorAll("input[type=number]")) given[input.name] = input.dataset.length === "true" ? fromLength(Number(input.value)) : Number(input.value);
        made(given);
        close();
      },
    },
    h("div", { class: "field" }, h("label", { for: title }, "Its name"), h("input", { id: title, name: "title", value: "New room", maxLength: 200 })),
    h("div", { class: "pair" },
      number("width_m", "Width", 4, 2, 30), number("depth_m", "Depth", 5.5, 2.5, 40), number("height_m", "Height", 2.5, 2, 12),
      number("screen_width_m", "Picture width, at most", 2.4, 0.8, 15), number("light_output_lm", "Light output, lm", 1800, 50, 60000, { length: false }),
      number("rows", "Rows of seats", 1, 1, 3, { length: false }), number("seats_a_row", "Seats a row", 3, 1, 7, { length: false })),
    h("div", { class: "field" }, h("label", { for: paint }, "Walls, ceiling and floor"), h("select", { id: paint, name: "paint" },
      [["light", "light, a living room"], ["middle", "greys"], ["dark", "dark"]].map(([value, text]) => h("option", { value, selected: value === "middle" }, text)))),
    h("p", { class: "hint" }, "The rest is set to everyday values; change them afterwards."),
    h("button", { class: "main" }, "Make it"));
    return form;
  });
}

/** List of files and library scenes, and a file from anywhere. open(name, library), read(file). */
export function openDialog({ names, folder, scenes, open, read }) {
  return dialog("Open a scene", (close) => {
    const pick = newId("o");
    const entry = (text, line, act) => h("li", {}, h("button", { class: "entry-button", onclick: () => { act(); close(); } }, h("strong", {}, text), line ? h("span", {}, line) : null));
    return [
      h("h3", {}, `In the folder ${folder || "of this page"}`),
      names.length ? h("ul", { class: "choices" }, names.map((name) => entry(name, "", () => open(name, false)))) : h("p", { class: "hint" }, "No scene files there yet."),
      h("h3", {}, "From the library"),
      h("ul", { class: "choices" }, scenes.map(({ name, title, line }) => entry(title, line, () => open(name, true)))),
      h("div", { class: "field" }, h("label", { for: pick }, "A file from elsewhere"), h("input", {
        id: pick, type: "file", accept: ".toml", onchange: (event) => { const [file] = event.target.files; if (file) { read(file); close(); } },
      })),
    ];
  });
}

/** Name to save under. save(name), fetch(name) for a copy by the browser. */
export function saveDialog({ name, folder, save, fetch }) {
  return dialog("Save the scene", (close) => {
    const id = newId("s"), input = h("input", { id, value: name, required: true, pattern: "[^\\/\\\\]+\\.toml", title: "a file name that ends in .toml, without folders" });
    return h("form", { class: "fields", onsubmit: (event) => { event.preventDefault(); save(input.value); close(); } },
      h("div", { class: "field" }, h("label", { for: id }, `File name in the folder ${folder || "of this page"}`), input),
      h("div", { class: "row" }, h("button", { class: "main" }, "Save"), h("button", { type: "button", onclick: () => { fetch(input.value); close(); } }, "Download a copy")));
  });
}

export function confirmDialog(title, words, action, act) {
  return dialog(title, (close) => [h("p", {}, words), h("div", { class: "row" },
    h("button", { class: "main", onclick: () => { act(); close(); } }, action), h("button", { onclick: close }, "Leave it"))]);
}
