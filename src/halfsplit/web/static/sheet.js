// The sheet as something to move about on: by pointer, wheel, fingers and keys; to search; to ask by
// pointing what should be read.

import { $, ask, base, make } from "./dom.js";

const LEAST = 0.2, MOST = 3;
const PAUSE = 250; // milliseconds that the pointer rests before it is answered
const fingers = new Map();
const asked = new Map(); // place and state -> what was answered
let svg;
let natural;
let zoom = 1;
let waiting = 0;
let taken = () => [];

export function startSheet(drawing, readingsAt) {
  svg = drawing;
  taken = readingsAt;
  natural = [svg.viewBox.baseVal.width, svg.viewBox.baseVal.height];
  const sheet = $("sheet");
  $("larger").addEventListener("click", () => scale(zoom * 1.25));
  $("smaller").addEventListener("click", () => scale(zoom / 1.25));
  $("whole").addEventListener("click", () => scale(fitting()));
  sheet.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    scale(zoom * Math.exp(-event.deltaY / 300), event.clientX, event.clientY);
  }, { passive: false });
  sheet.addEventListener("pointerdown", press);
  sheet.addEventListener("pointermove", move);
  for (const name of ["pointerup", "pointercancel", "pointerleave"]) sheet.addEventListener(name, release);
  sheet.addEventListener("keydown", keys);
  svg.addEventListener("pointerover", point);
  svg.addEventListener("pointerout", () => unpoint());
  svg.addEventListener("focusin", point);
  svg.addEventListener("focusout", () => unpoint());
  startSearch();
  scale(Math.max(Math.min(fitting(), (sheet.clientHeight - 2) / natural[1]), 0.9)); // a small board is shown whole
}

export function scale(wanted, x, y) {
  const sheet = $("sheet");
  const frame = sheet.getBoundingClientRect();
  const [left, top] = [(x ?? frame.x + frame.width / 2) - frame.x, (y ?? frame.y + frame.height / 2) - frame.y];
  const at = [(sheet.scrollLeft + left) / zoom, (sheet.scrollTop + top) / zoom];
  zoom = Math.min(MOST, Math.max(LEAST, wanted));
  svg.setAttribute("width", Math.round(natural[0] * zoom));
  svg.setAttribute("height", Math.round(natural[1] * zoom));
  sheet.scrollLeft = at[0] * zoom - left;
  sheet.scrollTop = at[1] * zoom - top;
}

export function bring(element) {
  const box = element.getBoundingClientRect();
  const sheet = $("sheet");
  const frame = sheet.getBoundingClientRect();
  sheet.scrollLeft += box.x + Math.min(box.width, frame.width) / 2 - frame.x - frame.width / 2;
  sheet.scrollTop += box.y + Math.min(box.height, frame.height) / 2 - frame.y - frame.height / 2;
}

function fitting() {
  return Math.min(1.4, ($("sheet").clientWidth - 2) / natural[0]);
}

// A mouse drags the sheet; two fingers scale it, one finger scrolls as everywhere.
function press(event) {
  if (event.pointerType !== "touch" && event.button !== 0) return;
  fingers.set(event.pointerId, [event.clientX, event.clientY]);
}

function move(event) {
  const last = fingers.get(event.pointerId);
  if (!last) return;
  const now = [event.clientX, event.clientY];
  if (fingers.size === 2) {
    const other = [...fingers].find(([id]) => id !== event.pointerId)[1];
    const far = ([x, y]) => Math.hypot(x - other[0], y - other[1]);
    if (far(last) > 20) scale((zoom * far(now)) / far(last), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
  } else if (event.pointerType !== "touch") {
    $("sheet").scrollLeft -= now[0] - last[0];
    $("sheet").scrollTop -= now[1] - last[1];
  }
  fingers.set(event.pointerId, now);
}

function release(event) {
  fingers.delete(event.pointerId);
}

function keys(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const sheet = $("sheet");
  const acts = {
    ArrowLeft: () => { sheet.scrollLeft -= 60; },
    ArrowRight: () => { sheet.scrollLeft += 60; },
    ArrowUp: () => { sheet.scrollTop -= 60; },
    ArrowDown: () => { sheet.scrollTop += 60; },
    "+": () => scale(zoom * 1.25),
    "-": () => scale(zoom / 1.25),
    0: () => scale(fitting()),
  };
  if (!acts[event.key]) return;
  event.preventDefault();
  event.stopPropagation();
  acts[event.key]();
}

function startSearch() {
  const names = new Map();
  for (const one of svg.querySelectorAll(".part, .test-point, .net")) {
    const name = one.dataset.part ?? one.dataset.net ?? one.dataset.testPoint;
    names.set(name, [...(names.get(name) ?? []), one]);
  }
  $("find-names").replaceChildren(...[...names.keys()].map((name) => make("option", { value: name })));
  $("find").addEventListener("input", () => find(names, $("find").value.trim(), false));
  $("find-form").addEventListener("submit", (event) => {
    event.preventDefault();
    find(names, $("find").value.trim(), true);
  });
}

function find(names, wanted, typed) {
  for (const one of svg.querySelectorAll(".found")) one.classList.remove("found");
  const name = [...names.keys()].find((one) => one.toLowerCase() === wanted.toLowerCase());
  const hits = names.get(name) ?? [];
  for (const one of hits) one.classList.add("found");
  $("find-trouble").textContent = typed && wanted && !hits.length ? `There is no part or net ${wanted}.` : "";
  if (!hits.length) return;
  if (typed) $("sheet").scrollIntoView({ block: "nearest" });
  bring(hits[0]);
  if (typed) (hits[0].querySelector(".key") ?? hits[0]).focus({ preventScroll: true });
}

function point(event) {
  const pin = event.target.closest(".pin");
  const one = event.target.closest(".net, .test-point") ?? (pin ? null : event.target.closest(".part"));
  const place = pin?.dataset.place ?? one?.dataset.place ?? one?.dataset.testPoint;
  unpoint();
  if (place) waiting = setTimeout(() => peek(place, (pin ?? one).getBoundingClientRect()), PAUSE);
}

function unpoint() {
  clearTimeout(waiting);
  $("peek").hidden = true;
}

async function peek(place, box) {
  const state = $("place-state").value;
  const key = `${place} ${state}`;
  const mine = waiting;
  if (!asked.has(key)) {
    const found = await ask(`${base}api/expected?${new URLSearchParams({ place, state })}`).catch(() => null);
    if (found) asked.set(key, found);
  }
  if (mine !== waiting || !asked.has(key)) return;
  const found = asked.get(key);
  $("peek").replaceChildren(
    make("b", {}, `${place}, ${state}`), make("p", {}, `good board: ${found.words || "cannot be told"}`),
    ...found.differs.slice(0, 3).map((one) => make("p", { class: "small" },
      `${one.id}: ${one.floating ? "floating" : one.mean === null ? "unresolved" : `${one.mean.toFixed(2)} V`}`)),
    ...taken(place).map((said) => make("p", { class: "small" }, `read: ${said}`)));
  $("peek").hidden = false;
  const frame = $("sheet").getBoundingClientRect();
  const own = $("peek").getBoundingClientRect();
  $("peek").style.left = `${Math.max(0, Math.min(frame.width - own.width, box.x - frame.x))}px`;
  const under = box.bottom - frame.y + 8;
  $("peek").style.top = `${under + own.height > frame.height ? box.y - frame.y - own.height - 8 : under}px`;
}
