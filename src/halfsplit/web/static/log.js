// The log, newest first; every entry can be taken back, and brought back.

import { $, base, explained, keepTyped, make, tell, word } from "./dom.js";
import { sendUndo, sendUndoAfter } from "./outbox.js";

const FEW = 12;
let all = false;
let last = [];
const KINDS = { closed: "case closed", photo: "photo added", marker: "photo marked", archive: "archived, or taken up again", meter: "meter changed", limits: "limits changed" };

// A reason may point at an entry that is not shown.
window.addEventListener("hashchange", () => {
  if (!location.hash.startsWith("#entry-") || document.querySelector(location.hash)) return;
  all = true;
  showLog(last);
  document.querySelector(location.hash)?.scrollIntoView();
});

export function startNotes() {
  const draft = keepTyped($("note"), "note");
  $("note-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      await tell(`${base}api/notes`, { text: $("note").value });
      $("note").value = "";
      draft.forget();
      $("note-trouble").textContent = "";
    } catch (error) {
      $("note-trouble").textContent = error.message;
    }
  });
}

export function showLog(events) {
  last = events;
  const undone = new Map(); // event -> the undo that counts
  for (const event of events) {
    if (event.takes_back !== null && event.counts) undone.set(event.takes_back, event.number);
  }
  const rows = events.filter((event) => event.takes_back === null).reverse();
  const list = (all ? rows : rows.slice(0, FEW)).map((event, at) => row(event, undone.get(event.number), at === 0));
  if (rows.length > FEW) {
    list.push(make("li", { class: "more" }, make("button", { type: "button", class: "plain", onclick: () => {
      all = !all;
      showLog(events);
    } }, all ? "fewer" : `all ${rows.length} entries`)));
  }
  $("events").replaceChildren(...list);
}

function row(event, undo, newest) {
  const taken = undo !== undefined;
  const [what, detail] = words(event);
  const surprise = event.surprise_bits >= 1 ? `; a surprise of ${event.surprise_bits.toFixed(1)} bit` : "";
  const button = event.number === 1 ? null : make("button", {
    type: "button",
    class: "plain",
    "aria-label": taken ? `bring back entry ${event.number}` : `take back entry ${event.number}`,
    onclick: () => sendUndo(taken ? undo : event.number),
  }, taken ? "bring back" : "take back");
  const back = make("button", {
    type: "button",
    class: "plain",
    "aria-label": `back to here: take back all after entry ${event.number}`,
    onclick: () => { if (confirm(`Take back all that was done after entry ${event.number}? Each can be brought back.`)) sendUndoAfter(event.number); },
  }, "back to here");
  return make("li", { id: `entry-${event.number}`, class: `${taken ? "taken" : ""}${event.odd ? " odd" : ""}`.trim(), "data-event": event.number },
    make("span", { class: "event-number" }, `#${event.number}`),
    make("div", { class: "event-words" },
      make("span", { class: "event-what" }, explained(what, "symptom"), event.reading_words ? make("b", {}, ` ${event.reading_words}`) : null),
      make("span", { class: "quiet small" }, explained(`${detail}${surprise}${taken ? "; taken back" : ""}`, "bit"))),
    make("span", { class: "event-acts" }, event.odd ? make("span", { class: "odd-mark" }, word("odd")) : null, button, newest ? null : back));
}

function words(event) {
  const time = new Date(event.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  if (event.check) {
    const good = event.expected ? `; good board: ${event.expected}` : "";
    const source = event.source ? `; read by ${event.source}` : "";
    return [`${event.check}:`, `${time}${source}${good}${event.why_not ? `; does not count: ${event.why_not}` : ""}`];
  }
  if (event.kind === "board") return [event.number === 1 ? "case begun" : "board corrected", time];
  if (KINDS[event.kind]) return [event.words ? `${KINDS[event.kind]}: ${event.words}` : KINDS[event.kind], time];
  if (event.kind === "finding") return [`capture: ${event.words}`, time];
  if (event.kind === "repaired") return [`repaired: ${event.words}`, time];
  return [event.words ? `note: ${event.words}` : `${event.kind} changed`, time];
}
