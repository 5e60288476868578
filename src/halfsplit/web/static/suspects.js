// Suspects, likeliest first: bar, number, the repair, and why.

import { $, make, percent, step } from "./dom.js";

const FEW = 5;
const open = new Set();
let all = false;

export function showSuspects(suspects, onChoose) {
  const worth = suspects.filter((one, at) => at < 3 || one.probability >= 0.005);
  const rows = (all ? worth : worth.slice(0, FEW)).map((one) => {
    const bar = make("span", { class: "bar", "aria-hidden": "true" }, make("span", { class: `fill s${step(one.probability)}` }));
    bar.firstChild.style.width = `${Math.max(1, 100 * one.probability)}%`;
    const details = make("details", { open: open.has(one.id) },
      make("summary", {},
        make("span", { class: "suspect-name" }, one.id.replace("something-else", "something else")),
        bar,
        make("span", { class: "suspect-share" }, percent(one.probability)),
        make("span", { class: "suspect-repair" }, one.repair)),
      make("div", { class: "why" }, reasons(one),
        one.designator ? make("button", { type: "button", class: "plain", onclick: () => onChoose(one.designator) }, `show ${one.designator} on the board`) : null));
    details.addEventListener("toggle", () => {
      if (details.open) open.add(one.id);
      else open.delete(one.id);
    });
    return make("li", { "data-suspect": one.id }, details);
  });
  const more = worth.length > FEW ? make("li", {}, make("button", {
    type: "button",
    class: "plain",
    onclick: () => {
      all = !all;
      showSuspects(suspects, onChoose);
    },
  }, all ? "fewer" : `${worth.length - FEW} more`)) : null;
  $("ranked").replaceChildren(...rows, ...(more ? [more] : []));
}

function reasons(one) {
  const lines = [
    ...one.raised_by.map((weight) => ["↑", "raised", weight.sentence]),
    ...one.lowered_by.map((weight) => ["↓", "lowered", weight.sentence]),
  ];
  return [
    make("p", {}, one.summary),
    lines.length ? make("ul", { class: "weights" }, lines.map(([sign, word, text]) =>
      make("li", {}, make("span", { class: word, "aria-label": word }, sign), ` ${text}`))) : null,
    one.faults.length > 1 ? make("p", { class: "quiet small" },
      `Faults: ${one.faults.map((fault) => `${fault.words} ${percent(fault.probability)}`).join("; ")}.`) : null,
  ];
}
