// Captures of the case: taken in, chosen, their channels named, read as steps.

import { $, ask, base, make, tell } from "./dom.js";
import { forgetOverlay, startOverlay } from "./overlaid.js";
import { quantity } from "./quantity.js";
import { startShell } from "./shell.js";
import { mark, names, nextMark, pan, show, startWaves, whole, zoom } from "./waves.js";

const PAUSE = 120; // milliseconds that a cursor rests before what is between is asked for
let captures = [];
let nets = [];
let current = null;
let coming = null;
let timer = 0;
let shown = { begin: 0, end: 1 };

const address = (of, what) => `${base}api/captures/${encodeURIComponent(of)}/${what}`;

function takeIn(file) {
  if (coming) return;
  coming = new XMLHttpRequest(); // fetch does not tell how far an upload is
  $("coming").hidden = false;
  $("progress").value = 0;
  say(`taking in ${file.name}, ${quantity(file.size, "B", 3)} …`);
  coming.open("POST", `${base}api/captures?${new URLSearchParams({ file: file.name })}`);
  coming.setRequestHeader("content-type", "application/octet-stream");
  coming.upload.addEventListener("progress", ({ loaded, total }) => {
    $("progress").value = total ? loaded / total : 0;
    if (loaded === total) say(`reading ${file.name} …`);
  });
  coming.addEventListener("load", async () => {
    const data = parsed(coming.responseText);
    const good = coming.status === 201;
    finish(good ? "Kept beside the case." : data.error?.message ?? `refused (${coming?.status})`);
    if (good) await refresh(data.name);
  });
  coming.addEventListener("error", () => finish("Halfsplit does not answer, or the file is too large; nothing was kept. Try again."));
  coming.addEventListener("abort", () => finish("Stopped; nothing was kept."));
  coming.send(file);
}

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return {};
  }
}

function finish(words) {
  coming = null;
  $("coming").hidden = true;
  $("file").value = "";
  say(words);
}

function say(words) {
  $("said").textContent = words;
}

async function refresh(wanted) {
  ({ captures, nets } = await ask(`${base}api/captures`));
  $("which").hidden = captures.length < 2;
  $("which").replaceChildren(...captures.map(({ name }) => make("option", { value: name }, name)));
  const chosen = captures.find((one) => one.name === wanted) ?? captures.at(-1);
  if (chosen) await open(chosen);
  else {
    current = null;
    $("view").hidden = $("channels-panel").hidden = $("overlay-panel").hidden = true;
    say("No capture yet. Record a seek or a fault with a scope or a logic analyser, save it as a file, and drop it here.");
  }
}

async function open(capture) {
  current = capture;
  $("which").value = capture.name;
  $("channels-panel").hidden = false;
  $("view").hidden = Boolean(capture.trouble);
  $("found").replaceChildren();
  $("measured").replaceChildren();
  $("back").hidden = $("forth").hidden = true;
  $("remarks").textContent = capture.trouble ?? capture.remarks.join(" ");
  $("steps-form").hidden = $("overlay-panel").hidden = Boolean(capture.trouble);
  forgetOverlay();
  paintChannels();
  if (!capture.trouble) await show(capture).catch((error) => say(error.message));
  document.documentElement.dataset.shown = capture.name;
}

function paintChannels() {
  $("channels").replaceChildren(...(current.channels ?? []).map((channel) => {
    const select = make("select", { "aria-label": `net of ${channel.name}`, onchange: () => give(channel, select.value) },
      make("option", { value: "" }, "no net"),
      [...new Set([...channel.suggestions, ...nets])].map((net) => make("option", { value: net }, channel.suggestions.includes(net) ? `${net}?` : net)));
    select.value = channel.net;
    const what = channel.digital ? `${channel.count.toLocaleString("en")} edges` : `${channel.count.toLocaleString("en")} samples${channel.unit ? `, ${channel.unit}` : ""}`;
    return make("li", {}, make("label", { class: "row tight" }, make("input", { type: "checkbox", name: "line", value: channel.name }), make("b", {}, channel.name)),
      select, make("span", { class: "quiet small" }, what));
  }));
}

async function give(channel, net) {
  try {
    const told = await tell(address(current.name, "nets"), { channel: channel.name, net });
    current.channels = told.channels;
    names(told.channels);
  } catch (error) {
    say(error.message);
  }
}

