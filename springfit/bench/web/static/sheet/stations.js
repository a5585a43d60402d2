/* Stations from the first to the last, and a mandrel's or a wanted bell's own. */

import { newId } from "../calls.js";
import { button, find, make, say } from "../elements.js";
import { keep, sendAll, sendLater } from "../kept_events.js";
import { inMarks, number } from "../typed_lengths.js";
import { chips, input, picked } from "./fields.js";
import { go, placeKey, sheet, show } from "./sheet.js";

const MOST_STATIONS = 400;
const NO_STATIONS = "Say the first and the last station as numbers, such as 0 and 12-1/2.";

const spacings = () => (sheet.view.unit === "in" ? ["1/4", "1/2", "1", "2"] : ["5", "10", "20", "50"]);

export function stationParts() {
  const unit = sheet.view.unit;
  return [
    chips("spacing", `Stations every (${unit})`, spacings().map((one) => [one, one]), spacings()[2]),
    make("div", { class: "row" },
      input("from", `First (${unit})`, "0"), input("to", `Last (${unit})`, sheet.view.length || "")),
  ];
}

/* The stations that were asked for; null, and it is said, where they are no numbers. */
export function typedStations() {
  const [from, to] = [number(find('[name="from"]').value), number(find('[name="to"]').value)];
  const step = number(picked("spacing")[0] || "");
  if (![from, to, step].every(Number.isFinite) || to < from || (to - from) / step > MOST_STATIONS) {
    say(NO_STATIONS);
    return null;
  }
  const mark = (value) => inMarks(value, sheet.view.unit);
  const found = [];
  for (let n = 0; from + n * step <= to + 1e-9; n += 1) found.push(mark(from + n * step));
  if (to - number(found[found.length - 1]) > 1e-6) found.push(mark(to));
  return found;
}

export function profileView() {
  const kind = sheet.view.kinds[0];
  const line = sheet.view.line;
  show(
    make("h2", {}, `${kind.label}: its stations`),
    make("p", {}, "At least 8 stations, tail to rim."),
    ...stationParts(),
    make("p", { class: "row" },
      button("Begin", () => beginProfile(kind), "go"),
      line && line.length ? button("As the mandrel stands", asMandrel) : null,
      button("Finish: into the book", () => go("finish"))),
  );
}

function beginProfile(kind) {
  const stations = typedStations();
  if (stations) go("way", { kind: kind.name, datum: "tail", stage: "", gauge: "", angles: [""], stations });
}

async function asMandrel() {
  say("Writing down the line of the mandrel.");
  const { subject, unit } = sheet.view;
  for (const [fixed, typed] of sheet.view.line) {
    const place = { bell: subject, stage: "", kind: "target", datum: "tail", fixed, unit, angle: "", gauge: "" };
    const event = {
      id: newId(), what: "reading", place, outcome: "value", typed, unit, answer: "", replaces: "",
      at: new Date().toISOString(),
    };
    keep(sheet.id, event);
    sheet.readings.set(placeKey(place), { ...event, event_id: event.id });
  }
  try { await sendAll(); } catch { sendLater(); }
  go("finish");
}
