// The meter measured with resistors and a diode: what it showed is typed, what it is follows.

import { $, base, make, tell } from "./dom.js";

export function startMeasured() {
  $("measured-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    $("measured-trouble").textContent = "";
    $("measured-said").replaceChildren();
    const rows = [...$("measured-form").querySelectorAll("[data-resistor]")].map(typed);
    const half = rows.find((row) => row.some(Boolean) && !row.every(Boolean));
    const [ohms, volts] = typed($("measured-form").querySelector("[data-diode]"));
    if (half || Boolean(ohms) !== Boolean(volts)) {
      $("measured-trouble").textContent = "Fill a whole row, or leave it empty.";
      return;
    }
    const data = { resistors: rows.filter((row) => row[0]), diode: ohms ? [volts, ohms] : null, keep: $("measured-keep").checked };
    try {
      const { lines } = await tell(`${base}api/meter/measured`, data);
      $("measured-said").replaceChildren(make("li", {}, "Kept: all readings are weighed by this meter."), ...lines.map((line) => make("li", {}, line)));
    } catch (error) {
      $("measured-trouble").textContent = error.message;
    }
  });
}

function typed(row) {
  return [...row.querySelectorAll("input")].map((box) => box.value.trim().replace(",", "."));
}
