// What all outputs do in the state that the card asks about, told at once.

import { $, kept, make } from "./dom.js";
import { sendMany } from "./outbox.js";

const CHOICES = [
  { word: "right", key: "r", sign: "✓", label: "works" },
  { word: "wrong", key: "w", sign: "✗", label: "wrong" },
  { word: "?", key: "?", sign: "?", label: "don't know" },
];
const KEPT = `${kept} together`;
const chosen = new Map(JSON.parse(sessionStorage.getItem(KEPT) ?? "[]")); // check -> word
let known = { states: [], told: new Set() };
let asked = null; // the suggestion on the card

export function startTogether() {
  $("together").addEventListener("submit", (event) => {
    event.preventDefault();
    send();
  });
  $("together-rest").addEventListener("click", () => {
    for (const { check } of cells()) if (!chosen.has(check)) choose(check, "right");
    $("together-send").focus();
  });
}

export function takeOutputs(outputs, events) {
  known = { states: outputs.states, told: new Set(events.filter((one) => one.check && one.counts).map((one) => one.check)) };
  paint();
}

export function showTogether(suggestion) {
  asked = suggestion;
  paint();
}

function cells() {
  if (asked?.kind !== "symptom") return [];
  const state = known.states.find((one) => one.name === asked.state);
  return (state?.cells ?? []).filter(({ check }) => !known.told.has(check));
}

function paint() {
  const list = cells();
  $("together").hidden = list.length < 2;
  if (list.length < 2) return;
  const shown = JSON.stringify([asked.state, list]);
  if ($("together").dataset.shown !== shown) {
    $("together").dataset.shown = shown;
    $("together-title").textContent = `Or tell all at once: the outputs in state ${asked.state}`;
    $("together-rows").replaceChildren(...list.map(rowOf));
  }
  count();
}

function rowOf(cell, row) {
  const name = `together-${row}`;
  return make("div", { class: "cell", role: "radiogroup", "aria-label": `${cell.output} in state ${asked.state}`, onkeydown: keys },
    make("span", {}, cell.output),
    make("span", { class: "cell-good" }, "good board: ", cell.expected || "…"),
    make("div", { class: "cell-buttons" }, CHOICES.map(({ word, sign, label }) =>
      make("label", { class: `tick tick-${word === "?" ? "unknown" : word}` },
        make("input", { type: "radio", class: "unseen", name, value: word, "data-of": cell.check, checked: chosen.get(cell.check) === word, onchange: () => choose(cell.check, word) }),
        make("span", { class: "sign", "aria-hidden": "true" }, sign), ` ${label}`))));
}

// A letter answers an output and goes on to the next one.
function keys(event) {
  const choice = CHOICES.find(({ key }) => key === event.key);
  if (!choice || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  event.stopPropagation();
  const row = event.currentTarget;
  choose(row.querySelector("input").dataset.of, choice.word);
  (row.nextElementSibling?.querySelector("input:checked, input") ?? $("together-send")).focus();
}

function choose(check, word) {
  chosen.set(check, word);
  const box = $("together-rows").querySelector(`[data-of="${CSS.escape(check)}"][value="${word}"]`);
  if (box) box.checked = true;
  keep();
  count();
}

function keep() {
  sessionStorage.setItem(KEPT, JSON.stringify([...chosen]));
}

function count() {
  const told = cells().filter(({ check }) => chosen.has(check)).length;
  $("together-send").textContent = told ? `Enter ${told} ${told === 1 ? "answer" : "answers"}` : "Enter";
}

function send() {
  const readings = cells().filter(({ check }) => chosen.has(check)).map(({ check }) => ({ check, text: chosen.get(check) }));
  if (!readings.length) {
    $("together-said").textContent = "Choose at least one answer: ✓, ✗ or ?.";
    return;
  }
  $("together-said").textContent = "";
  sendMany(readings, {
    done: (results) => {
      const wrong = results.map((one) => one.error).filter(Boolean);
      for (const [at, { check }] of readings.entries()) if (!results[at].error) chosen.delete(check);
      keep();
      $("together-said").textContent = wrong.join(" ");
      $("reading").focus({ preventScroll: true });
    },
    failed: (message) => { $("together-said").textContent = message; },
    held: () => { $("together-said").textContent = "Not sent yet: Halfsplit does not answer. It is kept here and sent when it is back."; },
  });
}
