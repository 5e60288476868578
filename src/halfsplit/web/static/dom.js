// Small helpers: elements by id, elements made, numbers in words, questions to the server.

export const $ = (id) => document.getElementById(id);

// Where the addresses of this case begin: "/" or "/case/NAME/".
export const base = document.documentElement.dataset.base;

// Goes before the names under which this browser keeps what is typed: of this case and no other,
// whichever case is served at this address later.
export const kept = `halfsplit ${document.documentElement.dataset.kept}`;

// A word of ours that explains itself when pressed; the meanings are in the page.
export function word(name, shown = name) {
  return make("button", { type: "button", class: "explained", popovertarget: `word-${name.replaceAll(" ", "-")}` }, shown);
}

// A text in which those of its words are ours that are named, each once.
export function explained(text, ...names) {
  let parts = [text];
  for (const name of names) {
    parts = parts.flatMap((part) => {
      const at = typeof part === "string" ? part.search(new RegExp(`\\b${name}\\b`)) : -1;
      return at < 0 ? [part] : [part.slice(0, at), word(name), part.slice(at + name.length)];
    });
  }
  return parts;
}

// "1 part", "2 parts".
export function counted(number, what) {
  return `${number} ${what}${number === 1 ? "" : "s"}`;
}

// The address's answer as data, or an Error with the message to show.
export async function ask(path, options) {
  const answer = await fetch(path, options).catch(() => {
    throw new Error("Halfsplit does not answer; what is typed stays here.");
  });
  const data = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Error(data.error?.message ?? `refused (${answer.status})`);
  return data;
}

export function tell(path, data) {
  return ask(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(data) });
}

// Keep what is typed into a box in this browser until it has been used.
export function keepTyped(box, name) {
  const key = `${kept} ${name}`;
  const before = localStorage.getItem(key);
  if (before !== null) box.value = before;
  const keep = () => {
    if (box.value) localStorage.setItem(key, box.value);
    else localStorage.removeItem(key);
  };
  box.addEventListener("input", keep);
  return { keep, forget: () => localStorage.removeItem(key) };
}

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
