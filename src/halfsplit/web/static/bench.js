// The bench: next check, outputs, suspects, drawing, log.

import { showAsides, startAsides } from "./asides.js";
import { showBanners } from "./banners.js";
import { another, showSuggestions, startCard } from "./card.js";
import { showCourse } from "./course.js";
import { $, ask, base, make, tell } from "./dom.js";
import { showGuide, startGuide } from "./guide.js";
import { showLog, startNotes } from "./log.js";
import { startOther } from "./other.js";
import { sendUndo } from "./outbox.js";
import { showOutputs, startOutputs } from "./outputs.js";
import { showPackage } from "./package.js";
import { showPaths, startPaths } from "./paths.js";
import { choose, showNext, showReadings, showShares, startPicture } from "./picture.js";
import { startShell } from "./shell.js";
import { showSuspects, startWhyNot } from "./suspects.js";
import { showTogether, startTogether, takeOutputs } from "./together.js";
import { showWhere, takePhotos } from "./where.js";

let painted = ""; // the events and outputs that the page shows

function paint(state) {
  showBanners(state);
  const now = JSON.stringify([state.last_event, state.outputs, state.photos?.length]);
  if (now === painted) return;
  painted = now;
  if (state.outputs) takeOutputs(state.outputs, state.events ?? []);
  if (state.outputs) showOutputs(state.outputs, state.events ?? [], state.suggestions ?? []);
  if (!state.suggestions) return;
  takePhotos(state.photos);
  showSuggestions(state.suggestions, state.verdict);
  showSuspects(state.suspects, choose);
  showCourse(state.leaders, state.course);
  showShares(state.shares);
  showReadings(state.events);
  showLog(state.events);
  showPaths(state);
  showGuide(state);
  showAsides(state);
}

function keys(event) {
  if (event.target.closest("input, select, textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
  const acts = {
    "/": () => $("reading").focus(),
    n: () => another(1),
    f: () => $("find").focus(),
    u: () => sendUndo(null),
    o: () => {
      $("other").open = true;
      $("free-place").focus();
    },
  };
  if (acts[event.key]) {
    event.preventDefault();
    acts[event.key]();
  }
}

async function start() {
  const choices = await ask(`${base}api/choices`);
  startPicture(choices);
  startOther(choices);
  startOutputs();
  startTogether();
  startNotes();
  startWhyNot(choices.part);
  startPaths(choices);
  startGuide();
  startAsides();
  $("nets-list").replaceChildren(...choices.place.filter((name) => name.startsWith("net ")).map((name) => make("option", { value: name.slice(4) })));
  $("unproven").addEventListener("click", () => {
    if (!confirm("Close the case without a complete acceptance run?")) return;
    tell(`${base}api/finish`, { unproven: true }).catch((error) => { $("unproven-said").textContent = error.message; });
  });
  startCard((suggestion) => {
    showNext(suggestion);
    showWhere(suggestion);
    showTogether(suggestion);
    showPackage(suggestion);
  });
  document.addEventListener("keydown", keys);
  startShell(paint);
}

start();
