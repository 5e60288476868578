// What is asked beside the next check: panels that are answered when they are opened, and again when
// something new was entered; and questions about one part, where it stands as a suspect.

import { $, ask, base, make } from "./dom.js";

const panels = [...document.querySelectorAll("details[data-aside]")];
let last = null; // the newest event

export function startAsides() {
  for (const panel of panels) {
    panel.addEventListener("toggle", () => load(panel));
    panel.querySelector("form")?.addEventListener("submit", (event) => {
      event.preventDefault();
      load(panel, true);
    });
  }
}

export function showAsides(state) {
  if (!state.ready) return;
  last = state.last_event;
  for (const panel of panels) load(panel);
}

// Open a panel from elsewhere on the page.
export function openAside(name) {
  const panel = panels.find((one) => one.dataset.aside === name);
  panel.open = true;
  panel.scrollIntoView({ block: "start" });
  panel.querySelector("summary").focus({ preventScroll: true });
}

async function load(panel, asked = false) {
  const form = panel.querySelector("form");
  if (!panel.open || (!asked && (panel.dataset.event === String(last) || form?.dataset.needed))) return;
  panel.dataset.event = String(last);
  const query = form ? Object.fromEntries(new FormData(form)) : {};
  const file = form?.elements.recording?.files[0];
  if (form?.elements.recording) {
    if (!file) {
      form.elements.recording.focus();
      return;
    }
    query.recording = file.name;
  }
  await answer(panel.querySelector(".aside"), panel.dataset.aside, query, file);
}

// Ask, with a file if there is one, and put the answer into a box.
export async function answer(box, name, query, file = null) {
  box.replaceChildren(make("p", { class: "quiet" }, "working it out …"));
  try {
    const sent = file ? { method: "POST", headers: { "content-type": "application/octet-stream" }, body: file } : {};
    const { parts } = await ask(`${base}api/aside/${name}?${new URLSearchParams(query)}`, sent);
    box.replaceChildren(...parts.filter((one) => one.words.length || one.rows.length).map(part));
  } catch (error) {
    box.replaceChildren(make("p", { class: "trouble", role: "alert" }, error.message));
  }
}

function part({ head, words, heads, rows }) {
  const table = rows.length ? make("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": head || "Answer" }, make("table", {},
    heads.length ? make("thead", {}, make("tr", {}, heads.map((one) => (one ? make("th", { scope: "col" }, one) : make("td", {}))))) : null,
    make("tbody", {}, rows.map((row) => make("tr", {}, row.map((one) => make("td", {}, one))))))) : null;
  return make("div", { class: head === "Caution" ? "cautions" : null }, head ? make("h3", {}, head) : null, words.map((one) => make("p", {}, one)), table);
}

// The questions that a suspect raises: what may take the part's place, a wire for its track.
export function questions(one) {
  const box = make("div", { class: "aside", "aria-live": "polite" });
  const button = (words, name, query) => make("button", { type: "button", class: "plain", onclick: () => answer(box, name, query) }, words);
  if (!one.designator) return null;
  return make("div", {}, button(`what may take the place of ${one.designator}?`, "replacement", { part: one.designator }), box);
}
