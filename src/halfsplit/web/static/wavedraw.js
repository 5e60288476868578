// Waveforms on a canvas: lanes of samples or levels, finds and steps marked, cursors.

import { inSeconds } from "./quantity.js";

export const AXIS = 26;
export const LANE = 46;
const PAD = 8;
const [LOW, HIGH] = [1, 2]; // bits of the levels seen in a column; others are unknown or let go

// `view`: begin, end, channels (with net), sets of columns from coarse to fine, ranges, marks, ticks,
// cursors, predicted. A set is {begin, end, count, lanes}; what is predicted {begin, end, lines}.
export function draw(canvas, view) {
  const ratio = window.devicePixelRatio || 1;
  const [width, height] = [canvas.clientWidth, AXIS + view.channels.length * LANE];
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    canvas.style.height = `${height}px`;
  }
  const pen = canvas.getContext("2d");
  const ink = colours(canvas);
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.fillStyle = ink.panel;
  pen.fillRect(0, 0, width, height);
  const at = (time) => ((time - view.begin) / (view.end - view.begin)) * width;
  axis(pen, ink, view, width, height, at);
  shade(pen, ink, view, at);
  const sheet = sheetFor(canvas, ink, ratio);
  view.channels.forEach((channel, lane) => {
    const top = AXIS + lane * LANE;
    pen.lineWidth = 1;
    pen.strokeStyle = ink.line;
    line(pen, 0, top + LANE - 0.5, width, top + LANE - 0.5);
    predicted(pen, ink, channel, view, top, at);
    for (const set of chosen(view)) wave(pen, sheet, ink, channel, set, view, top, at);
  });
  under.own.getContext("2d").putImageData(under.image, 0, 0);
  pen.drawImage(under.own, 0, 0, width, height);
  view.channels.forEach((channel, lane) => name(pen, ink, channel, AXIS + lane * LANE));
  steps(pen, ink, view, height, width, at);
  cursors(pen, ink, view, height, at);
}

// The finest set that covers the window; else the coarse one, and the finest over it.
function chosen(view) {
  const fine = view.sets.at(-1);
  if (!fine) return [];
  const covers = fine.begin <= view.begin && fine.end >= view.end;
  return covers ? [fine] : view.sets.slice(0, 1);
}

function wave(pen, sheet, ink, channel, set, view, top, at) {
  const lane = set.lanes.get(channel.name);
  if (!lane) return;
  const each = (set.end - set.begin) / set.count;
  const first = Math.max(0, Math.floor((view.begin - set.begin) / each) - 1);
  const last = Math.min(set.count, Math.ceil((view.end - set.begin) / each) + 1);
  const [x0, dx] = [at(set.begin), at(set.begin + each) - at(set.begin)];
  pen.strokeStyle = pen.fillStyle = ink.trace;
  pen.lineWidth = 1.3;
  if (lane.low && dx <= 1.5) {
    bars(sheet, lane, view.ranges.get(channel.name) ?? [0, 1], first, last, x0, dx, top);
    return;
  }
  pen.beginPath();
  if (lane.seen) levels(pen, ink, lane.seen, first, last, x0, dx, top);
  else samples(pen, lane, view.ranges.get(channel.name) ?? [0, 1], first, last, x0, dx, top);
  pen.stroke();
}

// What a good board, and one with a fault, would show: dashed and dotted under what was recorded.
function predicted(pen, ink, channel, view, top, at) {
  const shown = view.predicted?.lines.get(channel.name);
  if (!shown || view.hidePredicted) return;
  const { begin, end } = view.predicted;
  const [least, most] = view.ranges.get(channel.name) ?? shown.range;
  const scale = (LANE - 2 * PAD) / (most - least || 1);
  for (const [values, colour, dashes] of [[shown.good, ink.good, [7, 4]], [shown.faulty, ink.bad, [2, 3]]]) {
    if (!values) continue;
    const each = (end - begin) / (values.length - 1);
    const first = Math.max(0, Math.floor((view.begin - begin) / each));
    const last = Math.min(values.length - 1, Math.ceil((view.end - begin) / each));
    pen.strokeStyle = colour;
    pen.lineWidth = 2;
    pen.setLineDash(dashes);
    pen.beginPath();
    for (let k = first; k <= last; k += 1) {
      pen.lineTo(at(begin + k * each), top + LANE - PAD - (values[k] - least) * scale);
    }
    pen.stroke();
    pen.setLineDash([]);
  }
}

