/* Which bell of the batch: those that were begun, and a new one. */

import { button, make } from "../elements.js";
import { forgetWay, go, saveBell, sheet, show } from "./sheet.js";

function count(bell) {
  let values = 0;
  for (const [key, taken] of sheet.readings) if (JSON.parse(key)[0] === bell && taken.outcome === "value") values += 1;
  return values;
}

function bellWords(bell) {
  const values = count(bell.id);
  const verdict = bell.cells.verdict ? `, ${bell.cells.verdict}` : "";
  return `${bell.id}: ${values} value${values === 1 ? "" : "s"} here${verdict}`;
}

export function bellsView() {
  forgetWay();
  const next = nextBell();
  const begun = (bell) => button(bellWords(bell), () => { sheet.bell = bell.id; go("ways"); });
  show(
    make("h2", {}, "Which bell?"),
    make("ul", { class: "cards" },
      ...sheet.view.bells.map((bell) => make("li", {}, begun(bell))),
      make("li", {}, button(`New bell ${next}`, () => newBell(next), "go"))),
    make("p", { class: "row" }, button("Finish: into the book", () => go("finish"))),
  );
}

export function nextBell() {
  const names = new Set(sheet.view.bells.map((bell) => bell.id));
  for (let n = names.size + 1; ; n += 1) {
    const name = `${sheet.view.subject}-${String(n).padStart(2, "0")}`;
    if (!names.has(name)) return name;
  }
}

export async function newBell(name) {
  const cells = { order_in_batch: String(sheet.view.bells.length + 1) };
  sheet.view.bells.unshift({ id: name, cells });
  sheet.bell = name;
  go("ways");
  await saveBell(name, cells);
}
