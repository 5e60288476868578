// The next check: what to do, what to expect, and the one box that takes the answer.

import { $, ask, base, explained, kept, make, minutes, tell, word } from "./dom.js";
import { showMeters, startMeters } from "./meters.js";
import { sendReading, sendUndo, withdraw } from "./outbox.js";

const WORDS = { Place: "place", State: "state", Bench: "setup", "Good board": "expected" };
const DRAFT = `${kept} draft`;
let suggestions = [];
let shown = null; // the suggestion on the card
let index = 0;
let sent = null; // {check, text} on its way
let filled = null; // {text, source} that an instrument put into the box
let said = ""; // by the verdict, which has a banner of its own
let onShow = () => {};

export function startCard(whenShown) {
  onShow = whenShown;
  const draft = JSON.parse(sessionStorage.getItem(DRAFT) ?? "null");
  if (draft) {
    $("reading").value = draft.text;
    shown = draft.shown;
    paint();
  }
  $("answer").addEventListener("submit", (event) => {
    event.preventDefault();
    const text = $("reading").value;
    if (text.trim()) answer(text, true);
    else trouble("Type what you read, or press a button below.");
  });
  $("reading").addEventListener("input", () => {
    trouble("");
    if (sent && sent.typed) withdraw(sent.check);
    sent = null;
    filled = null;
    keepDraft();
  });
  $("reading").addEventListener("keydown", keys);
  $("another").addEventListener("click", () => another(1));
  $("done").addEventListener("click", () => {
    $("done").disabled = true;
    tell(`${base}api/repaired`, { suspect: shown.mends }).catch((error) => trouble(error.message)).finally(() => { $("done").disabled = false; });
  });
  $("ask-demo")?.addEventListener("click", askDemo);
  startMeters({ current, fill, trouble });
  // What was on its way when the page was loaded anew has arrived.
  document.addEventListener("sent", ({ detail }) => {
    if (detail.check !== shown?.reads || detail.text !== $("reading").value) return;
    $("reading").value = "";
    keepDraft();
  });
}

export function showSuggestions(list, verdict) {
  said = verdict.sentence;
  const before = shown?.id;
  suggestions = list;
  const at = list.findIndex((one) => one.id === before);
  if ($("reading").value.trim() && shown) {
    // Somebody is typing an answer to this check: it stays on the card.
    if (at >= 0) {
      shown = list[at];
      index = at;
    }
    $("pinned").hidden = at === 0;
    $("pinned").textContent =
      "There is newer advice. This check stays here until you enter its reading or clear the box.";
  } else {
    index = 0;
    shown = list[0] ?? null;
    $("pinned").hidden = true;
  }
  paint();
}

export function another(by) {
  if (!suggestions.length) return;
  if ($("reading").value.trim()) {
    trouble("Enter or clear what is in the box first.");
    return;
  }
  index = (index + by + suggestions.length) % suggestions.length;
  shown = suggestions[index];
  $("pinned").hidden = true;
  trouble("");
  paint();
}

export function current() {
  return shown;
}

function answer(text, typed) {
  if (!shown?.reads) return;
  const check = shown.reads;
  sent = { check, text, typed };
  trouble("");
  sendReading(check, text, {
    source: typed && filled?.text === text ? filled.source : "",
    done: () => {
      if (typed && $("reading").value === text) $("reading").value = "";
      if (sent?.text === text) sent = null;
      filled = null;
      keepDraft();
      trouble("");
      $("pinned").hidden = true;
      $("reading").focus({ preventScroll: true });
    },
    failed: (message) => {
      sent = null;
      trouble(message);
      $("reading").focus();
    },
    held: () => trouble("Not sent yet: Halfsplit does not answer. It is kept here and sent when it is back."),
  });
}

// The demo board answers for the meter; the person still enters it.
async function askDemo() {
  if (!shown?.reads) return;
  try {
    const said = await ask(`${base}api/rehearse?${new URLSearchParams({ check: shown.reads })}`);
    fill(said.text);
  } catch (error) {
    trouble(error.message);
  }
}

function fill(text, source = "") {
  $("reading").value = text;
  filled = { text, source };
  keepDraft();
  trouble("");
  $("reading").focus();
}

