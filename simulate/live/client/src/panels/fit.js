// Whether it can be built: throw and shift, and what the scene should be warned of, each with what would mend it.

import { h } from "../dom.js";
import { inUnits, lengthText } from "../units.js";

export function fitPanel(scene, mend) {
  const { feasible, lines } = scene.throw;
  const word = feasible === true ? ["The projector fits", "good"] : feasible === false ? ["The projector does not fit", "bad"] : ["Whether the projector fits is not known: its zoom range and lens shift are not stated", "open"];
  return [
    h("p", { class: `fits ${word[1]}` }, h("strong", {}, word[0]), "."),
    h("ul", { class: "plain" }, lines.map((line) => h("li", {}, inUnits(line)))),
    scene.warnings.length ? h("ul", { class: "warnings" }, scene.warnings.map((warning, k) => h("li", {}, inUnits(warning.text),
      warning.remedies.length ? h("button", { class: "small", "data-focus": `mend ${k}`, onclick: () => mend(warning.remedies) }, `Do it: ${remedyWords(warning.remedies)}`) : null))) : null,
    scene.notes.length ? h("details", {}, h("summary", {}, "What was taken for granted"), h("ul", { class: "plain" }, scene.notes.map((note) => h("li", {}, inUnits(note))))) : null,
  ];
}

const remedyWords = (remedies) => remedies.map(({ key, axis, to_m }) => `${key === "projector.lens_m" ? "lens" : key.split(".").at(-1).replace(/_m$/, "").replaceAll("_", " ")} ${axis} ${lengthText(to_m)}`.replace("  ", " ")).join(", ");
