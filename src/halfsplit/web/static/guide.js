// Three minutes of guidance through the demo; what to do now follows from what was done.

import { $ } from "./dom.js";

const SHUT = "halfsplit guide shut";

export function startGuide() {
  if (!$("guide")) return;
  $("guide-shut").addEventListener("click", () => {
    sessionStorage.setItem(SHUT, "yes");
    $("guide").hidden = true;
  });
}

export function showGuide(state) {
  if (!$("guide") || sessionStorage.getItem(SHUT)) return;
  $("guide").hidden = false;
  $("guide-step").textContent = stepOf(state);
}

function stepOf({ events, verdict, suspects, acceptance, closed }) {
  if (closed) return "7. Closed, and counted among your proven cases. Record above is what the owner gets; the log keeps all of it. Now try your own board: Cases, then A new case.";
  if (acceptance) return "6. Now prove it. A case ends when the equipment has run as its owner runs it: the card asks for one thing after another. Say “right”, or what you see; when nothing is left, close the case.";
  const readings = events.filter((event) => event.check && event.counts);
  const own = readings.length - 1; // the owner's complaint is there from the beginning
  const mended = readings.some((event) => event.reading?.word === "cured");
  if (mended) return "5. It works with a good part in its place. Solder it in for good and press “the repair is done”.";
  if (verdict.kind === "repair") return `4. It is sure enough: ${suspects[0].repair}. In the demo the board can be mended at once: press “cured” on the card, or “no change” to see it think again.`;
  if (own <= 0) return "1. A fault is hidden in this board, and its owner has said what is wrong (the log has it). The card says what to measure next. Press “ask the demo board”: it answers in place of your meter. Then press Enter.";
  if (own === 1) return "2. See the suspects: their bars moved, and “why” says by which reading. Unlikely places turned pale on the board. Ask and enter again, as often as the card has something to ask.";
  if (own === 2) return "3. A slip of the finger? Every entry in the log can be taken back (key u outside the box). A box takes what you would say: 0.7, 4k7, under 1, OL, low, ? for could not tell.";
  return "3. Go on: ask the demo board, press Enter. The program stops asking when it is surer than you need to be, or when no check would tell more.";
}
