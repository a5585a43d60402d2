/* The page's own keys for a number, with fractions where it is in inches: a tablet's have none. */

import { find, make } from "./elements.js";

const NAMES = { "⌫": "rub out", ".": "point", "/": "stroke", "-": "and" };
const DIGITS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"];
const FRACTIONS = ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8", "1/16", "/", "-"];

function pressInto(field, key) {
  if (field.selectionStart === 0 && field.selectionEnd === field.value.length) field.value = "";
  if (key === "⌫") field.value = field.value.slice(0, -1);
  else if (key.length === 3) field.value += (/\d$/.test(field.value) ? "-" : "") + key;
  else if (field.value.length < 20) field.value += key;
  field.setSelectionRange(field.value.length, field.value.length);
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

export function keysFor(field, unit) {
  const key = (one) => make("button", {
    type: "button", class: "key", "aria-label": NAMES[one] || null, on: () => pressInto(field(), one),
  }, one);
  const group = (kind, label, list) => make(
    "div", { class: kind, role: "group", "aria-label": label }, ...list.map(key));
  return [group("keys", "Keys", DIGITS), unit === "in" ? group("keys fractions", "Fractions", FRACTIONS) : null];
}

/* Numbers on a form: the keys under the one that is being typed. */
function padUnder(field) {
  if (find("#pad") && find("#pad").dataset.of === field.name) return;
  if (find("#pad")) find("#pad").remove();
  const keys = keysFor(() => field, field.dataset.pad);
  const pad = make("div", { id: "pad", class: "pad", "data-of": field.name }, ...keys);
  (field.closest(".chips, .line") || field).after(pad);
}

document.addEventListener("focusin", (focus) => {
  if (focus.target.dataset && focus.target.dataset.pad) padUnder(focus.target);
});
