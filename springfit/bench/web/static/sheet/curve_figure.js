/* The values of a way as dots on their curve, shaded how far the bells before lie off the steel. */

import { call } from "../calls.js";
import { find, make } from "../elements.js";
import { isBatch, sheet } from "./sheet.js";

const [WIDE, HIGH, EDGE] = [360, 140, 28];

let curve = null;

export async function loadCurve() {
  curve = null;
  if (!isBatch() || !sheet.places.length) return;
  const query = new URLSearchParams(sheet.places[0]);
  const answer = await call(`/call/sheet/${sheet.id}/curve?${query}`).catch(() => null);
  if (answer && answer.status === 200) { curve = answer.said; drawCurve(); }
}

export function addDot(dot) {
  if (curve) curve.dots.push(dot);
}

export function drawCurve() {
  const place = find("#curve");
  if (!place || !curve || (!curve.ribbon.length && !curve.dots.length)) return;
  const said = newestWords();
  const words = curve.dots.length ? `${said}. Shaded: the bells before.`
    : "Shaded: how far the bells before lie off the steel.";
  place.replaceChildren(
    make("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": said }, ...drawn(scales())),
    make("figcaption", {}, words));
}

function newestWords() {
  const last = curve.dots[curve.dots.length - 1];
  if (!last) return "The bells before";
  const off = last[1].toFixed(curve.unit === "mm" ? 2 : 1);
  return `Newest value: ${off} ${curve.unit} off the steel at ${last[0]} ${curve.station_unit}`;
}

/* Where a station and a gap come to lie on the picture. */
function scales() {
  const z = [...curve.ribbon, ...curve.dots].map((one) => one[0]);
  // A value that is far off stands at the edge: the curve beside it stays one that can be read.
  const before = curve.ribbon.flatMap((one) => [one[1], one[2]]);
  const [least, most] = [Math.min(...before, 0), Math.max(...before, 0)];
  const room = most - least;
  const held = (value) => (before.length ? Math.max(least - room, Math.min(most + room, value)) : value);
  const y = [...before, ...curve.dots.map((one) => held(one[1])), 0];
  const [z0, z1, y0, y1] = [Math.min(...z), Math.max(...z), Math.min(...y), Math.max(...y)];
  return {
    y0, y1,
    x: (value) => EDGE + ((value - z0) / (z1 - z0 || 1)) * (WIDE - 2 * EDGE),
    up: (value) => HIGH - EDGE - ((held(value) - y0) / (y1 - y0 || 1)) * (HIGH - 2 * EDGE),
  };
}

function drawn({ x, up, y0, y1 }) {
  const lower = curve.ribbon.map((one) => `${x(one[0])},${up(one[1])}`);
  const upper = curve.ribbon.map((one) => `${x(one[0])},${up(one[2])}`);
  const ribbon = [...upper, ...lower.reverse()];
  const newest = (n) => n === curve.dots.length - 1;
  const digits = curve.unit === "mm" ? 2 : 0;
  return [
    ribbon.length > 4 ? make("polygon", { points: ribbon.join(" "), class: "ribbon" }) : null,
    make("line", { x1: EDGE, x2: WIDE - EDGE, y1: up(0), y2: up(0), class: "zero" }),
    ...curve.dots.map((dot, n) => make("circle", {
      cx: x(dot[0]), cy: up(dot[1]), r: newest(n) ? 6 : 3.5, class: newest(n) ? "dot newest" : "dot",
    })),
    make("text", { x: 4, y: 14, class: "mark" }, `${y1.toFixed(digits)} ${curve.unit}`),
    make("text", { x: 4, y: HIGH - 5, class: "mark" }, `${y0.toFixed(digits)} ${curve.unit}; tail`),
    make("text", { x: WIDE - 4, y: HIGH - 5, class: "mark end" }, "rim"),
  ];
}
