/* A sheet is begun: the shop's computer has it on its disk, or it is said that it waits. */

import { newId } from "./calls.js";
import { say } from "./elements.js";
import { save } from "./kept_events.js";

export async function begin(kind, subject, unit, cells, known) {
  const sheet = newId();
  const event = { id: newId(), what: "start", kind, subject, unit, cells, known, at: new Date().toISOString() };
  const answer = await save(sheet, event);
  if (answer && answer.problem) { say(answer.problem); return null; }
  if (!answer) { say("The shop's computer does not answer. It is kept here and sent again by itself."); return null; }
  return sheet;
}

export async function measure(batch, unit) {
  const sheet = await begin("batch", batch, unit, {}, true);
  if (sheet) location.href = `/sheet/${sheet}`;
}
