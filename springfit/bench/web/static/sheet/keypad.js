/* Value by value: one place is asked for at a time, with the keys under the thumb. */

import { button, find, make } from "../elements.js";
import { keysFor } from "../number_keys.js";
import { drawCurve } from "./curve_figure.js";
import { forgetWay, go, isBatch, kindOf, sheet, show, takenAt } from "./sheet.js";
import { takeOutcome, takeValue } from "./taking.js";

const STANDS = { skipped: "skipped", not_reached: "not reached" };

function placeWords(place) {
  return `${kindOf(place).sets} ${place.fixed} ${place.unit}${place.angle ? `, ${place.angle}°` : ""}`;
}

export function keypadView(at) {
  sheet.at = at;
  const place = sheet.places[at];
  if (!place) { go("done"); return; }
  const form = make("form", { class: "keypad", novalidate: true, autocomplete: "off" },
    ...askedParts(place, takenAt(place)),
    make("div", { id: "doubt", role: "alert" }),
    ...keysFor(() => find("#value"), kindOf(place).unit),
    make("div", { class: "steps" },
      button("Back", () => keypadView(Math.max(0, sheet.at - 1))),
      button("Skip", () => takeOutcome("skipped")),
      button("Not reached", () => takeOutcome("not_reached")),
      make("button", { type: "submit", class: "go" }, "Next")),
    make("figure", { id: "curve" }),
    make("p", { class: "row" }, button(isBatch() ? "Other way or bell" : "Stations", leaveKeys)));
  form.addEventListener("submit", (submit) => { submit.preventDefault(); takeValue(); });
  show(form);
  document.body.classList.add("typing"); // the keys come up to the thumb
  drawCurve();
  const field = find("#value");
  field.focus({ preventScroll: true });
  field.select();
}

/* Whose value is asked for and where, its field, and what stands there already. */
function askedParts(place, stands) {
  const kind = kindOf(place);
  const value = stands && stands.outcome === "value" ? stands.typed : "";
  const said = stands ? `Stands: ${stands.outcome === "value" ? stands.typed : STANDS[stands.outcome]}` : "";
  const counted = `${sheet.at + 1} of ${sheet.places.length}`;
  return [
    make("p", { class: "whose" }, isBatch() ? `${place.bell}, ${counted}` : counted),
    make("label", { class: "asked", for: "value" }, `${kind.asks[0].toUpperCase()}${kind.asks.slice(1)}, `,
      make("strong", { id: "place" }, placeWords(place)), ` (${kind.unit})`),
    make("input", { id: "value", class: "reading", inputmode: "none", maxlength: "20", value }),
    make("p", { class: "stands quiet" }, said),
  ];
}

function leaveKeys() {
  forgetWay();
  go(isBatch() ? "ways" : "profile");
}
