// The head of the page: the scene's name, variants, one step back, files, units, the connection.

import { h, morph } from "./dom.js";
import { INCHES, METRIC, unitSystem } from "./units.js";

export class Header {
  constructor(app, layout) {
    this.app = app;
    const button = (text, act, rest = {}) => h("button", { onclick: act, ...rest }, text);
    this.title = h("input", {
      id: "scene-title", value: "", maxLength: 200, "aria-label": "Name of the scene",
      onchange: () => { if (this.title.value.trim()) app.set("title", this.title.value.trim(), null); },
    });
    this.undo = button("Undo", () => app.undo(), { title: "Ctrl+Z", "data-focus": "undo" });
    this.redo = button("Redo", () => app.redo(), { title: "Ctrl+Shift+Z", "data-focus": "redo" });
    this.variants = h("div", { class: "variants", role: "group", "aria-label": "Variants" });
    this.unitSelect = h("select", { "aria-label": "Units", onchange: () => app.setUnits(this.unitSelect.value) },
      h("option", { value: METRIC }, "metres, cd/m²"), h("option", { value: INCHES }, "inches, fL"));
    this.link = h("span", { class: "link", role: "status" });
    this.saved = h("span", { class: "hint saved" });
    this.node = h("header", { class: "head" },
      h("div", { class: "row name" }, h("h1", { class: "brand" }, "halfgain"), this.title, this.saved, this.link),
      h("div", { class: "row tools" },
        button("New room", () => layout.newRoom()), button("Open", () => { if (!app.socket.tell("files")) layout.message("There is no connection.", "bad"); }),
        button("Save", () => layout.saveDialog()), button("Report", () => app.report()),
        h("span", { class: "gap" }), this.undo, this.redo, h("span", { class: "gap" }), this.variants, h("span", { class: "gap" }), this.unitSelect));
    document.addEventListener("keydown", (event) => this.keys(event));
  }

  keys(event) {
    if (!(event.ctrlKey || event.metaKey) || event.target.matches("textarea, input:not([type=range])") || document.querySelector("dialog[open]")) return;
    const key = event.key.toLowerCase();
    if (key === "z" && !event.shiftKey) this.app.undo();
    else if (key === "y" || (key === "z" && event.shiftKey)) this.app.redo();
    else return;
    event.preventDefault();
  }

  show() {
    const { app } = this, { variant } = app;
    if (document.activeElement !== this.title) this.title.value = variant.scene?.title ?? "";
    this.undo.disabled = !variant.past.length;
    this.redo.disabled = !variant.future.length;
    this.saved.textContent = variant.used ? `${variant.name}${variant.unsaved ? ", not saved" : ""}` : "";
    const pick = (slot) => h("button", {
      class: `slot ${slot}`, "aria-pressed": String(app.active === slot), "data-focus": `slot ${slot}`, onclick: () => app.activate(slot),
      "aria-label": `Change variant ${slot.toUpperCase()}`,
    }, slot.toUpperCase());
    morph(this.variants, app.both
      ? [pick("a"), pick("b"), h("button", { "data-focus": "beside", onclick: () => app.single() }, `Keep only ${app.active.toUpperCase()}`)]
      : [h("button", { "data-focus": "beside", onclick: () => app.beside() }, "Compare with a copy")]);
  }

  connection(word) {
    this.link.textContent = word === "lost" ? "Connection lost; trying again …" : "";
    this.link.classList.toggle("lost", word === "lost");
  }

  units() { this.unitSelect.value = unitSystem(); }
}
