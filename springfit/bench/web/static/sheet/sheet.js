/* The sheet in the making as it stands in this browser, and the way from one view of it to the next. */

import { newId } from "../calls.js";
import { find, say } from "../elements.js";
import { save } from "../kept_events.js";

const AT = "springfit:at:";

export const sheet = { id: "", view: null, readings: new Map(), bell: null, way: null, places: [], at: 0 };

/* The views by name, so that none has to know the others: a maker goes back and forth between them. */
export const views = {};
export const go = (view, ...given) => views[view](...given);

export const isBatch = () => sheet.view.kind === "batch";

export const placeKey = (place) => JSON.stringify(
  [place.bell, place.stage, place.kind, place.datum, place.fixed, place.unit, place.angle, place.gauge]);

export const takenAt = (place) => sheet.readings.get(placeKey(place));

export const kindOf = (way) => sheet.view.kinds.find((one) => one.name === way.kind);

export function show(...inside) {
  document.body.classList.remove("typing");
  find("#stage").replaceChildren(...inside.filter(Boolean));
  say("");
}

/* Where this tablet is, for when the page is loaded again. */
export const rememberWay = (way) => localStorage.setItem(AT + sheet.id, JSON.stringify({ bell: sheet.bell, way }));
export const forgetWay = () => localStorage.removeItem(AT + sheet.id);
export const wayBefore = () => JSON.parse(localStorage.getItem(AT + sheet.id) || "null");

export function bellCells() {
  const bell = sheet.view.bells.find((one) => one.id === sheet.bell);
  return bell ? bell.cells : {};
}

export async function tellBell(cells) {
  Object.assign(bellCells(), cells);
  await saveBell(sheet.bell, cells);
}

export const saveBell = (bell, cells) => save(
  sheet.id, { id: newId(), what: "bell", bell, cells, at: new Date().toISOString() });
