// The scene's text: typed in, judged while it is typed; what is wrong is told by line, the last good room stays.

import { fill, h } from "./dom.js";

export class SceneText {
  constructor(app) {
    this.app = app;
    this.area = h("textarea", {
      id: "scene-text", spellcheck: false, rows: 24, "aria-describedby": "scene-text-errors", wrap: "off",
      oninput: () => { this.dirty = true; app.typed(this.area.value); },
    });
    this.area.setAttribute("autocomplete", "off");
    this.list = h("div", { id: "scene-text-errors", class: "text-errors" });
    this.node = h("details", { class: "card scene-text" }, h("summary", {}, "The scene's text"),
      h("label", { for: "scene-text" }, "As the scene file holds it; every change by hand stands in it too"), this.list, this.area);
  }

  /** The variant's text anew, whatever stood here. */
  take() {
    this.dirty = false;
    this.show();
  }

  show() {
    const { text, errors } = this.app.variant;
    if (this.dirty && (errors.length || document.activeElement === this.area)) return; // being typed
    this.dirty = false;
    if (this.area.value !== text) this.area.value = text;
  }

  errors(errors) {
    const here = this.dirty ? errors : [];
    this.area.setAttribute("aria-invalid", String(here.length > 0));
    fill(this.list, here.map((each) => h("p", {}, each.line ? h("button", { class: "small", onclick: () => this.goTo(each.line) }, `Line ${each.line}`) : null, ` ${each.text}`)));
  }

  goTo(line) {
    const rows = this.area.value.split("\n"), start = rows.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    this.area.focus();
    this.area.setSelectionRange(start, start + (rows[line - 1] ?? "").length);
    this.area.scrollTop = (this.area.scrollHeight * (line - 4)) / rows.length;
  }
}
