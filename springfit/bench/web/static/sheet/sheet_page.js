/* The page of a sheet in the making: what stands on it, with what still waits here, and the view it opens with. */

import { call } from "../calls.js";
import { button, find, make } from "../elements.js";
import { sendAll, sendLater, waitingEvents } from "../kept_events.js";
import { bellsView } from "./bells.js";
import { doneView, finishView } from "./finishing.js";
import { keypadView } from "./keypad.js";
import { go, isBatch, placeKey, sheet, show, views, wayBefore } from "./sheet.js";
import { profileView } from "./stations.js";
import { chooseWay, waysView } from "./ways.js";

const AGAIN = 3000; // ms

Object.assign(views, {
  bells: bellsView, ways: waysView, way: chooseWay, profile: profileView, keypad: keypadView, done: doneView,
  finish: finishView,
});

async function open() {
  sheet.id = find("#heading").dataset.sheet;
  try {
    await sendAll();
  } catch { sendLater(); }
  const answer = await call(`/call/sheet/${sheet.id}`).catch(() => null);
  if (!answer || answer.status !== 200) { noSheet(answer && answer.status === 404); return; }
  sheet.view = answer.said;
  sheet.readings = new Map(answer.said.readings.map((one) => [placeKey(one.place), one.taken]));
  waitingEvents(sheet.id).forEach(({ event }) => addWaiting(event));
  const before = wayBefore();
  if (before && (!isBatch() || sheet.view.bells.some((one) => one.id === before.bell))) {
    sheet.bell = before.bell;
    chooseWay(before.way);
  } else {
    go(isBatch() ? "bells" : "profile");
  }
}

function noSheet(finished) {
  const words = finished ? "This sheet is finished."
    : "The shop's computer does not answer. What was entered is kept; this page tries again.";
  show(make("p", {}, words),
    make("p", { class: "row" },
      button("Try again", open, "go"), make("a", { class: "button", href: "/" }, "To the shop")));
  if (!finished) setTimeout(open, AGAIN);
}

/* What was entered here and could not be sent yet stands on the sheet like the rest. */
function addWaiting(event) {
  if (event.what === "reading") sheet.readings.set(placeKey(event.place), { ...event, event_id: event.id });
  if (event.what === "bell" && !sheet.view.bells.some((one) => one.id === event.bell)) {
    sheet.view.bells.unshift({ id: event.bell, cells: event.cells });
  }
}

open();
