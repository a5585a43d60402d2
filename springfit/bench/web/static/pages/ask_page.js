/* The page that asks the model: sliders for what may be changed, an answer at once, a better one once worked out. */

import { drawAnswer } from "./answer_figure.js";
import { call } from "../calls.js";
import { all, find, make, say } from "../elements.js";

const LONG = 120000; // ms that a model may take to be loaded and asked

const ask = { changes: new Map(), sliders: null, due: null, number: 0 };

const asked = (name) => ask.sliders.find((each) => each.name === name);

async function askNow() {
  clearTimeout(ask.due);
  ask.number += 1;
  const number = ask.number;
  const began = performance.now();
  const body = { mandrel: find(".asking").dataset.mandrel, changes: [...ask.changes] };
  const answer = await call("/call/ask", body, LONG).catch(() => null);
  if (number !== ask.number) return;
  if (!answer || answer.said.problem) {
    say(answer ? answer.said.problem : "No answer.");
    find("#standing").textContent = "";
    return;
  }
  const said = answer.said;
  if (!ask.sliders) makeSliders(said.sliders);
  const words = standingWords(said);
  if (find("#standing").textContent !== words) find("#standing").textContent = words;
  if (said.bell) {
    drawAnswer(said);
    document.body.dataset.redrawn = String(Math.round(performance.now() - began));
    document.body.dataset.exact = String(said.exact);
    document.body.dataset.known = said.worked === said.of ? "all" : "some";
  }
  if (!said.bell || !said.exact || said.worked < said.of) ask.due = setTimeout(askNow, 700);
}

/* How good the answer is that stands there. */
function standingWords(said) {
  if (!said.bell) {
    return `The bell as it is spun now is being worked out (model ${said.version}, ${said.bells} bells).`;
  }
  const missing = said.missing.map((one) => asked(one[0]).label);
  const more = said.worked < said.of ? ` ${said.worked} of ${said.of} changes are known.` : "";
  if (said.exact) return `Worked out whole.${more}`;
  if (missing.length) return `Being worked out, and left out until then: ${missing.join(", ")}.${more}`;
  return `Joined from each change alone; being worked out whole.${more}`;
}

function makeSliders(sliders) {
  ask.sliders = sliders;
  find("#sliders").replaceChildren(...sliders.map((one) => {
    const name = `${one.label}${one.unit ? ` (${one.unit})` : ""}: `;
    return make("div", { class: "slider" },
      make("label", { for: `slider-${one.name}` }, name, make("output", {}, one.present)), makeSlider(one));
  }));
  all("#sliders input").forEach(showSlider);
}

function makeSlider(one) {
  const slider = make("input", {
    type: "range", name: one.name, id: `slider-${one.name}`, min: 0, max: one.values.length - 1, step: 1,
    value: one.values.indexOf(one.present),
  });
  slider.addEventListener("input", () => {
    const value = one.values[Number(slider.value)];
    if (value === one.present) ask.changes.delete(one.name); else ask.changes.set(one.name, value);
    showSlider(slider);
    askNow();
  });
  return slider;
}

function showSlider(slider) {
  const one = asked(slider.name);
  const value = one.values[Number(slider.value)];
  const present = value === one.present;
  slider.setAttribute("aria-valuetext", present ? `${value}, as now` : `${value}, now ${one.present}`);
  find("output", slider.parentElement).textContent = present ? `${value}, as now` : `${value} (now ${one.present})`;
}

function asItIsNow() {
  ask.changes.clear();
  all("#sliders input").forEach((one) => {
    one.value = asked(one.name).values.indexOf(asked(one.name).present);
    showSlider(one);
  });
  askNow();
}

find("#as-now").addEventListener("click", asItIsNow);
askNow();
call("/call/work", undefined, LONG).then(({ said }) => {
  const lacking = said.not_learned;
  find("#learned").textContent = lacking && lacking.length ? `The model has not learned: ${lacking.join(", ")}.` : "";
}).catch(() => {});
