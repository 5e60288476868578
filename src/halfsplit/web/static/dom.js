// Small helpers: elements by id, elements made, numbers in words.

export const $ = (id) => document.getElementById(id);

// make("p", {class: "note", onclick: f}, "text", child): null children are left out.
export function make(tag, given = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (value === false || value === null || value === undefined) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return element;
}

// As the program says it elsewhere: "under 1 %", "62 %", "over 99 %".
export function percent(share) {
  if (share < 0.01) return "under 1 %";
  if (share > 0.99) return "over 99 %";
  return `${Math.round(100 * share)} %`;
}

// Six steps of suspicion; drawing.css has their colours.
export function step(share) {
  return [0.01, 0.05, 0.15, 0.4, 0.75].filter((border) => share >= border).length;
}

export function minutes(value) {
  return value < 1 ? "under a minute" : `${Math.round(value)} min`;
}
