/* The form of a new batch, mandrel, wanted bell or gauge: fields touched, said, and kept as a sheet that is begun. */

import { begin } from "../begun_sheet.js";
import { call } from "../calls.js";
import { all, find, say } from "../elements.js";
import "../number_keys.js";

const NAMED_BY = { batch: "batch_id", mandrel: "mandrel_id", target: "target_id", gauge: "gauge_id" };

/* What a field says: a text, null for "not written down", undefined where nothing was said yet. */
function said(field) {
  const chosen = find("input[type=radio]:checked", field);
  if (!chosen) return undefined;
  if (chosen.value === "none") return null;
  if (chosen.value === "other") return find(".typed", field).value.trim() || undefined;
  return chosen.value.slice(2);
}

function showField(field, close) {
  if (!field) return;
  const text = said(field);
  const shown = text && field.classList.contains("choice") ? text.replaceAll("_", " ") : text;
  find(".value", field).textContent = text === undefined ? "not said yet" : text === null ? "not written down" : shown;
  const chosen = find("input[type=radio]:checked", field);
  if (chosen && chosen.value === "other" && close) find(".typed", field).focus();
  field.classList.toggle("missing", text === undefined);
}

/* A text that is typed is what its field says. */
function takeTyped(typed) {
  if (!typed.target.classList.contains("typed")) return;
  const field = typed.target.closest("details");
  find('input[value="other"]', field).checked = true;
  showField(field, false);
}

function leaveTheRestBlank(form) {
  all("details", form).filter((field) => said(field) === undefined).forEach((field) => {
    const none = find('input[value="none"]', field);
    if (none) { none.checked = true; showField(field, true); }
  });
}

async function keepForm(form) {
  const fields = all("details", form);
  const open = fields.filter((field) => said(field) === undefined);
  if (open.length) {
    open.forEach((field) => { field.open = true; field.classList.add("missing"); });
    say(`Still to say: ${open.map((field) => find(".label", field).textContent).join(", ")}.`);
    find("input", open[0]).focus();
    return;
  }
  const typed = Object.fromEntries(fields.map((field) => [field.dataset.name, said(field)]));
  const cells = { ...JSON.parse(form.dataset.fixed), ...typed };
  const kind = form.dataset.kind;
  const sheet = await begin(kind, cells[NAMED_BY[kind]], form.dataset.unit, cells, false);
  if (!sheet) return;
  if (kind !== "gauge") { location.href = `/sheet/${sheet}`; return; }
  const { said: done } = await call(`/call/sheet/${sheet}/finish`, {});
  if (done.problem) say([done.problem, ...(done.problems || [])].join("; "));
  else location.href = "/";
}

const form = find("#fields");
all("details", form).forEach((field) => { if (field.dataset.open) field.open = form.dataset.kind !== "batch"; });
form.addEventListener("change", (change) => showField(change.target.closest("details"), true));
form.addEventListener("input", takeTyped);
find('[data-do="rest"]', form).addEventListener("click", () => leaveTheRestBlank(form));
form.addEventListener("submit", (submit) => { submit.preventDefault(); keepForm(form); });
