// The questionnaire: every output in every state, answered by works, wrong or don't know.

import { $, make } from "./dom.js";
import { sendReading, sendUndo } from "./outbox.js";

const CHOICES = [
  { word: "right", sign: "✓", label: "works" },
  { word: "wrong", sign: "✗", label: "wrong" },
  { word: "?", sign: "?", label: "don't know" },
];
const pending = new Map(); // check -> word on its way
let touched = false;
let last = []; // what was shown last; the table is made when it is seen
let shown = null; // the state that a narrow page shows

export function startOutputs() {
  $("outputs").querySelector("summary").addEventListener("click", () => {
    touched = true;
  });
  $("outputs").addEventListener("toggle", () => {
    if ($("outputs").open && last.length) showOutputs(...last);
  });
}

export function showOutputs(outputs, events, suggestions) {
  const told = new Map();
  for (const event of events) {
    if (event.check && event.counts) told.set(event.check, event);
  }
  const cells = outputs.states.flatMap((state) => state.cells);
  $("outputs").hidden = !cells.length;
  const count = cells.filter((cell) => told.has(cell.check)).length;
  $("outputs-count").textContent = `${count} of ${cells.length} told`;
  // The card asks for the outputs of one state; all states at once are for who opens them.
  const first = !events.some((event) => event.check && event.counts);
  if (!touched) $("outputs").open = first && suggestions.length > 0 && suggestions[0].kind !== "symptom";
  last = [outputs, events, suggestions];
  if (!$("outputs").open) return;
  const names = [...new Set(cells.map((cell) => cell.output))];
  const grid = make("div", { class: "grid", role: "group", "aria-label": "Outputs by state" });
  grid.style.setProperty("--states", outputs.states.length);
  grid.style.setProperty("--outputs", names.length + 1);
  if (!outputs.states.some((state) => state.name === shown)) shown = outputs.states[0]?.name;
  const chips = make("div", { class: "row wrap chips", role: "group", "aria-label": "state" },
    outputs.states.map((state) => {
      const done = state.cells.filter((cell) => told.has(cell.check)).length;
      return make("button", {
        type: "button",
        "aria-pressed": String(state.name === shown),
        "data-cell": `chip ${state.name}`,
        onclick: () => {
          shown = state.name;
          showOutputs(outputs, events, suggestions);
        },
      }, state.name, make("span", { class: "quiet small" }, ` ${done}/${state.cells.length}`));
    }));
  grid.append(
    make("div", { class: "grid-names", "aria-hidden": "true" },
      make("div", { class: "grid-state" }, ""), names.map((name) => make("div", { class: "grid-name" }, name))),
    ...outputs.states.map((state) =>
      make("div", { class: state.name === shown ? "grid-column shown" : "grid-column", role: "group", "aria-label": `state ${state.name}` },
        make("div", { class: "grid-state", title: state.note || null }, state.name),
        state.cells.map((cell) => cellOf(cell, state, told.get(cell.check))))),
  );
  const focus = document.activeElement?.dataset?.cell;
  $("grid").replaceChildren(chips, grid);
  if (focus) $("grid").querySelector(`[data-cell="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
}

function cellOf(cell, state, event) {
  const said = pending.get(cell.check) ?? saidOf(event, cell);
  return make("div", { class: "cell" },
    make("span", { class: "cell-name" }, cell.output),
    make("span", { class: "cell-good" }, make("span", { class: "cell-label" }, "good board: "), cell.expected || "…"),
    make("div", { class: "cell-buttons" }, CHOICES.map(({ word, sign, label }) =>
      make("button", {
        type: "button",
        class: `tick tick-${word === "?" ? "unknown" : word}`,
        "data-cell": `${cell.check} ${word}`,
        "aria-pressed": String(said === word),
        "aria-label": `${cell.output} in state ${state.name}: ${label}`,
        title: label,
        onclick: () => press(cell, word, said, event),
      }, make("span", { class: "sign", "aria-hidden": "true" }, sign), make("span", { class: "tick-word" }, label)))),
  );
}

function press(cell, word, said, event) {
  touched = true; // whoever is filling the table in keeps it open
  if (event) sendUndo(event.number);
  if (said === word) return;
  pending.set(cell.check, word);
  const done = () => pending.delete(cell.check);
  sendReading(cell.check, word, { done, failed: done });
}

// An answer may have been given in other words: "on" where a good board is on is right.
function saidOf(event, cell) {
  if (!event?.reading) return null;
  if (event.reading.nothing) return "?";
  if (event.reading.word === "right" || event.reading.word === "wrong") return event.reading.word;
  return event.reading.word === cell.expected ? "right" : "wrong";
}
