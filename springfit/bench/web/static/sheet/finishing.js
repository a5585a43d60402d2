/* The end of a way, and of the sheet: what was skipped, what goes into the book, and what the book says to it. */

import { call } from "../calls.js";
import { button, find, make, say } from "../elements.js";
import { sendAll, sendLater } from "../kept_events.js";
import { newBell, nextBell } from "./bells.js";
import { drawCurve } from "./curve_figure.js";
import { verdictPart } from "./fields.js";
import { bellCells, forgetWay, go, isBatch, rememberWay, sheet, show, takenAt } from "./sheet.js";

const PATIENCE = 60000; // ms that the shop's computer is given to come back
const BETWEEN = 2000; // ms from one try to the next
const LONGEST_WRITING = 180000; // ms

export function doneView() {
  const batch = isBatch();
  const skipped = sheet.places.filter((place) => (takenAt(place) || {}).outcome === "skipped");
  forgetWay();
  show(make("h2", {}, batch ? `${sheet.bell}: that was the last station` : "That was the last station"),
    skipped.length ? make("p", {}, `Skipped: ${skipped.map((place) => place.fixed).join(", ")}.`) : null,
    make("p", { class: "row" },
      batch ? button("Next bell", () => newBell(nextBell()), "go") : button("Finish: into the book", finishView, "go"),
      batch ? button("Same bell, another way", () => go("ways")) : null,
      button("Back to the values", backToTheValues),
      batch ? button("Finish: into the book", finishView) : null),
    batch && !bellCells().known ? verdictPart() : null,
    make("figure", { id: "curve" }));
  drawCurve();
}

function backToTheValues() {
  rememberWay(sheet.way);
  go("keypad", 0);
}

const counted = (number, what) => `${number} ${what}${number === 1 ? "" : "s"}`;

export function finishView() {
  const values = [...sheet.readings.values()].filter((taken) => taken.outcome === "value").length;
  const { subject, bells } = sheet.view;
  const words = isBatch() ? `${counted(bells.length, "bell")}, ${counted(values, "value")}` : `${values} stations`;
  show(make("h2", {}, "Into the book?"),
    make("p", {}, `${subject}: ${words}.`),
    make("p", { class: "row" },
      button("Put it in the book", putIn, "go"), button("Not yet", () => go(isBatch() ? "bells" : "profile"))),
    make("ul", { id: "problems" }));
}

/* What waits goes first; the shop's computer is given a minute to come back. */
async function allSent() {
  const until = Date.now() + PATIENCE;
  for (;;) {
    try {
      await sendAll();
      return;
    } catch (failed) {
      if (Date.now() > until) throw failed;
      say("The shop's computer does not answer yet; trying again.");
      await new Promise((done) => { setTimeout(done, BETWEEN); });
    }
  }
}

async function putIn() {
  say("Looking it through and writing it.");
  let done;
  try {
    await allSent();
    done = await call(`/call/sheet/${sheet.id}/finish`, {}, LONGEST_WRITING);
  } catch {
    sendLater();
    say("The shop's computer does not answer. Nothing is lost: try again in a moment.");
    return;
  }
  if (done.status !== 200) {
    say("It is not in the book yet; everything is kept.");
    const problems = done.said.problems || [done.said.problem];
    find("#problems").replaceChildren(...problems.map((one) => make("li", {}, one)));
    return;
  }
  forgetWay();
  show(make("h2", {}, "It is in the book"),
    make("ul", { id: "lines" }, ...done.said.lines.map((line) => make("li", {}, line))),
    make("p", { class: "row" }, make("a", { class: "button go", href: "/" }, "To the shop")));
}
