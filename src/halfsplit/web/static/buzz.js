// Buzzing a board out: one sweep a net; what follows is worked out by the server each time.

import { $, base, counted, kept, keepTyped, make, tell } from "./dom.js";

const KEPT = `${kept} sweeps`;
let sweeps = JSON.parse(localStorage.getItem(KEPT) ?? "[]");
let pressed = new Set();
let found = { ask: "", open: [], nets: {}, conflicts: [], text: "" };

export function startBuzz(addText) {
  const draft = keepTyped($("buzz-parts"), "buzz parts");
  $("buzz-parts").addEventListener("input", work);
  $("buzz-heard").addEventListener("click", () => {
    sweeps.push({ pin: found.ask, others: [...pressed], net: $("buzz-net").value });
    next();
  });
  $("buzz-back").addEventListener("click", () => {
    sweeps.pop();
    next();
  });
  $("buzz-take").addEventListener("click", () => {
    addText(found.text);
    sweeps = [];
    draft.forget();
    $("buzz-parts").value = "";
    next();
  });
  $("buzz").addEventListener("toggle", work);
}

function next() {
  localStorage.setItem(KEPT, JSON.stringify(sweeps));
  pressed = new Set();
  $("buzz-net").value = "";
  work();
}

async function work() {
  const parts = $("buzz-parts").value;
  if (!parts.trim()) {
    $("buzz-ask").hidden = true;
    $("buzz-take").hidden = true;
    $("buzz-count").textContent = "";
    for (const id of ["buzz-wrong", "buzz-conflicts"]) $(id).replaceChildren();
    return;
  }
  let answer;
  try {
    answer = await tell(`${base}api/board/buzz`, { parts, sweeps });
  } catch (error) {
    answer = { wrong: [error.message] };
  }
  $("buzz-wrong").replaceChildren(...answer.wrong.map((words) => make("li", {}, words)));
  if (answer.wrong.length) return;
  found = answer;
  paint();
}

function paint() {
  $("buzz-ask").hidden = !found.ask;
  $("buzz-back").disabled = !sweeps.length;
  $("buzz-question").textContent = `One probe on ${found.ask}. Pass the other over all pins. Which beep?`;
  // Pins that were heard already stay in the list, since a beep there is a conflict worth knowing.
  const heard = Object.values(found.nets).flat().filter((pin) => pin !== found.ask);
  const group = (pins) => {
    const parts = new Map();
    for (const pin of pins) parts.set(pin.split(".")[0], [...(parts.get(pin.split(".")[0]) ?? []), pin]);
    return [...parts];
  };
  $("buzz-pins").replaceChildren(
    ...group(found.open).map(([part, pins]) => row(part, pins)),
    heard.length ? make("details", {}, make("summary", {}, "One that was heard before beeps too"), group(heard).map(([part, pins]) => row(part, pins))) : "");
  label();
  $("buzz-conflicts").replaceChildren(...found.conflicts.map((words) => make("li", {}, words)));
  const nets = Object.keys(found.nets).length;
  $("buzz-count").textContent = `${counted(sweeps.length, "sweep")}, ${counted(nets, "net")} found, ${counted(found.open.length + (found.ask ? 1 : 0), "pin")} to go.`;
  $("buzz-take").hidden = Boolean(found.ask) || !nets;
}

function row(part, pins) {
  return make("div", { class: "buzz-row", role: "group", "aria-label": part }, make("b", {}, part), make("div", { class: "row wrap" }, pins.map((pin) => {
    const button = make("button", { type: "button", "aria-pressed": String(pressed.has(pin)), "aria-label": pin, onclick: () => {
      if (!pressed.delete(pin)) pressed.add(pin);
      button.setAttribute("aria-pressed", String(pressed.has(pin)));
      label();
    } }, pin.split(".")[1]);
    return button;
  })));
}

function label() {
  $("buzz-heard").textContent = pressed.size === 1 ? "This one beeps" : pressed.size ? `These ${pressed.size} beep` : "None beeps";
}
