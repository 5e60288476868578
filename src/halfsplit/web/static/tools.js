// What the person has and can do: limits and the meter, kept with the case.

import { $, ask, base, tell } from "./dom.js";
import { startShell } from "./shell.js";

let shownEvent = null;

function boxes() {
  return [...$("limits").querySelectorAll("input")];
}

async function load() {
  const { meter, limits } = await ask(`${base}api/settings`);
  for (const box of boxes()) {
    const out = box.name === "setup" ? limits.without_setups : limits.without_kinds;
    box.checked = !out.includes(box.value);
  }
  for (const box of $("meter").querySelectorAll("input")) {
    if (document.activeElement === box) continue;
    box.value = String(Number((meter[box.name] / Number(box.dataset.scale)).toPrecision(6)));
  }
}

async function sendLimits() {
  const out = (name) => boxes().filter((box) => box.name === name && !box.checked).map((box) => box.value);
  try {
    await tell(`${base}api/limits`, { without_setups: out("setup"), without_kinds: out("kind") });
    $("limits-said").textContent = "Kept: the next suggestions follow it.";
  } catch (error) {
    $("limits-said").textContent = error.message;
  }
}

async function sendMeter(event) {
  event.preventDefault();
  const data = {};
  for (const box of $("meter").querySelectorAll("input")) {
    const value = Number(box.value.trim().replace(",", "."));
    if (!box.value.trim() || !Number.isFinite(value)) {
      $("meter-said").textContent = `Expected a number, got “${box.value}”.`;
      box.focus();
      return;
    }
    data[box.name] = value * Number(box.dataset.scale);
  }
  try {
    await tell(`${base}api/meter`, data);
    $("meter-said").textContent = "Kept: all readings are weighed by this meter.";
  } catch (error) {
    $("meter-said").textContent = error.message;
  }
}

$("limits").addEventListener("change", sendLimits);
$("meter").addEventListener("submit", sendMeter);
startShell((state) => {
  if (state.last_event !== shownEvent) load();
  shownEvent = state.last_event;
});
