/* What the shop's computer does at length: learning and reports, begun and followed, and the book taken back a step. */

import { call } from "./calls.js";
import { button, find, make, say } from "./elements.js";

export async function beginWork(path, body) {
  const { status, said } = await call(path, body).catch(() => ({ said: { problem: "no answer; try again" } }));
  if (status !== 200) { say(said.problem); return; }
  if (document.body.dataset.page === "work") watchWork(); else location.href = "/work";
}

export async function watchWork() {
  const answer = await call("/call/work", undefined, 120000).catch(() => null);
  if (!answer || answer.status !== 200) { setTimeout(watchWork, 3000); return; }
  const work = answer.said;
  if (!work.running) find("#learned").textContent = learnedWords(work.not_learned);
  const now = workWords(work);
  if (find("#progress").textContent !== now) find("#progress").textContent = now;
  find("#done").hidden = !work.done;
  find("#done").textContent = work.done;
  find('[data-do="learn"]').disabled = work.running;
  if (work.running) setTimeout(watchWork, 1000);
}

function learnedWords(lacking) {
  if (lacking === null) return "Nothing was learned yet.";
  if (!lacking.length) return "The model has learned every measured batch.";
  return `The model has not learned: ${lacking.join(", ")}. It orders no cut before it has.`;
}

function workWords(work) {
  if (work.running) return `${work.title}: ${work.progress}`;
  if (work.problems.length) return `${work.title}: ${work.problems.join("; ")}`;
  return work.done ? `${work.title}: done.` : "Nothing.";
}

export function askUndo(from) {
  const place = find("#said");
  const yes = button("Yes, take it back", async () => {
    place.textContent = "Taking it back.";
    const { said } = await call("/call/undo", {});
    place.textContent = said.problem ? [said.problem, ...(said.problems || [])].join("; ") : said.lines.join("; ");
    if (said.sheet) place.append(" ", make("a", { class: "button go", href: `/sheet/${said.sheet}` }, "Open it again"));
  }, "go");
  place.replaceChildren("Take back what was added to the book last? ", yes, " ",
    button("No", () => { place.replaceChildren(); from.focus(); }));
  yes.focus();
}
