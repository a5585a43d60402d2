/* How a bell is measured: a way as before on this mandrel, another way, and where the line was scribed. */

import { button, find, make, say } from "../elements.js";
import { number } from "../typed_lengths.js";
import { loadCurve } from "./curve_figure.js";
import { chips, input, picked, verdictPart } from "./fields.js";
import { bellCells, go, isBatch, kindOf, rememberWay, sheet, show, takenAt, tellBell } from "./sheet.js";
import { stationParts, typedStations } from "./stations.js";

const STILL_TO_SAY = { kind: "what is read", datum: "where z is counted from", stage: "the stage", gauge: "the gauge" };
const ANGLES = ["0", "90", "180", "270"];

export function waysView() {
  const wayWords = (way) => `${way.label}: ${way.stations.length} stations`;
  const asBefore = (way) => button(wayWords(way), () => chooseWay(way), "wide-button");
  const asJustNow = () => button(`As just now: ${sheet.places.length} places`, () => chooseWay(sheet.way), "go");
  show(
    make("h2", {}, `${sheet.bell}: how is it measured?`),
    sheet.way ? make("p", { class: "row" }, asJustNow()) : null,
    sheet.view.ways.length ? make("p", {}, "As before on this mandrel:") : null,
    make("ul", { class: "cards" }, ...sheet.view.ways.map((way) => make("li", {}, asBefore(way)))),
    make("p", { class: "row" }, button("Another way", otherWayView), button("Bells", () => go("bells"))),
    bellCells().known ? null : verdictPart(),
  );
}

function otherWayView() {
  const { kinds, datums, stages, gauges } = sheet.view;
  const labels = (list) => list.map((one) => [one.name, one.label]);
  const gaugeLabels = gauges.map((one) => [one.id, one.what ? `${one.id}: ${one.what}` : one.id]);
  const angleLabels = ANGLES.map((angle) => [angle, `${angle}°`]);
  show(
    make("h2", {}, `${sheet.bell}: another way`),
    chips("kind", "What is read", labels(kinds), ""),
    chips("datum", "Where z is counted from", labels(datums), ""),
    chips("stage", "Stage", labels(stages), ""),
    chips("gauge", "Gauge", gaugeLabels, ""),
    chips("angle", "Angles from the seam; none ticked: not written down", angleLabels, [], true),
    gauges.length ? null : make("p", {}, "The book has no gauge yet: ",
      make("a", { href: "/new/gauge", class: "button" }, "New gauge")),
    ...stationParts(),
    make("p", { class: "row" }, button("Begin", beginOtherWay, "go"), button("Back", waysView)),
  );
}

function beginOtherWay() {
  const way = { angles: picked("angle") };
  for (const name of ["kind", "datum", "stage", "gauge"]) {
    [way[name]] = picked(name);
    if (!way[name]) { say(`Still to say: ${STILL_TO_SAY[name]}.`); return; }
  }
  way.stations = typedStations();
  if (!way.stations) return;
  if (!way.angles.length) way.angles = [""];
  chooseWay(way);
}

export function chooseWay(way) {
  sheet.way = way;
  const bell = isBatch() ? sheet.bell : sheet.view.subject;
  const unit = kindOf(way).fixed_unit;
  sheet.places = way.stations.flatMap((fixed) => way.angles.map((angle) => (
    { bell, stage: way.stage, kind: way.kind, datum: way.datum, fixed, unit, angle, gauge: way.gauge })));
  rememberWay(way);
  if (way.datum === "witness" && !bellCells().known && !bellCells().witness_z) { witnessView(); return; }
  const first = sheet.places.findIndex((place) => !takenAt(place));
  go("keypad", first < 0 ? sheet.places.length : first);
  loadCurve();
}

function witnessView() {
  const { unit, witness } = sheet.view;
  const scribed = (z) => { tellBell({ witness_z: z }); chooseWay(sheet.way); };
  show(make("h2", {}, `${sheet.bell}: where was the line scribed?`),
    witness ? make("p", { class: "row" }, button(`As before: ${witness}`, () => scribed(witness), "go")) : null,
    input("witness", `Station on the mandrel, before release (${unit})`, ""),
    make("p", { class: "row" },
      button("Keep", () => {
        const typed = find('[name="witness"]').value;
        if (!Number.isFinite(number(typed))) { say("Say it as a number, such as 9-1/4."); return; }
        scribed(typed);
      }, "go"),
      button("Back", waysView)));
  find('#stage button, [name="witness"]').focus();
}
