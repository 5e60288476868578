// The board as text: checked while it is typed, errors at their place, what fits is offered.

import { startBuzz } from "./buzz.js";
import { offers } from "./complete.js";
import { $, ask, base, counted, keepTyped, make, tell } from "./dom.js";
import { startInside } from "./inside.js";
import { problemList } from "./problems.js";
import { startShell } from "./shell.js";

const box = $("text");
const PAUSE = 250;
let mine = box.value; // the case's own text
const draft = keepTyped(box, "board");
let words = { kinds: {}, types: {}, letters: {} };
let nets = [];
let problems = [];
let offered = { from: 0, list: [] };
let timer = 0;
let turn = 0;

async function check() {
  const asked = (turn += 1);
  try {
    const found = await tell(`${base}api/board/examined`, { text: box.value });
    if (asked !== turn) return;
    ({ problems, nets } = found);
    showProblems(found);
    if (found.drawing) $("sheet").innerHTML = found.drawing;
    document.documentElement.dataset.checked = String(asked);
  } catch (error) {
    $("checked").textContent = error.message;
  }
}

function showProblems(found) {
  const errors = problems.filter((one) => one.severity === "error").length;
  const doubts = problems.length - errors;
  $("checked").textContent = errors ? `${errors} to mend` : doubts ? `reads well; ${doubts} doubtful` : "reads well";
  $("counts").textContent = [counted(found.parts, "part"), counted(found.nets.length, "net"), counted(found.states, "state"), counted(found.outputs, "output")].join(", ");
  $("problems").replaceChildren(...problemList(problems.slice(0, 40), box, offer));
  const changed = box.value !== mine;
  $("keep").disabled = !changed || !found.good;
  $("revert").disabled = !changed;
  mark();
}

// The same text behind the box, with the words in question underlined.
function mark() {
  const lines = box.value.split("\n");
  const behind = document.createDocumentFragment();
  lines.forEach((line, at) => {
    const own = problems.filter((one) => one.line === at + 1).sort((a, b) => a.column - b.column);
    const row = make("span", { class: own.length ? `row ${own.some((one) => one.severity === "error") ? "error" : "warning"}` : "row" });
    let done = 0;
    for (const { column, severity } of own) {
      const start = Math.max(done, column - 1);
      const length = Math.max(1, /^[^\s;]*/.exec(line.slice(start))[0].length);
      row.append(line.slice(done, start), make("mark", { class: severity }, line.slice(start, start + length) || " "));
      done = start + length;
    }
    row.append(`${line.slice(done)}\n`);
    behind.append(row);
  });
  $("behind").replaceChildren(behind);
  scroll();
}

function scroll() {
  $("behind").scrollTop = box.scrollTop;
  $("behind").scrollLeft = box.scrollLeft;
}

function offer() {
  offered = box.selectionStart === box.selectionEnd ? offers(box.value, box.selectionStart, words, nets) : { from: 0, list: [] };
  if (!offered.list.length) {
    $("offers").replaceChildren(make("span", { class: "quiet small" }, "What fits at the caret is offered here."));
    return;
  }
  $("offers").replaceChildren(...offered.list.map((name, at) => make("button", {
    type: "button", class: "offer", onmousedown: (event) => event.preventDefault(), onclick: () => take(at),
  }, make("kbd", {}, String(at + 1)), ` ${name.trim()}`)));
}

function take(at) {
  const name = offered.list[at];
  if (name === undefined) return;
  box.setRangeText(name, offered.from, box.selectionStart, "end");
  box.focus();
  changed();
}

function changed() {
  draft.keep();
  mark();
  offer();
  clearTimeout(timer);
  timer = setTimeout(check, PAUSE);
}

function replaceText(text) {
  box.value = text;
  changed();
}

function addText(text) {
  replaceText(`${box.value.trimEnd()}\n\n${text}`);
  box.scrollTop = box.scrollHeight;
}

let leaving = false;
function keys(event) {
  if (event.altKey && /^Digit[1-9]$/.test(event.code)) {
    event.preventDefault();
    take(Number(event.code.slice(5)) - 1);
  } else if (event.key === "Tab" && !leaving && !event.shiftKey && offered.list.length) {
    event.preventDefault();
    take(0);
  }
  leaving = event.key === "Escape";
}

async function keep() {
  const text = box.value;
  try {
    await tell(`${base}api/board`, { text });
    mine = text;
    draft.forget();
    $("keep").disabled = $("revert").disabled = true;
    $("keep-said").textContent = "This is the case's board now.";
  } catch (error) {
    $("keep-said").textContent = error.message;
  }
}

async function addTable() {
  try {
    const made = await tell(`${base}api/board/table`, { text: $("table-text").value });
    $("table-said").replaceChildren(...made.remarks.slice(0, 20).map((one) => make("li", {}, `row ${one.row}: ${one.words}`)));
    if (!made.text) return;
    addText(made.text);
    $("table-said").prepend(make("li", {}, `${made.text.trim().split("\n").length} parts added to the text.`));
  } catch (error) {
    $("table-said").replaceChildren(make("li", { class: "trouble" }, error.message));
  }
}

box.addEventListener("input", changed);
box.addEventListener("scroll", scroll);
box.addEventListener("keydown", keys);
for (const name of ["click", "keyup"]) box.addEventListener(name, offer);
$("keep").addEventListener("click", keep);
$("revert").addEventListener("click", () => {
  replaceText(mine);
  draft.forget();
});
$("table-take").addEventListener("click", addTable);
for (const button of document.querySelectorAll("[data-example]")) {
  button.addEventListener("click", async () => replaceText((await ask(`${base}api/board/example?${new URLSearchParams({ name: button.dataset.example })}`)).text));
}
keepTyped($("table-text"), "pin table");
startBuzz(addText);
startInside({
  unsaved: () => box.value !== mine,
  drawn: (svg) => { $("sheet").innerHTML = svg; },
  taken: (text) => {
    mine = text;
    replaceText(text);
    draft.forget();
  },
});
ask(`${base}api/board/words`).then((found) => { words = found; }).catch(() => {});
startShell(() => {}, { reload: false });
offer();
check();
const sheet = $("sheet");
sheet.scrollLeft = (sheet.scrollWidth - sheet.clientWidth) / 2;
sheet.scrollTop = (sheet.scrollHeight - sheet.clientHeight) / 3;
