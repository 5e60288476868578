// The drawing: suspicion and the next place marked on it; a place chosen shows what it should read.

import { $, base, make, percent, step } from "./dom.js";
import { sendReading } from "./outbox.js";
import { bring, startSheet } from "./sheet.js";

let svg;
let chosen = null;
let marked = [];
let choices = { pins: {} };
let readings = new Map(); // place -> what was read there, in words

export function startPicture(offered) {
  choices = offered;
  svg = $("sheet").querySelector("svg");
  const act = (event) => {
    const pin = event.target.closest(".pin");
    const other = event.target.closest(".part, .net, .test-point");
    if (pin) choose(pin.dataset.place);
    else if (other) choose(other.dataset.part ?? other.dataset.place ?? other.dataset.testPoint);
    return Boolean(pin || other);
  };
  svg.addEventListener("click", act);
  svg.addEventListener("keydown", (event) => {
    if ((event.key === "Enter" || event.key === " ") && act(event)) event.preventDefault();
  });
  startSheet(svg, (place) => readings.get(place) ?? []);
  $("to-next").addEventListener("click", centre);
  $("place-shut").addEventListener("click", shut);
  $("place-state").addEventListener("change", expect);
  $("place-form").addEventListener("submit", enter);
}

// The share of a part stands after its name, that of a pin beside the pin; a part that readings
// elsewhere have cleared gets a tick after its name.
export function showShares({ parts, pins, cleared }) {
  for (const old of svg.querySelectorAll(".pin-share")) old.remove();
  for (const part of svg.querySelectorAll(".part")) {
    const name = part.dataset.part;
    const share = parts[name] ?? 0;
    const look = part.getAttribute("class");
    const now = look.replace(/\bs\d\b/, `s${step(share)}`);
    if (now !== look) part.setAttribute("class", now);
    const free = cleared.includes(name);
    const label = part.querySelector(".share");
    label.textContent = share >= 0.01 ? short(share) : free ? "✓" : "";
    label.classList.toggle("cleared", free);
    part.classList.toggle("proven", free);
    for (const pin of part.querySelectorAll(".pin")) {
      const own = pins[pin.dataset.place] ?? 0;
      pin.classList.toggle("suspect", own >= 0.05);
      if (own >= 0.05) {
        const above = pin.cy.baseVal.value <= 20; // beside the rail's name; else below the wire
        write(pin, "pin-share", short(own), { right: 11, below: above ? -4 : 12, anchor: "start" });
      }
    }
  }
}

// A tick at each place that read as a good board does, a cross where it did not.
export function showReadings(events) {
  readings = new Map();
  for (const old of svg.querySelectorAll(".taken")) old.remove();
  const signs = new Map();
  for (const one of events.filter((event) => event.check && event.counts && event.reading_words)) {
    const [, where, state] = /^\S+ (.*?)(?: @(\S+))?$/.exec(one.check) ?? [null, "", ""];
    for (const place of where.startsWith("net ") ? [where] : where.split(" ")) {
      readings.set(place, [...(readings.get(place) ?? []), `${one.reading_words}${state ? `, ${state}` : ""}`]);
      signs.set(place.replace(/\/(pad|tail)$/, ""), one.odd);
    }
  }
  for (const [place, odd] of signs) {
    for (const pin of svg.querySelectorAll(`.pin[data-place="${CSS.escape(place)}"]`)) {
      write(pin, odd ? "taken odd" : "taken good", odd ? "✗" : "✓", { below: 14 });
    }
  }
}

// A word at a pin, so much below and beside it.
function write(pin, look, words, { below, right = 0, anchor = "middle" }) {
  const text = document.createElementNS("http://www.w3.org/2000/svg", "text");
  const given = { class: look, x: pin.cx.baseVal.value + right, y: pin.cy.baseVal.value + below, "text-anchor": anchor };
  for (const [name, value] of Object.entries(given)) text.setAttribute(name, value);
  text.textContent = words;
  pin.after(text);
}