async function readSteps(event) {
  event.preventDefault();
  const query = new URLSearchParams({ begin: shown.begin, end: shown.end, family: $("family").value });
  const lines = [...document.querySelectorAll("[name=line]:checked")].map((one) => one.value);
  for (const line of lines) query.append("line", line);
  if (lines.length < 2) {
    $("found").replaceChildren(make("p", { class: "trouble" }, "Tick two to five phase lines first."));
    return;
  }
  $("found").replaceChildren(make("p", {}, "reading …"));
  try {
    paintSteps(await ask(`${address(current.name, "steps")}?${query}`));
  } catch (error) {
    $("found").replaceChildren(make("p", { class: "trouble" }, error.message));
  }
}

function paintSteps(found) {
  mark(found.marks, found.ticks);
  $("back").hidden = $("forth").hidden = !found.marks.length;
  const rate = (value) => (value === null ? "" : `${Math.round(value)}/s`);
  const head = ["move", "at", "steps", "net", "from", "to"];
  const rows = found.moves.map((one, at) => [at + 1, quantity(one.first, "s"), one.steps, one.net > 0 ? `+${one.net}` : one.net, rate(one.start_rate), rate(one.top_rate)]);
  const finds = found.marks.length ? [make("p", {}, make("span", { class: "find-sign" }, "▨"), ` ${found.marks.length} finds are shaded on the picture.`)] : [];
  $("found").replaceChildren(
    make("p", { class: "lead" }, found.sentence), ...finds,
    make("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Moves" }, make("table", {}, make("caption", {}, "Moves"),
      make("thead", {}, make("tr", {}, head.map((one) => make("th", { scope: "col" }, one)))),
      make("tbody", {}, rows.slice(0, 200).map((row) => make("tr", {}, row.map((one) => make("td", {}, String(one)))))))),
  );
}

function changed(view, what) {
  shown = view;
  $("window").textContent = `${quantity(view.begin, "s", 7)} to ${quantity(view.end, "s", 7)}, ${quantity(view.end - view.begin, "s")} long`;
  if (what === "cursor") {
    clearTimeout(timer);
    timer = setTimeout(() => measure(view.cursors), PAUSE);
  }
}

async function measure({ A, B }) {
  const at = (letter, time) => make("span", {}, make("b", {}, `${letter} `), quantity(time, "s", 7));
  if (A === null || B === null || A === B) {
    $("measured").replaceChildren(...[["A", A], ["B", B]].filter(([, time]) => time !== null).map((one) => at(...one)));
    return;
  }
  const [begin, end] = [Math.min(A, B), Math.max(A, B)];
  try {
    const found = await ask(`${address(current.name, "measured")}?${new URLSearchParams({ begin, end })}`);
    const units = new Map(current.channels.map(({ name, unit }) => [name, unit]));
    $("measured").replaceChildren(at("A", A), at("B", B),
      make("span", {}, make("b", {}, "A to B "), `${quantity(B - A, "s", 6)}, ${quantity(1 / (end - begin), "Hz")}`),
      ...found.map((one) => make("span", {}, make("b", {}, `${one.name} `), one.edges === undefined
        ? `${quantity(one.low, units.get(one.name))} to ${quantity(one.high, units.get(one.name))}`
        : `${one.edges} edges${one.edges > 1 ? `, ${quantity(one.hertz, "Hz")}` : ""}`)));
  } catch (error) {
    $("measured").replaceChildren(error.message);
  }
}

$("file").addEventListener("change", () => {
  if ($("file").files[0]) takeIn($("file").files[0]);
});
for (const name of ["dragover", "drop"]) {
  $("drop").addEventListener(name, (event) => {
    event.preventDefault();
    if (name === "drop" && event.dataTransfer.files[0]) takeIn(event.dataTransfer.files[0]);
  });
}
$("stop").addEventListener("click", () => coming?.abort());
$("which").addEventListener("change", () => open(captures.find(({ name }) => name === $("which").value)));
$("earlier").addEventListener("click", () => pan(-0.5));
$("later").addEventListener("click", () => pan(0.5));
$("in").addEventListener("click", () => zoom(0.5));
$("out").addEventListener("click", () => zoom(2));
$("all").addEventListener("click", whole);
$("forth").addEventListener("click", () => found(nextMark(1)));
$("back").addEventListener("click", () => found(nextMark(-1)));
$("steps-form").addEventListener("submit", readSteps);
$("remove").addEventListener("click", async () => {
  if (!confirm(`Remove ${current.name} for good? The file you took it from stays where it is.`)) return;
  await tell(address(current.name, "remove"), {}).catch((error) => say(error.message));
  await refresh();
});

function found(one) {
  if (one) $("window").textContent = `${quantity(one.begin, "s", 7)}: ${one.words}`;
}

startWaves($("canvas"), changed);
startOverlay((what) => address(current.name, what));
refresh().catch((error) => say(error.message));
startShell(() => {});
