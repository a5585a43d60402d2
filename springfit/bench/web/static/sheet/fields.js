/* Fields of a sheet's views: chips of which one or more are picked, lines to type in, the verdict on a bell. */

import { all, make } from "../elements.js";
import { bellCells, sheet, tellBell } from "./sheet.js";

export function chips(name, legend, options, chosen, many = false) {
  const chip = ([value, label]) => make("label", { class: "chip" },
    make("input", {
      type: many ? "checkbox" : "radio", name, value, checked: many ? chosen.includes(value) : value === chosen,
    }),
    make("span", {}, label));
  return make("fieldset", { class: "choose" }, make("legend", {}, legend),
    make("div", { class: "chips" }, ...options.map(chip)));
}

export const picked = (name) => all(`input[name="${name}"]:checked`).map((one) => one.value);

export function input(name, label, value) {
  return make("label", { class: "line" }, make("span", {}, label),
    make("input", {
      class: "typed", name, value, inputmode: "none", "data-pad": sheet.view.unit, autocomplete: "off", maxlength: "20",
    }));
}

export function verdictPart() {
  const options = [["good", "good"], ["rework", "rework"], ["scrap", "scrap"]];
  const part = chips("verdict", "Verdict on this bell", options, bellCells().verdict || "");
  part.addEventListener("change", () => tellBell({ verdict: picked("verdict")[0] }));
  return part;
}
