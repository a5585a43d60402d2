/* Every page at the bench: its buttons, and what waits in this browser is shown and sent. */

import { measure } from "./begun_sheet.js";
import { anyWaits, sendLater, showWaiting } from "./kept_events.js";
import { askUndo, beginWork } from "./work.js";

document.addEventListener("click", (tap) => {
  const does = tap.target.closest("[data-do]");
  if (!does) return;
  if (does.dataset.do === "measure") measure(does.dataset.batch, does.dataset.unit);
  if (does.dataset.do === "learn") beginWork("/call/learn", {});
  if (does.dataset.do === "correct") beginWork("/call/correct", { target: does.dataset.target });
  if (does.dataset.do === "undo") askUndo(does);
});
showWaiting();
if (document.body.dataset.page !== "enter" && anyWaits()) sendLater();
