// The table: every net in the states chosen; many readings entered at once.

import { $, ask, base, kept, make, word } from "./dom.js";
import { sendMany } from "./outbox.js";
import { cellsOf, plainNumber } from "./paste.js";
import { startShell } from "./shell.js";

const KEPT = `${kept} table`;
const typed = new Map(Object.entries(JSON.parse(localStorage.getItem(KEPT) ?? "{}"))); // check -> text
const wrong = new Map(); // check -> message
let table = { states: [], rows: [] };
let events = [];
let asked = 0;

function chosen() {
  return [...$("states").querySelectorAll("input:checked")].map((box) => box.value);
}

async function load() {
  const states = chosen();
  const turn = (asked += 1);
  if (!states.length) {
    table = { states, rows: [] };
    $("table").replaceChildren(make("p", { class: "empty" }, "Choose a state above: what the board was doing while you measured."));
    return;
  }
  try {
    const found = await ask(`${base}api/table?${new URLSearchParams(states.map((state) => ["state", state]))}`);
    if (turn !== asked) return;
    table = found;
    paint();
    document.documentElement.dataset.table = "yes";
  } catch (error) {
    $("table").replaceChildren(make("p", { class: "trouble" }, error.message));
  }
}

function paint() {
  const wanted = $("find").value.trim().toLowerCase();
  const rows = table.rows.filter((row) => !wanted || [row.net, ...row.places].some((name) => name.toLowerCase().includes(wanted)));
  const head = make("tr", {}, make("th", { scope: "col" }, word("net")), table.states.map((state) => make("th", { scope: "col" }, state)));
  const body = rows.map((row) => make("tr", {},
    make("th", { scope: "row" }, make("b", {}, row.net), make("span", { class: "quiet small places", title: row.places.join(", ") }, row.places.slice(0, 3).join(", ") + (row.places.length > 3 ? " …" : ""))),
    row.cells.map((cell) => cellOf(row, cell))));
  const focus = document.activeElement?.dataset?.check;
  $("table").replaceChildren(rows.length ? make("table", {}, make("thead", {}, head), make("tbody", {}, body))
    : make("p", { class: "empty" }, "No net or place of that name."));
  if (focus) $("table").querySelector(`[data-check="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
  count();
}

function cellOf(row, cell) {
  const told = readingOf(row, cell);
  const box = make("input", {
    "data-check": cell.check, "aria-label": `${row.net} in state ${cell.state}, volts; a good board reads ${cell.words}`,
    inputmode: "text", autocapitalize: "off", spellcheck: "false", enterkeyhint: "next", "aria-invalid": wrong.has(cell.check) ? "true" : null,
  });
  box.value = typed.get(cell.check) ?? "";
  box.addEventListener("input", () => set(cell.check, box.value));
  box.addEventListener("keydown", (event) => move(event, box));
  box.addEventListener("paste", (event) => spread(event, row, cell));
  return make("td", { class: told?.odd ? "odd" : "" }, box,
    make("span", { class: "good small" }, `good: ${cell.words}`),
    told ? make("span", { class: "told small" }, `read: ${told.reading_words} `, told.odd ? make("b", { class: "odd-mark" }, "odd") : null) : null,
    wrong.has(cell.check) ? make("span", { class: "trouble small" }, wrong.get(cell.check)) : null);
}

// The latest reading that counts, at any place of the net.
function readingOf(row, cell) {
  const checks = new Set([cell.check, ...row.places.map((place) => `volts ${place} @${cell.state}`)]);
  return events.filter((event) => event.counts && checks.has(event.check)).at(-1);
}

function set(check, text) {
  if (text.trim()) typed.set(check, text);
  else typed.delete(check);
  wrong.delete(check);
  localStorage.setItem(KEPT, JSON.stringify(Object.fromEntries(typed)));
  count();
}

function count() {
  $("enter-all").disabled = !typed.size;
  $("enter-all").textContent = typed.size ? `Enter ${typed.size} reading${typed.size === 1 ? "" : "s"}` : "Enter";
  $("table-count").textContent = `${table.rows.length} nets`;
}

function move(event, box) {
  if (event.key !== "Enter" && event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
  event.preventDefault();
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
    enter();
    return;
  }
  const cell = box.closest("td");
  const line = event.key === "ArrowUp" ? cell.parentElement.previousElementSibling : cell.parentElement.nextElementSibling;
  line?.children[cell.cellIndex]?.querySelector("input")?.focus();
}

// A block pasted into a cell goes right and down from it.
function spread(event, row, cell) {
  const block = cellsOf(event.clipboardData.getData("text"));
  if (block.length < 2 && (block[0]?.length ?? 0) < 2) return;
  event.preventDefault();
  const [top, left] = [table.rows.indexOf(row), row.cells.indexOf(cell)];
  block.forEach((line, down) => line.forEach((text, right) => {
    const target = table.rows[top + down]?.cells[left + right];
    if (target && text) set(target.check, plainNumber(text));
  }));
  paint();
}

// A block with heads: states in the first row, nets or places in the first column.
async function takePasted() {
  const [heads, ...lines] = cellsOf($("pasted").value);
  if (!heads || !lines.length) {
    $("paste-said").textContent = "Expected a first row with the states, then a row for each net.";
    return;
  }
  const known = [...$("states").querySelectorAll("input")];
  const columns = heads.slice(1).map((name) => known.find((box) => box.value.toLowerCase() === name.toLowerCase()));
  const lost = heads.slice(1).filter((_, at) => !columns[at]);
  for (const box of columns) if (box) box.checked = true;
  await load();
  let taken = 0;
  for (const [name, ...texts] of lines) {
    const plain = name.replace(/^net /i, "").toLowerCase();
    const row = table.rows.find((one) => one.net.toLowerCase() === plain) ?? table.rows.find((one) => one.places.some((place) => place.toLowerCase() === plain));
    if (!row) {
      lost.push(name);
      continue;
    }
    texts.forEach((text, at) => {
      const cell = row.cells.find((one) => one.state === columns[at]?.value);
      if (!cell || !text) return;
      set(cell.check, plainNumber(text));
      taken += 1;
    });
  }
  $("paste-said").textContent = `${taken} reading${taken === 1 ? "" : "s"} put into the table.` + (lost.length ? ` Not on this board: ${lost.join(", ")}.` : "");
  paint();
}

function enter() {
  if (!typed.size) return;
  const sent = [...typed].map(([check, text]) => ({ check, text }));
  const say = (words) => { $("enter-said").textContent = words; };
  say("");
  sendMany(sent, {
    done: (results) => {
      let taken = 0;
      results.forEach((result, at) => {
        const { check, text } = sent[at];
        if (result.error) wrong.set(check, result.error);
        else if (typed.get(check) === text) {
          set(check, "");
          taken += 1;
        }
      });
      paint();
      say(`${taken} kept.` + (taken < results.length ? ` ${results.length - taken} not understood; see the cells.` : ""));
    },
    failed: say,
    held: () => say("Not sent yet; it is kept here and sent when Halfsplit is back."),
  });
}

$("states").addEventListener("change", load);
$("find").addEventListener("input", paint);
$("take-paste").addEventListener("click", takePasted);
$("enter-all").addEventListener("click", enter);
document.addEventListener("sent", ({ detail }) => {
  for (const { check, text } of detail.readings ?? []) if (typed.get(check) === text) set(check, "");
  paint();
});
startShell((state) => {
  events = state.events ?? [];
  if (table.rows.length) paint();
});
load();