// A column for each pixel: upright bars, each reaching to the one before, written straight into a
// picture, which is much quicker than a line to stroke.
function bars(sheet, { low, high }, [least, most], first, last, x0, dx, top) {
  const { ratio, width, height, pixels, colour } = sheet;
  const scale = ((LANE - 2 * PAD) / (most - least || 1)) * ratio;
  const floor = (top + LANE - PAD) * ratio + least * scale;
  let [above, below] = [NaN, NaN];
  for (let k = first; k < last; k += 1) {
    if (Number.isNaN(low[k])) continue;
    const [a, b] = [floor - high[k] * scale, floor - low[k] * scale];
    const from = Math.max(0, Math.floor(a > below ? below : a));
    const to = Math.min(height, Math.max(from + ratio, Math.ceil(b < above ? above : b)));
    const left = Math.max(0, Math.round((x0 + k * dx) * ratio));
    const right = Math.min(width, Math.max(left + 1, Math.round((x0 + (k + 1) * dx) * ratio)));
    for (let y = from; y < to; y += 1) pixels.fill(colour, y * width + left, y * width + right);
    [above, below] = [a, b];
  }
}

let under = null; // the picture that bars are written into

function sheetFor(canvas, ink, ratio) {
  if (under?.width !== canvas.width || under?.height !== canvas.height) {
    const image = new ImageData(canvas.width, canvas.height);
    const own = new OffscreenCanvas(canvas.width, canvas.height);
    under = { image, own, width: canvas.width, height: canvas.height, pixels: new Uint32Array(image.data.buffer) };
  }
  under.pixels.fill(0);
  return Object.assign(under, { ratio, colour: packed(ink.trace) });
}

// "#33474a" as the four bytes of a pixel, red first.
function packed(hex) {
  const bytes = new Uint8Array([1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16)).concat(255));
  return new Uint32Array(bytes.buffer)[0];
}

function samples(pen, { low, high }, [least, most], first, last, x0, dx, top) {
  const scale = (LANE - 2 * PAD) / (most - least || 1);
  const y = (value) => top + LANE - PAD - (value - least) * scale;
  let down = false;
  for (let k = first; k < last; k += 1) {
    if (Number.isNaN(low[k])) continue; // between samples the line goes on
    const x = x0 + (k + 0.5) * dx;
    if (down) pen.lineTo(x, y(high[k]));
    else pen.moveTo(x, y(high[k]));
    if (low[k] !== high[k]) pen.lineTo(x, y(low[k]));
    down = true;
  }
}

function levels(pen, ink, seen, first, last, x0, dx, top) {
  const [up, low, middle] = [top + PAD, top + LANE - PAD, top + LANE / 2];
  let before = null;
  for (let k = first; k < last; k += 1) {
    const x = x0 + k * dx;
    const known = seen[k] & (LOW | HIGH);
    if (!known) {
      pen.moveTo(x, middle);
      pen.lineTo(x + dx, middle);
      before = null;
      continue;
    }
    const next = known === HIGH ? up : known === LOW ? low : null;
    if (next === null) {
      pen.moveTo(x + dx / 2, up);
      pen.lineTo(x + dx / 2, low);
      before = null;
    } else {
      if (before === null) pen.moveTo(x, next);
      else if (before !== next) pen.lineTo(x, next);
      pen.lineTo(x + dx, next);
      before = next;
    }
  }
}

