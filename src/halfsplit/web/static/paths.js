// Signal paths with last good and first bad, and like channels side by side with what was read.

import { $, ask, base, make, word } from "./dom.js";

const SIGNS = { good: "✓", bad: "✗", "not read": "·" };
let events = [];
let shownEvent = null;
let pins = {}; // part -> its pins, each with its net

export function startPaths(choices) {
  pins = choices.pins;
  $("paths").addEventListener("toggle", load);
}

export function showPaths(state) {
  events = state.events;
  if (state.ready && state.last_event !== shownEvent) load();
}

async function load() {
  if (!$("paths").open) return;
  try {
    const found = await ask(`${base}api/paths`);
    shownEvent = events.at(-1)?.number;
    const read = found.paths.filter((one) => one.marks.some((mark) => mark !== "not read"));
    const others = found.paths.filter((one) => !read.includes(one));
    const rows = read.map(path);
    if (others.length) rows.push(make("li", {}, make("details", {}, make("summary", {}, `${others.length} without a reading`), make("ul", { class: "path-list" }, others.map(path)))));
    rows.push(...found.loops.map((loop) => make("li", { class: "quiet" }, `${loop.sentence}.`)));
    if (!rows.length) rows.push(make("li", { class: "empty" }, "This board has no path from an input to an output."));
    $("path-list").replaceChildren(...rows);
    $("sisters").replaceChildren(...found.channels.map(sisters));
  } catch (error) {
    $("path-list").replaceChildren(make("li", { class: "trouble" }, error.message));
  }
}

function path(one) {
  const steps = one.nets.flatMap((net, at) => [
    make("span", { class: `step-net ${one.marks[at].replace(" ", "-")}`, "aria-label": `${net}: ${one.marks[at]}` }, `${SIGNS[one.marks[at]]} ${net}`),
    one.parts[at] ? make("span", { class: "step-part" }, one.parts[at]) : null,
  ]);
  if (one.origin) steps.unshift(make("span", { class: "step-part" }, one.origin));
  return make("li", {}, make("b", {}, one.output || one.nets.at(-1)), make("div", { class: "steps" }, steps), make("p", { class: "quiet small" }, one.sentence));
}

// Rows are like nets, columns the channels; the latest reading of each state stands in its cell.
function sisters(group) {
  const rows = group[0].nets.map((_, at) => make("tr", {}, group.map((channel) => {
    const net = channel.nets[at];
    return make("td", {}, make("b", {}, net), readings(net).map((event) =>
      make("span", { class: event.odd ? "odd-mark small" : "small" }, ` ${event.check.split("@")[1] ?? ""} ${event.reading_words}`)));
  })));
  const head = make("tr", {}, group.map((channel, at) => make("th", { scope: "col" }, word("channel"), ` ${at + 1}`, make("span", { class: "quiet small places" }, channel.parts.join(" ")))));
  return make("div", { class: "table-scroll", tabindex: "0", role: "region", "aria-label": `${group.length} like channels` },
    make("table", {}, make("thead", {}, head), make("tbody", {}, rows)));
}

function readings(net) {
  const latest = new Map();
  for (const event of events) {
    if (!event.check?.startsWith("volts ") || !event.counts) continue;
    const [place, state] = event.check.slice(6).split(" @");
    if (place === `net ${net}` || netOf(place) === net) latest.set(state, event);
  }
  return [...latest.values()];
}

function netOf(place) {
  const [part] = place.split(".");
  return pins[part]?.find((pin) => pin.place === place.replace(/\/(pad|tail)$/, ""))?.net;
}
