// What every page of a case has: news, the outbox, and the line that says how the connection is.

import { $ } from "./dom.js";
import { listen } from "./live.js";
import { flush, seen, startOutbox } from "./outbox.js";

const page = document.documentElement;
let state = {};
let online = null; // until the first try has come to something
let held = 0;

// `onState(state)` with each news. `reload`: whether a corrected board loads the page anew.
export function startShell(onState, { reload = true } = {}) {
  startOutbox((count) => {
    held = count;
    status();
  });
  const take = (news) => {
    state = news;
    if (reload && state.board && state.board !== page.dataset.board) {
      location.reload(); // what is typed is kept
      return;
    }
    seen(state.last_event ?? 0);
    onState(state);
    page.dataset.event = state.last_event;
    page.dataset.ready = state.ready ? "yes" : "no";
    status();
  };
  const first = JSON.parse($("state").textContent); // the page brings what was known when it was made
  if (first.board === page.dataset.board) take(first);
  listen({
    onState: take,
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

function status() {
  let words = state.ready ? "up to date" : `${state.working || "working"} …`;
  if (online === null) words = "connecting …";
  else if (!online) words = held ? `no connection; ${held} kept here, sent when it is back` : "no connection; trying again";
  else if (held) words = "sending …";
  $("link").textContent = words;
  $("link").dataset.state = online === false ? "down" : online && state.ready ? "good" : "busy";
}
