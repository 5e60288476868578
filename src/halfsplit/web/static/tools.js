// What the person has and can do: limits and the meter, kept with the case.

import { $, ask, base, make, tell } from "./dom.js";
import { startMeasured } from "./measured.js";
import { startShell } from "./shell.js";

let shownEvent = null;
let known = {}; // the meter as the case has it

function boxes() {
  return [...$("limits").querySelectorAll("input[type=checkbox]")];
}

async function load() {
  const { meter, limits } = await ask(`${base}api/settings`);
  known = meter;
  for (const box of boxes()) {
    const out = box.name === "setup" ? limits.without_setups : limits.without_kinds;
    box.checked = !out.includes(box.value);
  }
  for (const box of $("meter").querySelectorAll("input")) {
    if (document.activeElement === box) continue;
    box.value = box.name === "diode_amps" ? plain((1000 * meter.diode_volts) / meter.diode_ohms) : plain(meter[box.name] / Number(box.dataset.scale));
  }
  $("give-up").value = limits.give_up ?? "";
}

const plain = (value) => String(Number(value.toPrecision(4)));

async function sendLimits() {
  const price = $("give-up").value.trim().replace(",", ".");
  if (price && !Number.isFinite(Number(price))) {
    $("limits-said").textContent = `Expected a price, got “${price}”.`;
    return;
  }
  const out = (name) => boxes().filter((box) => box.name === name && !box.checked).map((box) => box.value);
  try {
    await tell(`${base}api/limits`, { without_setups: out("setup"), without_kinds: out("kind"), give_up: price ? Number(price) : null });
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
    data[box.name] = value * Number(box.dataset.scale ?? 1e-3);
  }
  data.diode_ohms = data.diode_amps > 0 ? data.diode_volts / data.diode_amps : 0;
  delete data.diode_amps;
  const told = ["ohms_volts", "diode_volts", "diode_ohms"].some((name) => Math.abs(data[name] / known[name] - 1) > 1e-3);
  data.calibrated = told ? 1 : known.calibrated; // what it puts on a board was said
  try {
    await tell(`${base}api/meter`, data);
    $("meter-said").textContent = "Kept: all readings are weighed by this meter.";
  } catch (error) {
    $("meter-said").textContent = error.message;
  }
}

async function showProven() {
  const { proven } = await ask("/api/experience");
  $("proven").replaceChildren(...(proven.length ? proven.map((one) => make("li", {}, `${one.cases} × ${one.kind}, ${one.mode}`))
    : [make("li", { class: "quiet" }, "No proven case yet. Close one whose acceptance run is complete.")]));
}

async function merge() {
  try {
    const { cases } = await ask("/api/experience", { method: "POST", headers: { "content-type": "application/json" }, body: $("merge").files[0] });
    $("proven-said").textContent = `${cases} proven cases added.`;
    await showProven();
  } catch (error) {
    $("proven-said").textContent = error.message;
  }
}

$("merge").addEventListener("change", merge);
showProven().catch((error) => { $("proven-said").textContent = error.message; });
$("limits").addEventListener("change", sendLimits);
startMeasured();
$("meter").addEventListener("submit", sendMeter);
startShell((state) => {
  if (state.last_event !== shownEvent) load();
  shownEvent = state.last_event;
});
