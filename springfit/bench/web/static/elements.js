/* Elements of a page: found, made, and the line that says what came of a tap. */

export const find = (selector, within = document) => within.querySelector(selector);
export const all = (selector, within = document) => [...within.querySelectorAll(selector)];

const DRAWN = ["svg", "path", "circle", "line", "text", "polygon"];

export function make(tag, traits = {}, ...inside) {
  const svg = DRAWN.includes(tag);
  const made = svg ? document.createElementNS("http://www.w3.org/2000/svg", tag) : document.createElement(tag);
  for (const [name, value] of Object.entries(traits)) {
    if (name === "on") made.addEventListener("click", value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null) made.setAttribute(name, value);
  }
  made.append(...inside.filter((one) => one !== null && one !== undefined));
  return made;
}

export const button = (said, does, kind = "") => make("button", { type: "button", class: kind, on: does }, said);

export const say = (words) => { const place = find("#said"); if (place) place.textContent = words; };
