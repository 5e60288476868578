// What may be typed at a place of a board's text: words of lines, kinds, pins, nets.

const LINES = ["board", "note", "rail", "ground", "offsheet", "testpoint", "output", "state"];
const MOST = 9;

// `words` as the server tells them; `text` and `at` the caret. -> {from, list}
export function offers(text, at, words, nets) {
  const start = text.lastIndexOf("\n", at - 1) + 1;
  const line = text.slice(start, at);
  if (line.includes("#") || line.includes(";")) return remark(line, at);
  const typed = /[^\s=]*$/.exec(line)[0];
  const from = at - typed.length;
  const before = line.slice(0, line.length - typed.length);
  const done = before.trim().split(/\s+/).filter(Boolean);
  if (!done.length) return { from, list: pick(LINES, typed, " ") };
  if (LINES.includes(done[0])) return { from, list: pick(nets, typed) };
  const kind = kindOf(done, words);
  if (before.endsWith("=")) return { from, list: pick(nets, typed) };
  if (done.length === 1 && !words.letters[letters(done[0])]) {
    return { from, list: pick([...Object.keys(words.kinds), ...Object.keys(words.types)], typed, " ") };
  }
  const taken = new Set([...line.matchAll(/(\S+)=/g)].map((found) => found[1]));
  const pins = kind && kind.pins.length > 2 ? kind.pins.filter((pin) => !taken.has(pin)).map((pin) => `${pin}=`) : [];
  const names = [...pins, ...nets];
  if (done.length === 1) names.push(...Object.keys(words.types), ...Object.keys(words.kinds));
  return { from, list: pick(names, typed) };
}

// The kind of the part whose line this is.
export function kindOf([designator, first], words) {
  const name = first && (words.kinds[first] ? first : words.types[first] ?? same(words.kinds, first) ?? words.types[same(words.types, first)]);
  return words.kinds[name] ?? words.kinds[words.letters[letters(designator)]];
}

function remark(line, at) {
  const typed = /[^\s;]*$/.exec(line)[0];
  const list = line.includes("#") ? [] : ["spare", "socketed", "irreplaceable", "verified", "price ", "note "];
  return { from: at - typed.length, list: pick(list, typed) };
}

function letters(designator) {
  return /^[A-Za-z]*/.exec(designator ?? "")[0].toUpperCase();
}

function same(table, name) {
  return Object.keys(table).find((one) => one.toLowerCase() === name.toLowerCase());
}

function pick(names, typed, after = "") {
  const low = typed.toLowerCase();
  const fits = [...new Set(names)].filter((name) => name.toLowerCase().startsWith(low) && name !== typed);
  return fits.slice(0, MOST).map((name) => name + (name.endsWith("=") || name.endsWith(" ") ? "" : after));
}
