// "I measured something else": any kind of check at any place, with completion.

import { $, make } from "./dom.js";
import { sendReading } from "./outbox.js";

let choices;

export function startOther(offered) {
  choices = offered;
  $("free-kind").replaceChildren(...choices.kinds.map((kind) => make("option", { value: kind.name }, kind.title)));
  $("free-kind").value = "volts";
  $("free-state").replaceChildren(...choices.states.map((state) => make("option", {}, state)));
  $("free-kind").addEventListener("change", paint);
  $("free").addEventListener("submit", enter);
  paint();
}

function kind() {
  return choices.kinds.find((one) => one.name === $("free-kind").value);
}

function paint() {
  const { takes, stateful } = kind();
  const names = { place: "Place", pair: "Red probe", part: "Part", output: "Output" };
  $("free-first").firstChild.textContent = `${names[takes]} `;
  $("free-second").hidden = takes !== "pair";
  $("free-in").hidden = !stateful;
  const list = choices[takes === "pair" ? "place" : takes];
  $("free-places").replaceChildren(...list.map((name) => make("option", { value: name })));
}

function enter(event) {
  event.preventDefault();
  const { name, takes, stateful } = kind();
  const black = takes === "pair" && $("free-black").value.trim() ? ` : ${$("free-black").value.trim()}` : "";
  const state = stateful ? ` @${$("free-state").value}` : "";
  const text = $("free-reading").value;
  const trouble = (message) => { $("free-trouble").textContent = message; };
  if (!$("free-place").value.trim() || !text.trim()) {
    trouble("Say where, and what you read.");
    return;
  }
  sendReading(`${name} ${$("free-place").value.trim()}${black}${state}`, text, {
    done: () => { if ($("free-reading").value === text) $("free-reading").value = ""; trouble(""); },
    failed: trouble,
    held: () => trouble("Not sent yet; it is kept and sent when Halfsplit is back."),
  });
}
