// The page of one case: news come in, the panels are painted, readings go out.

import { showBanners } from "./banners.js";
import { another, showSuggestions, startCard } from "./card.js";
import { $ } from "./dom.js";
import { listen } from "./live.js";
import { showLog } from "./log.js";
import { startOther } from "./other.js";
import { flush, seen, sendUndo, startOutbox } from "./outbox.js";
import { showOutputs, startOutputs } from "./outputs.js";
import { choose, showNext, showShares, startPicture } from "./picture.js";
import { showSuspects } from "./suspects.js";

const page = document.documentElement;
let state = {};
let online = false;
let held = 0;

function paint(news) {
  state = news;
  if (state.board && state.board !== page.dataset.board) {
    location.reload(); // the board was corrected; what is typed is kept
    return;
  }
  seen(state.last_event ?? 0);
  showBanners(state);
  if (state.outputs) showOutputs(state.outputs, state.events ?? [], state.suggestions ?? []);
  if (state.suggestions) {
    showSuggestions(state.suggestions, state.verdict);
    showSuspects(state.suspects, choose);
    showShares(state.shares);
    showLog(state.events);
  }
  page.dataset.event = state.last_event;
  page.dataset.ready = state.ready ? "yes" : "no";
  status();
}

function status() {
  let words = state.ready ? "up to date" : `${state.working || "working"} …`;
  if (!online) words = held ? `no connection; ${held} kept here, sent when it is back` : "no connection; trying again";
  else if (held) words = "sending …";
  $("link").textContent = words;
  $("link").dataset.state = online ? (state.ready ? "good" : "busy") : "down";
}

function keys(event) {
  if (event.target.closest("input, select, textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
  const acts = {
    "/": () => $("reading").focus(),
    n: () => another(1),
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
  const choices = await (await fetch("/api/choices")).json();
  startPicture(choices);
  startOther(choices);
  startOutputs();
  startOutbox((count) => {
    held = count;
    status();
  });
  startCard(showNext);
  document.addEventListener("keydown", keys);
  listen({
    onState: paint,
    onUp: () => {
      online = true;
      status();
      flush();
    },
    onDown: () => {
      online = false;
      status();
    },
  });
}

start();
