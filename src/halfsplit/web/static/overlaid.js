// A capture over what a good board, or one with a fault, shows for the same exercise; and entered.

import { $, ask, base, keepTyped, make, percent, tell } from "./dom.js";
import { quantity } from "./quantity.js";
import { goTo, underlay } from "./waves.js";

let address = () => "";

// `of(what)` is the address of the capture that is shown.
export function startOverlay(of) {
  address = of;
  keepTyped($("played"), "played");
  $("overlay-form").addEventListener("submit", (event) => {
    event.preventDefault();
    layOver();
  });
  $("enter").addEventListener("click", enter);
  $("fault").addEventListener("focus", likely, { once: true });
}

export function forgetOverlay() {
  $("laid").replaceChildren();
  underlay(null);
}

// The faults of the likeliest suspects, to choose from; any other may be typed.
async function likely() {
  const { suspects } = await ask(`${base}api/state`).catch(() => ({}));
  $("faults").replaceChildren(...(suspects ?? []).flatMap(({ faults }) => faults.map(({ id, words }) => make("option", { value: id }, words))));
}

async function layOver() {
  if (!$("played").value.trim()) {
    trouble("Type what was played meanwhile first, such as: rest 20ms, hold-A/hold-B x8 10ms");
    return;
  }
  $("laid").replaceChildren(make("p", {}, "predicting …"));
  const fault = $("fault").value.trim();
  try {
    const found = await ask(`${address("overlay")}?${new URLSearchParams({ played: $("played").value, fault })}`);
    underlay({ begin: found.begin, end: found.end, lines: new Map(found.lines.map((line) => [line.channel, lane(line)])) });
    goTo(found.begin, found.end);
    paint(found, fault);
  } catch (error) {
    underlay(null);
    trouble(error.message);
  }
}

function lane({ predicted, faulty }) {
  const all = [...predicted, ...(faulty ?? [])].filter((value) => value !== null);
  return { good: predicted, faulty, range: [Math.min(...all), Math.max(...all)] };
}

function paint(found, fault) {
  const head = ["net", "from a good board", ...(fault ? ["from the fault"] : [])];
  const rows = found.lines.map((line) => [
    line.differs ? make("button", { type: "button", class: "plain", onclick: () => look(found, line) }, line.net) : line.net,
    line.differs ? `${percent(line.differs)} of the time, longest ${quantity(line.differs_for, "s", 3)}` : "no difference",
    ...(fault ? [line.differs_faulty ? `${percent(line.differs_faulty)} of the time` : "no difference"] : []),
  ]);
  const doubts = [...found.left_out, ...found.remarks, ...(found.assumed.length ? [`Nobody gave the value of ${found.assumed.join(", ")}: its timing is a guess.`] : [])];
  $("laid").replaceChildren(
    make("p", { class: "lead" }, found.first_bad ? `The first bad stage is ${found.first_bad.join(" ")}.` : "Every stage that was recorded is right."),
    make("p", { class: "small" }, make("span", { class: "good-sign" }, "– – "), "a good board; ", ...(fault ? [make("span", { class: "bad-sign" }, "· · · "), `${fault}; `] : []), "both under what was recorded. ", make("kbd", {}, "o"), " on the picture takes them away and back."),
    make("ul", {}, found.stages.map((one) => make("li", {}, make("b", {}, `${one.nets.join(" ")}: `), one.reading))),
    ...doubts.map((words) => make("p", { class: "quiet small" }, words)),
    make("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Differences" }, make("table", {}, make("caption", {}, "Where it differs"),
      make("thead", {}, make("tr", {}, head.map((one) => make("th", { scope: "col" }, one)))),
      make("tbody", {}, rows.map((row) => make("tr", {}, row.map((one) => make("td", {}, one))))))),
  );
}

// The longest difference of a line, in the middle of the window.
function look(found, line) {
  const pace = found.pace;
  const [at, long] = [found.begin + pace * line.differs_at, Math.max(pace * line.differs_for, (found.end - found.begin) / 200)];
  goTo(at - long, at + 2 * long);
  $("canvas").focus();
}

async function enter() {
  $("laid").replaceChildren(make("p", {}, "reading …"));
  try {
    const done = await tell(address("enter"), { played: $("played").value });
    $("laid").replaceChildren(
      make("p", { class: "lead" }, done.first_bad ? `The first bad stage is ${done.first_bad.join(" ")}.` : "Every stage that was recorded is right."),
      make("ul", {}, done.stages.map((one) => make("li", {}, make("b", {}, `${one.nets.join(" ")}: `), one.reading))),
      ...[...done.left_out, ...done.remarks].map((words) => make("p", { class: "quiet small" }, words)),
      make("p", {}, done.entered.length ? `Entered as ${done.entered.length === 1 ? "a reading" : `${done.entered.length} readings`}; the picture is in the record.` : "Nothing could be entered."),
    );
  } catch (error) {
    trouble(error.message);
  }
}

function trouble(words) {
  $("laid").replaceChildren(make("p", { class: "trouble" }, words));
}
