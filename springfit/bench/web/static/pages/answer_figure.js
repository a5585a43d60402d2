/* The model's answer drawn: the bell as it is now, the bell asked about with its band, a table of the differences. */

import { find, make } from "../elements.js";

const ROWS = 8; // of the table, about; the rim is always one of them

export function drawAnswer(said) {
  const shown = new Shown(said);
  const words = shown.rimWords();
  const [wide, high, edge] = find("#answer").clientWidth < 560 ? [360, 240, 40] : [640, 300, 44];
  const drawn = make("svg", { viewBox: `0 0 ${wide} ${high}`, role: "img", "aria-label": words },
    ...linesDrawn(shown, wide, high, edge));
  find("#answer").replaceChildren(drawn, make("figcaption", {}, `${words}.`));
  find("#differences").hidden = false;
  find("#differences tbody").replaceChildren(...shown.rows().map((n) => differenceRow(shown, n)));
  const unit = said.station_unit === "mm" ? "mm" : "inches";
  find("#differences caption").textContent = `Stations in ${unit}; off the steel and differences in ${said.unit}`;
}

/* An answer and how its numbers are written. */
class Shown {
  constructor(said) {
    this.said = said;
    this.last = said.bell.length - 1;
    this.digits = said.unit === "mm" ? 3 : 1;
  }

  figure(value) { return value.toFixed(this.digits).replace(/^-(0\.0*)$/, "$1"); } // no minus before nought

  station(z) { return z.toFixed(this.said.station_unit === "mm" ? 0 : 2); }

  /* What stands in another list at the place of the bell's `n`th. */
  near(list, n) { return list[Math.min(Math.round((n / this.last) * (list.length - 1)), list.length - 1)]; }

  changed(n) { return this.near(this.said.change, n).map((value) => this.figure(value)); }

  rows() {
    const rows = [];
    for (let n = 0; n <= this.last; n += Math.max(1, Math.floor(this.last / ROWS))) rows.push(n);
    if (rows[rows.length - 1] !== this.last) rows.push(this.last);
    return rows;
  }

  rimWords() {
    const { bell, present, unit } = this.said;
    const [difference, least, most] = this.changed(this.last);
    return `At the rim ${bell[this.last][1].toFixed(this.digits)} ${unit} off the steel, `
      + `now ${present[this.last][1].toFixed(this.digits)}: `
      + `${difference} ${unit} of difference, ${least} to ${most} (90 %)`;
  }
}

function linesDrawn(shown, wide, high, edge) {
  const { present, bell, unit, station_unit: stationUnit } = shown.said;
  const z = [...present, ...bell].map((one) => one[0]);
  const y = [0, ...present.map((one) => one[1]), ...bell.flatMap((one) => [one[2], one[3]])];
  const [z0, z1, y0, y1] = [Math.min(...z), Math.max(...z), Math.min(...y), Math.max(...y)];
  const x = (value) => edge + ((value - z0) / (z1 - z0 || 1)) * (wide - 2 * edge);
  const up = (value) => high - edge - ((value - y0) / (y1 - y0 || 1)) * (high - 2 * edge);
  const at = (one, column) => `${x(one[0]).toFixed(1)},${up(one[column]).toFixed(1)}`;
  const path = (line) => `M${line.map((one) => at(one, 1)).join("L")}`;
  const band = [...bell.map((one) => at(one, 2)), ...[...bell].reverse().map((one) => at(one, 3))];
  const mark = (left, top, words, more = "") => make("text", { x: left, y: top, class: `mark large${more}` }, words);
  return [
    make("polygon", { points: band.join(" "), class: "ribbon" }),
    make("line", { x1: edge, x2: wide - edge, y1: up(0), y2: up(0), class: "zero" }),
    make("path", { d: path(present), class: "present" }),
    make("path", { d: path(bell), class: "asked-line" }),
    mark(4, 20, `${y1.toFixed(shown.digits)} ${unit} off the steel`),
    mark(4, up(0) - 5, "0"),
    mark(edge, high - 10, `tail, ${shown.station(z0)} ${stationUnit}`),
    mark(wide - edge, high - 10, `rim, ${shown.station(z1)} ${stationUnit}`, " end"),
  ];
}

function differenceRow(shown, n) {
  const { bell, present } = shown.said;
  const [difference, least, most] = shown.changed(n);
  return make("tr", {},
    make("th", { scope: "row" }, shown.station(bell[n][0])),
    make("td", {}, shown.figure(shown.near(present, n)[1])), make("td", {}, shown.figure(bell[n][1])),
    make("td", {}, difference, make("span", { class: "quiet band" }, `${least} to ${most}`)));
}
