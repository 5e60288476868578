// Meters that are remembered: they fill the box of the next check, and the person enters it.

import { $, base, tell } from "./dom.js";

// card: current() the suggestion on it, fill(text, source) the box, trouble(words) beside it.
export function startMeters(card) {
  for (const button of document.querySelectorAll("#meters button")) {
    button.addEventListener("click", () => read(button, card));
  }
}

export function showMeters(one) {
  const box = $("meters");
  if (box) box.hidden = !box.dataset.kinds.split(" ").includes((one?.reads ?? "").split(" ")[0]);
}

async function read(button, card) {
  const check = card.current().reads;
  const before = $("reading").value;
  const label = button.textContent;
  button.disabled = true;
  button.textContent = "Reading …";
  card.trouble("");
  try {
    const said = await tell(`${base}api/meter/reading`, { check, name: button.dataset.name });
    if (card.current()?.reads !== check) card.trouble(`The meter read ${said.text} for ${check}, which has left the card.`);
    else if ($("reading").value !== before) card.trouble(`The meter reads ${said.text}; what you typed was left as it is.`);
    else card.fill(said.text, said.source);
  } catch (error) {
    card.trouble(error.message);
  }
  button.textContent = label;
  button.disabled = false;
  if (document.activeElement === document.body) button.focus({ preventScroll: true });
}