function short(share) {
  return percent(share).replace("over ", "> ");
}

// Mark where the next check goes, and bring it into view.
export function showNext(suggestion) {
  for (const element of svg.querySelectorAll(".next")) element.classList.remove("next");
  for (const element of svg.querySelectorAll(".next-word")) element.remove();
  marked = [];
  for (const place of suggestion?.marks ?? []) {
    const leg = place.replace(/\/(pad|tail)$/, "");
    for (const found of svg.querySelectorAll(
      `.pin[data-place="${CSS.escape(leg)}"], .net[data-place="${CSS.escape(leg)}"], ` +
      `.rail[data-place="${CSS.escape(leg)}"], ` +
      `.part[data-part="${CSS.escape(leg)}"]`)) {
      found.classList.add("next");
      marked.push(found);
      if (found.matches(".pin")) write(found, "next-word", "next", { below: -11 });
    }
  }
  $("to-next").hidden = !marked.length;
  centre();
}

export function choose(place) {
  const pins = choices.pins[place];
  chosen = pins ? pins[0].place : place;
  $("place").hidden = false;
  paint(pins ? place : null);
  $("place").scrollIntoView({ block: "nearest" });
}

function paint(part) {
  const name = part ?? (choices.pins[chosen.split(".")[0]] ? chosen.split(".")[0] : null);
  const byName = (a, b) => a.place.localeCompare(b.place, undefined, { numeric: true });
  const pins = [...(choices.pins[name] ?? [])].sort(byName);
  const net = pins.find((pin) => pin.place === chosen)?.net;
  $("place-title").textContent = net ? `${chosen}, net ${net}` : chosen;
  $("place-pins").replaceChildren(...pins.map((pin) => make("button", {
    type: "button", class: "pin-choice", "aria-pressed": String(pin.place === chosen),
    onclick: () => { chosen = pin.place; paint(name); },
  }, pin.place)));
  for (const element of svg.querySelectorAll(".chosen")) element.classList.remove("chosen");
  for (const element of svg.querySelectorAll(`[data-place="${CSS.escape(chosen)}"]`)) element.classList.add("chosen");
  expect();
}

async function expect() {
  const [place, state] = [chosen, $("place-state").value];
  $("place-expected").textContent = "working out what is expected …";
  let text;
  try {
    const query = new URLSearchParams({ place, state });
    const answer = await fetch(`${base}api/expected?${query}`);
    const data = await answer.json();
    text = answer.ok ? said(data) : data.error.message;
  } catch {
    text = "Halfsplit does not answer.";
  }
  if (place === chosen && state === $("place-state").value) $("place-expected").textContent = text;
}

function said(data) {
  const others = data.differs.slice(0, 3).map((one) =>
    `${one.id} ${one.floating ? "floating" : one.mean === null ? "unresolved" : `${volts(one.mean)} V`}`);
  const rest = data.differs.length > 3 ? `, and ${data.differs.length - 3} more` : "";
  return `Good board: ${data.words || "cannot be told"}.` +
    (others.length ? ` Otherwise: ${others.join(", ")}${rest}.` : " No listed fault shows here.");
}

function volts(value) {
  return value.toFixed(2).replace(/^-(0\.00)$/, "$1");
}

function enter(event) {
  event.preventDefault();
  const text = $("place-reading").value;
  if (!text.trim()) return;
  const trouble = (message) => { $("place-trouble").textContent = message; };
  sendReading(`volts ${chosen} @${$("place-state").value}`, text, {
    done: () => { if ($("place-reading").value === text) $("place-reading").value = ""; trouble(""); },
    failed: trouble,
    held: () => trouble("Not sent yet; it is kept and sent when Halfsplit is back."),
  });
}

function shut() {
  $("place").hidden = true;
  for (const element of svg.querySelectorAll(".chosen")) element.classList.remove("chosen");
}

function centre() {
  if (marked.length) bring(marked[0]);
}
