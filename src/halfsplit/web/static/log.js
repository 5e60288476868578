// The log, newest first; every entry can be taken back, and brought back.

import { $, make } from "./dom.js";
import { sendUndo } from "./outbox.js";

export function showLog(events) {
  const undone = new Map(); // event -> the undo that counts
  for (const event of events) {
    if (event.takes_back !== null && event.counts) undone.set(event.takes_back, event.number);
  }
  const rows = events.filter((event) => event.takes_back === null).reverse();
  $("events").replaceChildren(...rows.map((event) => row(event, undone.get(event.number))));
}

function row(event, undo) {
  const taken = undo !== undefined;
  const [what, detail] = words(event);
  const surprise = event.surprise_bits >= 1 ? `; a surprise of ${event.surprise_bits.toFixed(1)} bit` : "";
  const button = event.number === 1 ? null : make("button", {
    type: "button",
    class: "plain",
    "aria-label": taken ? `bring back entry ${event.number}` : `take back entry ${event.number}`,
    onclick: () => sendUndo(taken ? undo : event.number),
  }, taken ? "bring back" : "take back");
  return make("li", { id: `entry-${event.number}`, class: taken ? "taken" : "", "data-event": event.number },
    make("span", { class: "event-number" }, `#${event.number}`),
    make("div", { class: "event-words" },
      make("span", { class: "event-what" }, what, event.reading_words ? make("b", {}, ` ${event.reading_words}`) : null),
      make("span", { class: "quiet small" }, `${detail}${surprise}${taken ? "; taken back" : ""}`)),
    button);
}

function words(event) {
  const time = new Date(event.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  if (event.check) {
    const good = event.expected ? `; good board: ${event.expected}` : "";
    return [`${event.check}:`, `${time}${good}${event.why_not ? `; does not count: ${event.why_not}` : ""}`];
  }
  if (event.kind === "board") return [event.number === 1 ? "case begun" : "board corrected", time];
  return [event.words ? `note: ${event.words}` : `${event.kind} changed`, time];
}
