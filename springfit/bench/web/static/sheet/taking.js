/* A value taken: kept and answered; asked about again where it is doubted or another tablet was first. */

import { newId } from "../calls.js";
import { all, button, find, make } from "../elements.js";
import { save } from "../kept_events.js";
import { number } from "../typed_lengths.js";
import { addDot, drawCurve } from "./curve_figure.js";
import { go, kindOf, placeKey, sheet, takenAt } from "./sheet.js";

let busy = false;

function event(place, outcome, typed, answer = "") {
  const before = takenAt(place);
  return {
    id: newId(), what: "reading", place, outcome, typed, unit: kindOf(place).unit, answer,
    replaces: before ? before.event_id : "", at: new Date().toISOString(),
  };
}

export async function takeOutcome(outcome) {
  const place = sheet.places[sheet.at];
  await takeEvent(place, event(place, outcome, ""));
}

export async function takeValue() {
  const place = sheet.places[sheet.at];
  const typed = find("#value").value.trim();
  const before = takenAt(place);
  if (!typed) { doubt("Nothing was typed.", ["Type a value, or tap Skip or Not reached."]); return; }
  if (before && before.outcome === "value" && before.typed === typed && !before.doubted) {
    go("keypad", sheet.at + 1);
    return;
  }
  if (!Number.isFinite(number(typed))) { doubt(`${typed} is no number.`, ["Such as 2.375 or 2-3/8."]); return; }
  const stands = before && before.doubted && before.typed === typed;
  await takeEvent(place, event(place, "value", typed, stands ? "stands" : ""));
}

async function takeEvent(place, made) {
  if (busy) return;
  busy = true;
  all(".steps button").forEach((one) => { one.disabled = true; });
  try {
    const answer = await save(sheet.id, made);
    if (answer && answer.problem) { doubt("That could not be taken.", [answer.problem]); return; }
    if (answer && answer.taken) { otherTablet(place, made, answer.taken); return; }
    sheet.readings.set(placeKey(place), { ...made, event_id: made.id });
    if (answer && answer.dot) addDot(answer.dot);
    if (answer && answer.doubts && answer.doubts.length) { readAgain(place, made, answer.doubts); return; }
    go("keypad", sheet.at + 1);
  } finally {
    busy = false;
    all(".steps button").forEach((one) => { one.disabled = false; });
  }
}

function doubt(title, lines, ...buttons) {
  find("#doubt").replaceChildren(make("p", { class: "title" }, title),
    ...lines.filter(Boolean).map((line) => make("p", {}, line)), make("p", { class: "row" }, ...buttons));
}

function sentence(words) {
  return words ? `${words[0].toUpperCase()}${words.slice(1)}${/[.?]$/.test(words) ? "" : "."}` : "";
}

function readAgain(place, made, doubts) {
  takenAt(place).doubted = true;
  const impossible = doubts.some((one) => one.grade === "error");
  const lines = doubts.flatMap(
    (one) => [sentence(one.what), one.expected ? `Expected ${one.expected}.` : "", sentence(one.remedy)]);
  const again = button("Read again", () => {
    find("#doubt").replaceChildren();
    find("#value").value = "";
    find("#value").focus();
  }, "go");
  doubt("Read again?", lines, again,
    impossible ? button("Leave it out", () => takeOutcome("skipped"))
      : button(`It stands: ${made.typed}`, () => takeEvent(place, event(place, "value", made.typed, "stands"))));
  find("#value").select(); // the next key begins a new value
  drawCurve();
  again.focus();
}

function otherTablet(place, made, taken) {
  const there = taken.outcome === "value" ? taken.typed : taken.outcome;
  sheet.readings.set(placeKey(place), { typed: taken.typed, outcome: taken.outcome, event_id: taken.id });
  doubt(`Another tablet wrote ${there} here.`, [`You have ${made.typed || made.outcome}.`],
    button(`Keep ${there}`, () => go("keypad", sheet.at + 1), "go"),
    button("Mine stands", () => takeEvent(place, event(place, made.outcome, made.typed, made.answer))));
}
