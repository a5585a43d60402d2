/* What waits in this browser. Every tap that keeps something makes an event with an id of its own; it stands here
   until the shop's computer has said that it is on its disk. Sent twice it counts once. */

import { call } from "./calls.js";
import { button, find } from "./elements.js";

const WAITS = "springfit:waits:";
const REFUSED = "springfit:refused:";
const PATIENCE = 4000; // ms that a tap waits for its answer before it goes on without

let order = Date.now();
let sending = null;
let pause = 1000;
let retry = null;
const answers = new Map(); // event id -> answer, of those somebody asks for

function keys(stem) {
  const found = [];
  for (let n = 0; n < localStorage.length; n += 1) {
    const key = localStorage.key(n);
    if (key.startsWith(stem)) found.push(key);
  }
  return found.sort();
}

const stored = (key) => JSON.parse(localStorage.getItem(key));

export const anyWaits = () => keys(WAITS).length > 0;

export function waitingEvents(sheet) {
  return keys(WAITS).map(stored).filter((one) => one.sheet === sheet);
}

export function showWaiting() {
  const place = find("#waiting");
  if (!place) return;
  const count = keys(WAITS).length;
  const refused = keys(REFUSED).length;
  const said = [];
  const waits = count === 1 ? "value waits" : "values wait";
  if (count) said.push(`${count} ${waits} in this tablet until the shop's computer answers`);
  if (refused) said.push(`${refused} could not be taken: ${stored(keys(REFUSED)[0]).problem}`);
  const words = said.join("; ");
  if (place.textContent !== words) place.textContent = words;
  if (refused && !find("#waiting button")) place.append(" ", button("I have seen it", forgetRefused));
}

function forgetRefused() {
  keys(REFUSED).forEach((key) => localStorage.removeItem(key));
  showWaiting();
}

export function keep(sheet, event) {
  order += 1;
  const key = `${WAITS}${String(order).padStart(16, "0")}:${event.id}`;
  localStorage.setItem(key, JSON.stringify({ sheet, event }));
}

export async function sendAll() {
  if (sending) return sending;
  sending = sendInOrder();
  try {
    await sending;
  } finally {
    sending = null;
    showWaiting();
  }
}

async function sendInOrder() {
  for (let list = keys(WAITS); list.length; list = keys(WAITS)) {
    const key = list[0];
    const { sheet, event } = stored(key);
    const { status, said } = await call(`/call/sheet/${sheet}/event`, event, PATIENCE);
    if (status === 401) { location.href = "/enter"; return; }
    if (status === 200) {
      answers.set(event.id, said);
    } else if (status === 400) {
      localStorage.setItem(`${REFUSED}${event.id}`, JSON.stringify({ sheet, event, problem: said.problem }));
      answers.set(event.id, said);
    } else {
      throw new Error(said.problem || String(status));
    }
    localStorage.removeItem(key);
    pause = 1000;
  }
}

export function sendLater() {
  clearTimeout(retry);
  retry = setTimeout(async () => {
    try { await sendAll(); } catch { pause = Math.min(pause * 1.6, 8000); sendLater(); }
  }, pause);
}

/* Keeps an event and waits for its answer, but not for ever: null when it could not be sent yet. */
export async function save(sheet, event) {
  keep(sheet, event);
  const until = Date.now() + PATIENCE;
  try {
    while (!answers.has(event.id) && Date.now() < until) await sendAll();
  } catch {
    showWaiting();
    sendLater();
    return null;
  }
  const answer = answers.get(event.id) || null;
  answers.delete(event.id);
  return answer;
}

window.addEventListener("online", () => { pause = 1000; sendLater(); });
