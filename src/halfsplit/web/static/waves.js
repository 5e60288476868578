// The window on a capture: what is shown of it, moved by pointer, fingers, wheel and keys. What is at
// hand is drawn at once; finer columns are asked for and drawn when they come.

import { base } from "./dom.js";
import { draw } from "./wavedraw.js";

const TAP = 6; // pixels that a press may wander
const LONG = 500; // milliseconds of a press that means cursor B
const view = { begin: 0, end: 1, channels: [], sets: [], ranges: new Map(), marks: [], ticks: [], cursors: { A: null, B: null } };
const fingers = new Map();
let canvas;
let capture = null;
let told = () => {};
let dirty = false;
let asking = false;
let again = false;
let pressed = null;
let last = "A";

// `onChange(view, what)` after the window moved or a cursor was set.
export function startWaves(on, onChange) {
  canvas = on;
  told = onChange;
  canvas.addEventListener("pointerdown", press);
  canvas.addEventListener("pointermove", move);
  for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, release);
  canvas.addEventListener("wheel", wheel, { passive: false });
  canvas.addEventListener("keydown", keys);
  new ResizeObserver(() => { redraw(); load(); }).observe(canvas);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
}

export async function show(what) {
  capture = what;
  Object.assign(view, { channels: what.channels, sets: [], ranges: new Map(), marks: [], ticks: [], cursors: { A: null, B: null }, predicted: null });
  const whole = await ask(what.begin, what.end, 2000);
  if (capture !== what) return;
  view.sets = [whole];
  for (const [name, lane] of whole.lanes) if (lane.low) view.ranges.set(name, range(lane));
  goTo(what.begin, what.end);
}

export function mark(marks, ticks) {
  Object.assign(view, { marks, ticks });
  redraw();
}

// `predicted`: {begin, end, lines}, or null; the ranges of the lanes grow to hold it.
export function underlay(predicted) {
  view.predicted = predicted;
  for (const [name, { range: [low, high] }] of predicted?.lines ?? []) {
    const [least, most] = view.ranges.get(name) ?? [low, high];
    if (view.ranges.has(name)) view.ranges.set(name, [Math.min(least, low), Math.max(most, high)]);
  }
  redraw();
}

export function names(channels) {
  view.channels = channels;
  redraw();
}

export function goTo(begin, end) {
  const whole = capture.end - capture.begin || 1;
  const length = Math.min(whole, Math.max(whole * 1e-9, end - begin));
  view.begin = Math.min(Math.max(begin, capture.begin), capture.end - length);
  view.end = view.begin + length;
  redraw();
  load();
  told(view, "window");
}

export function zoom(by, at = 0.5) {
  const length = view.end - view.begin;
  const time = view.begin + at * length;
  goTo(time - at * length * by, time + (1 - at) * length * by);
}

export function pan(by) {
  const far = by * (view.end - view.begin);
  goTo(view.begin + far, view.end + far);
}

export function whole() {
  goTo(capture.begin, capture.end);
}

// The next find to the right, or to the left, in the middle of the window.
export function nextMark(way) {
  const middle = (view.begin + view.end) / 2;
  const near = 1e-9 * (capture.end - capture.begin);
  const found = way > 0 ? view.marks.find((one) => one.begin > middle + near) : view.marks.findLast((one) => one.begin < middle - near);
  if (!found) return null;
  const half = (view.end - view.begin) / 2;
  goTo(found.begin - half, found.begin + half);
  return found;
}

export function cursor(letter, time) {
  last = letter;
  view.cursors[letter] = Math.min(capture.end, Math.max(capture.begin, time));
  redraw();
  told(view, "cursor");
}

function redraw() {
  if (dirty || !capture) return;
  dirty = true;
  requestAnimationFrame(() => {
    dirty = false;
    draw(canvas, view);
  });
}

// Columns of the window and half of it on each side; the newest window wins.
async function load() {
  if (!capture) return;
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  const of = capture;
  const length = view.end - view.begin;
  const count = Math.min(4000, 2 * Math.max(200, Math.round(canvas.clientWidth)));
  try {
    const set = await ask(view.begin - length / 2, view.end + length / 2, count);
    if (of === capture && view.sets.length) {
      view.sets = [view.sets[0], set];
      redraw();
    }
  } catch {
    // What is at hand stays drawn; the next movement asks again.
  }
  asking = false;
  if (again) {
    again = false;
    load();
  }
}