function paint() {
  $("another").hidden = suggestions.length < 2;
  $("next-count").textContent = suggestions.length > 1 ? `${index + 1} of ${suggestions.length}` : "";
  const one = shown;
  const first = $("answer").hidden;
  $("answer").hidden = !one?.reads;
  if (first && document.activeElement === document.body) $("reading").focus({ preventScroll: true });
  $("next").dataset.check = one?.reads ?? "";
  showMeters(one);
  $("mend").hidden = !one?.mends;
  $("opens").hidden = !one?.opens;
  $("opens").href = `${base}board#${one?.opens ?? ""}`;
  $("done").textContent = `${one?.mends}: the repair is done`;
  if (!one) {
    $("sentence").textContent = "Nothing to suggest.";
    for (const id of ["facts", "buttons", "meanings"]) $(id).replaceChildren();
    $("why").textContent = "";
    $("cautions").hidden = true;
    onShow(null);
    return;
  }
  $("next-title").textContent = one.kind === "repair" ? "Repair" : "Next check";
  $("sentence").textContent = one.sentence;
  const facts = [
    ["Place", ["symptom", "repair"].includes(one.kind) ? "" : one.places.join(", ")],
    ["State", one.state],
    ["Good board", one.expected],
    ["Takes", minutes(one.minutes + one.setup_minutes)],
    ["Bench", one.setup_words],
  ];
  $("facts").replaceChildren(
    ...facts
      .filter(([, value]) => value)
      .map(([name, value]) => make("div", {}, make("dt", {}, WORDS[name] ? word(WORDS[name], name) : name), make("dd", {}, value))),
  );
  paintCautions(one.cautions);
  $("reading-label").textContent = one.kind === "repair" ? "Or try another part in its place, and say what came of it" : "What you read";
  $("reading-help").replaceChildren(...explained(help(one), "could not tell"));
  $("buttons").replaceChildren(
    lineBoxes(one.lines),
    ...one.answers.map((word) =>
      make("button", { type: "button", onclick: () => press(one, word) }, word),
    ),
    make("button", { type: "button", class: "soft", onclick: () => answer("?", false) }, "could not tell"),
  );
  $("meanings").replaceChildren(...meaningList(one.meanings));
  $("why").replaceChildren(...explained(one.why.replace(said, "").trim(), "bit"));
  onShow(one);
}

// Of several lines recorded together: which of them a word is about.
function lineBoxes(lines) {
  if (!lines?.nets) return "";
  return make("fieldset", { class: "lines" }, make("legend", {}, "Which line"),
    lines.nets.map((net) => make("label", { class: "row tight" }, make("input", { type: "checkbox", name: "which-line", value: net }), net)));
}

function press(one, word) {
  const [alone, pair] = [one.lines?.one?.includes(word), one.lines?.two?.includes(word)];
  if (!alone && !pair) {
    answer(word, false);
    return;
  }
  const ticked = [...document.querySelectorAll("[name=which-line]:checked")].map(({ value }) => value);
  if (pair ? ticked.length !== 2 : !ticked.length) trouble(`Tick ${pair ? "the two lines that are" : "the line that is"} ${word} first.`);
  else answer(pair ? `${ticked.join(" and ")} ${word}` : ticked.map((net) => `${net} ${word}`).join(", "), false);
}

function paintCautions(list) {
  $("cautions").hidden = !list.length;
  const [summary, all] = $("cautions").children;
  const more = list.length > 1 ? ` (and ${list.length - 1} more)` : "";
  summary.textContent = list.length ? `Caution: ${list[0]}${more}` : "";
  all.replaceChildren(...list.slice(1).map((text) => make("li", {}, text)));
  if (list.length < 2) $("cautions").open = false;
}

function meaningList(lines) {
  if (!lines.length) return [];
  return [
    make("h3", {}, "What it would mean"),
    make("ul", { class: "meanings" }, lines.map((line) => {
      const cut = line.indexOf("): ");
      if (cut < 0) return make("li", {}, line);
      const [span, chance] = line.slice(0, cut).split(" (");
      return make("li", {}, make("b", {}, span), make("span", { class: "quiet" }, ` ${chance} `),
        make("span", {}, line.slice(cut + 3)));
    })),
  ];
}

function help(one) {
  if (one.kind === "symptom") return "Right or wrong may be typed too; ? is could not tell.";
  if (!one.unit) return "A word will do; ? is could not tell.";
  const example = one.unit === "V" ? "0.68, 680m, under 1, about 5" : "220, 4k7, under 10, OL";
  return `In ${one.unit}: ${example}. ? is could not tell.`;
}

function keys(event) {
  const empty = !$("reading").value;
  if (event.key === "ArrowDown" || event.key === "ArrowUp") {
    event.preventDefault();
    another(event.key === "ArrowDown" ? 1 : -1);
  } else if (event.key === "Escape") {
    $("reading").blur();
  } else if (empty && event.key === "z" && (event.ctrlKey || event.metaKey)) {
    event.preventDefault();
    sendUndo(null);
  }
}

function keepDraft() {
  const text = $("reading").value;
  if (text) sessionStorage.setItem(DRAFT, JSON.stringify({ text, shown }));
  else sessionStorage.removeItem(DRAFT);
}

function trouble(message) {
  $("reading-trouble").textContent = message;
}
