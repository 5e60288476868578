// The list of cases: begin, open, duplicate, archive, pack, take in.

import { $, ask, counted, make, tell } from "./dom.js";

// An own board begins with a line of each sort, to be typed over.
const STARTER = `# supplies, then a part a line: designator, what it is, its nets; what fits is offered above
rail +5 5V
R1 330 +5 A
D1 led ? a=A k=GND
# what its owner sees, and the states it is seen in
output "lamp lit" current D1 above 2mA
state on
`;
let copying = null;

async function show() {
  try {
    const { cases } = await ask("/api/cases");
    const list = (archived) => cases.filter((one) => one.archived === archived);
    $("cases").replaceChildren(...(list(false).length ? list(false).map(row)
      : [make("li", { class: "empty" }, "No case yet. Begin one: give it a name, choose a board, press Begin. The examples are boards to try it with.")]));
    $("archived").hidden = !list(true).length;
    $("archived-count").textContent = list(true).length;
    $("archived-cases").replaceChildren(...list(true).map(row));
    $("link").textContent = "up to date";
    $("link").dataset.state = "good";
  } catch (error) {
    $("link").textContent = error.message;
    $("link").dataset.state = "down";
  }
  document.documentElement.dataset.ready = "yes";
}

function row(one) {
  if (one.trouble) return make("li", {}, make("b", {}, one.name), make("p", { class: "trouble" }, one.trouble));
  const when = new Date(one.last).toLocaleString([], { dateStyle: "medium", timeStyle: "short", hourCycle: "h23" });
  const act = (words, job) => make("button", { type: "button", class: "plain", "aria-label": `${words} ${one.name}`, onclick: job }, words);
  return make("li", {},
    make("a", { class: "case-link", href: one.address }, make("b", {}, one.name), make("span", {}, one.title),
      make("span", { class: "quiet small" }, `${counted(one.readings, "reading")}, ${counted(one.photos, "photo")}; last on ${when}`)),
    make("div", { class: "row wrap tight" },
      act("duplicate", () => {
        copying = one.name;
        $("copy-name").value = one.name;
        $("copy").showModal();
      }),
      act(one.archived ? "take up again" : "archive", () => done(tell(`/api/cases/${encodeURIComponent(one.name)}/archive`, { archived: !one.archived }), `${one.name} is ${one.archived ? "on the bench again" : "archived"}.`)),
      make("a", { class: "plain-link", href: `/api/cases/${encodeURIComponent(one.name)}/packed`, download: true, "aria-label": `pack into one file: ${one.name}` }, "pack into one file")));
}

async function done(promise, words) {
  try {
    await promise;
    $("said").textContent = words;
  } catch (error) {
    $("said").textContent = error.message;
  }
  show();
}

async function begin(event) {
  event.preventDefault();
  const board = new FormData($("new")).get("board");
  const name = $("new-name").value.trim() || board || "case";
  try {
    const data = { name };
    if (board) data.example = board;
    else data.text = $("new-file").files[0] ? await $("new-file").files[0].text() : `board "${name.replaceAll('"', "'")}"\n${STARTER}`;
    const made = await tell("/api/cases", data);
    location.assign(board || $("new-file").files[0] ? made.address : `${made.address}board`);
  } catch (error) {
    $("new-said").textContent = error.message;
  }
}

async function takeIn(file) {
  $("import-said").textContent = `checking ${file.name} …`;
  try {
    const made = await ask(`/api/cases/packed?${new URLSearchParams({ name: file.name })}`, { method: "POST", headers: { "content-type": "application/zip" }, body: file });
    $("import-said").textContent = `${made.name} is there, whole.`;
    show();
  } catch (error) {
    $("import-said").textContent = error.message;
  }
}

$("new").addEventListener("submit", begin);
$("new").addEventListener("change", () => {
  $("new-file").hidden = new FormData($("new")).get("board") !== "";
});
$("packed").addEventListener("change", () => {
  if ($("packed").files[0]) takeIn($("packed").files[0]);
});
for (const name of ["dragover", "drop"]) {
  $("drop").addEventListener(name, (event) => {
    event.preventDefault();
    if (name === "drop" && event.dataTransfer.files[0]) takeIn(event.dataTransfer.files[0]);
  });
}
$("copy-shut").addEventListener("click", () => $("copy").close());
$("copy-form").addEventListener("submit", () =>
  done(tell(`/api/cases/${encodeURIComponent(copying)}/duplicate`, { name: $("copy-name").value.trim(), board_only: $("copy-board").checked }), "Duplicated."));
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) show();
});
show();