async function ask(begin, end, count) {
  const query = new URLSearchParams({ begin, end, count });
  for (const channel of capture.channels) query.append("channel", channel.name);
  const answer = await fetch(`${base}api/captures/${encodeURIComponent(capture.name)}/columns?${query}`);
  if (!answer.ok) throw new Error((await answer.json()).error?.message ?? "refused");
  const data = await answer.arrayBuffer();
  const lanes = new Map();
  let at = 0;
  for (const channel of capture.channels) {
    if (channel.digital) {
      lanes.set(channel.name, { seen: new Uint8Array(data, at, count) });
      at += Math.ceil(count / 4) * 4;
    } else {
      lanes.set(channel.name, { low: new Float32Array(data, at, count), high: new Float32Array(data, at + 4 * count, count) });
      at += 8 * count;
    }
  }
  return { begin, end, count, lanes };
}

function range({ low, high }) {
  let [least, most] = [Infinity, -Infinity];
  for (let k = 0; k < low.length; k += 1) {
    if (low[k] < least) least = low[k];
    if (high[k] > most) most = high[k];
  }
  if (!(least < most)) return [Number.isFinite(least) ? least - 1 : 0, Number.isFinite(most) ? most + 1 : 1];
  return [least, most];
}

const timeAt = (x) => view.begin + ((x - canvas.getBoundingClientRect().x) / canvas.clientWidth) * (view.end - view.begin);

function press(event) {
  if (event.pointerType !== "touch" && event.button !== 0) return;
  canvas.setPointerCapture(event.pointerId);
  fingers.set(event.pointerId, event.clientX);
  pressed = fingers.size === 1 ? { x: event.clientX, at: performance.now(), moved: false } : null;
}

function move(event) {
  const before = fingers.get(event.pointerId);
  if (before === undefined) return;
  const width = canvas.clientWidth;
  const x = event.clientX;
  if (pressed && Math.abs(x - pressed.x) > TAP) pressed.moved = true;
  if (fingers.size === 2) {
    const other = [...fingers].find(([id]) => id !== event.pointerId)[1];
    if (Math.abs(before - other) > 10 && Math.abs(x - other) > 10) {
      zoom(Math.abs((before - other) / (x - other)), (other - canvas.getBoundingClientRect().x) / width);
    }
  } else if (!pressed || pressed.moved) pan((before - x) / width);
  else return;
  fingers.set(event.pointerId, x);
}

function release(event) {
  fingers.delete(event.pointerId);
  if (!pressed || pressed.moved || event.type === "pointercancel") return;
  const second = event.shiftKey || performance.now() - pressed.at > LONG;
  cursor(second ? "B" : "A", timeAt(event.clientX));
  pressed = null;
}

function wheel(event) {
  const sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY);
  if (!sideways && !event.ctrlKey && !event.metaKey && document.activeElement !== canvas) return;
  event.preventDefault();
  if (sideways) pan(event.deltaX / canvas.clientWidth);
  else zoom(Math.exp(event.deltaY / 400), (event.clientX - canvas.getBoundingClientRect().x) / canvas.clientWidth);
}

function keys(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || !capture) return;
  const middle = (view.begin + view.end) / 2;
  const nudge = (view.end - view.begin) / canvas.clientWidth;
  const acts = {
    ArrowLeft: () => pan(-0.1), ArrowRight: () => pan(0.1),
    ArrowUp: () => zoom(0.8), ArrowDown: () => zoom(1.25),
    "+": () => zoom(0.8), "-": () => zoom(1.25), 0: whole,
    a: () => cursor("A", middle), b: () => cursor("B", middle),
    ",": () => cursor(last, (view.cursors[last] ?? middle) - nudge),
    ".": () => cursor(last, (view.cursors[last] ?? middle) + nudge),
    n: () => nextMark(1), p: () => nextMark(-1),
    o: () => { view.hidePredicted = !view.hidePredicted; redraw(); },
  };
  if (!acts[event.key]) return;
  event.preventDefault();
  acts[event.key]();
}
