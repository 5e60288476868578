// What is sent to the server. What could not be sent is kept, in this tab, until the server is
// back; a reading that may have arrived all the same is recognised there by `since`.

import { $, base, kept } from "./dom.js";

const KEPT = `${kept} outbox`;
const AGAIN = 1500;
const LONGEST = 15000; // milliseconds without an answer, as from a phone out of reach: it is sent again
const waiting = [];
let busy = false;
let lastEvent = 0;
let report = () => {};

export function startOutbox(onChange) {
  report = onChange;
  for (const action of JSON.parse(sessionStorage.getItem(KEPT) ?? "[]")) {
    const done = () => document.dispatchEvent(new CustomEvent("sent", { detail: action.body }));
    waiting.push({ ...action, tried: true, done, failed: say });
  }
  report(waiting.length);
}

export function seen(number) {
  lastEvent = Math.max(lastEvent, number);
}

// Send a reading; `done()` when it is on the server's disk, `failed(message)` when refused.
export function sendReading(check, text, { source = "", done, failed, held = () => {} }) {
  push({ path: "readings", body: { check, text, source }, since: lastEvent, done, failed, held });
}

// Send many readings; `done(results)`, one for each, in order.
export function sendMany(readings, { done, failed, held = () => {} }) {
  push({ path: "readings/many", body: { readings }, since: lastEvent, done, failed, held });
}

export function sendUndo(number, { done = () => {}, failed = say } = {}) {
  const body = number === null ? { after: lastEvent } : { number };
  push({ path: "undo", body, done, failed, held: () => {}, once: true });
}

// Take back all that was done after an entry.
export function sendUndoAfter(number, { done = () => {}, failed = say } = {}) {
  push({ path: "undo-after", body: { number, after: lastEvent }, done, failed, held: () => {}, once: true });
}

// Give up readings of a check that wait (the person changed the text).
export function withdraw(check) {
  for (let at = waiting.length - 1; at >= 0; at -= 1) {
    if (waiting[at].body.check === check && !waiting[at].going) waiting.splice(at, 1);
  }
  keep();
}

export async function flush() {
  if (busy) return;
  busy = true;
  while (waiting.length) {
    const action = waiting[0];
    action.going = true;
    const outcome = await attempt(action);
    action.going = false;
    if (outcome === "later") {
      action.tried = true;
      action.held?.();
      // An undo that may have arrived is not sent twice: it would take back one entry more.
      if (action.once) waiting.shift();
      setTimeout(flush, AGAIN); // the socket may stand all the while; else its return flushes
      break;
    }
    waiting.shift();
    outcome();
  }
  keep();
  busy = false;
}

async function attempt(action) {
  const body = action.tried && !action.once ? { ...action.body, since: action.since } : action.body;
  let answer;
  try {
    answer = await fetch(`${base}api/${action.path}`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(body),
      signal: AbortSignal.timeout(LONGEST),
    });
  } catch {
    return "later";
  }
  if (answer.status >= 500) return "later";
  const data = await answer.json().catch(() => ({}));
  if (answer.ok) {
    seen(data.number);
    return () => action.done(data.results ?? data.number);
  }
  return () => action.failed(data.error?.message ?? `refused (${answer.status})`);
}

function push(action) {
  waiting.push(action);
  keep();
  flush();
}

function keep() {
  const plain = waiting.filter((action) => !action.once);
  sessionStorage.setItem(
    KEPT,
    JSON.stringify(plain.map(({ path, body, since }) => ({ path, body, since }))),
  );
  report(waiting.length);
}

function say(message) {
  ($("reading-trouble") ?? $("link")).textContent = message;
}