function axis(pen, ink, view, width, height, at) {
  const each = tick((view.end - view.begin) / Math.max(2, width / 110));
  pen.font = "12px system-ui, sans-serif";
  pen.fillStyle = ink.quiet;
  pen.strokeStyle = ink.line;
  pen.lineWidth = 1;
  pen.textAlign = "center";
  for (let k = Math.ceil(view.begin / each); k * each <= view.end; k += 1) {
    const x = Math.round(at(k * each)) + 0.5;
    line(pen, x, AXIS - 6, x, height);
    const words = inSeconds(k * each, each);
    if (x > 20 && x < width - 20) pen.fillText(words, x, AXIS - 11);
  }
}

function shade(pen, ink, view, at) {
  pen.fillStyle = ink.find;
  for (const mark of view.marks) {
    if (mark.end < view.begin || mark.begin > view.end) continue;
    const [x, wide] = [at(mark.begin), Math.max(3, at(mark.end) - at(mark.begin))];
    view.channels.forEach((channel, lane) => {
      if (!mark.lanes.includes(channel.name)) return;
      pen.fillRect(x, AXIS + lane * LANE + 2, wide, LANE - 4);
    });
  }
}

// Where steps were taken, with as many positions as there is room for.
function steps(pen, ink, view, height, width, at) {
  const seen = view.ticks.filter(([time]) => time >= view.begin && time <= view.end);
  if (!seen.length || seen.length > width / 4) return;
  pen.strokeStyle = pen.fillStyle = ink.mark;
  pen.textAlign = "center";
  pen.lineWidth = 1;
  const every = Math.max(1, Math.ceil((seen.length * 40) / width));
  for (const [time, position] of seen) {
    const x = at(time);
    line(pen, x, height - 6, x, height);
    if (position % every === 0) pen.fillText(String(position), x, height - 8);
  }
}

function cursors(pen, ink, view, height, at) {
  pen.font = "bold 12px system-ui, sans-serif";
  pen.textAlign = "left";
  for (const [letter, time] of Object.entries(view.cursors)) {
    if (time === null || time < view.begin || time > view.end) continue;
    const x = Math.round(at(time)) + 0.5;
    pen.strokeStyle = pen.fillStyle = ink.mark;
    pen.lineWidth = 1.5;
    pen.setLineDash(letter === "A" ? [] : [5, 4]);
    line(pen, x, 4, x, height);
    pen.setLineDash([]);
    pen.fillText(letter, x + 3, 14);
  }
}

function name(pen, ink, channel, top) {
  const words = channel.net && channel.net !== channel.name ? `${channel.name} = ${channel.net}` : channel.name;
  pen.font = "12px system-ui, sans-serif";
  pen.textAlign = "left";
  pen.fillStyle = ink.panel;
  pen.globalAlpha = 0.8;
  pen.fillRect(2, top + 2, pen.measureText(words).width + 8, 16);
  pen.globalAlpha = 1;
  pen.fillStyle = ink.ink;
  pen.fillText(words, 6, top + 14);
}

function line(pen, x1, y1, x2, y2) {
  pen.beginPath();
  pen.moveTo(x1, y1);
  pen.lineTo(x2, y2);
  pen.stroke();
}

// 1, 2 or 5 of a power of ten, at least so much.
function tick(least) {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((one) => one * power).find((one) => one >= least * 0.999);
}

let inks = null;
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { inks = null; });

function colours(canvas) {
  if (inks) return inks;
  const style = getComputedStyle(canvas);
  const get = (one) => style.getPropertyValue(`--${one}`).trim();
  inks = { panel: get("panel"), ink: get("ink"), quiet: get("quiet"), line: get("line"), trace: get("wire"), mark: get("mark"), find: get("find"), good: get("mark"), bad: get("warn-line") };
  return inks;
}
