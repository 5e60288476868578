// Suspects, likeliest first: bar, number, the repair, and why.

import { questions } from "./asides.js";
import { $, ask, base, make, percent, step, word } from "./dom.js";

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
        one.designator ? make("button", { type: "button", class: "plain", onclick: () => onChoose(one.designator) }, `show ${one.designator} on the board`) : null, questions(one)));
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
  const list = (head, sign, weights) => weights.length ? make("div", {}, make("h3", {}, head),
    make("ul", { class: "weights" }, weights.map((weight) =>
      make("li", {}, make("span", { class: "raised", "aria-hidden": "true" }, sign), " ",
        make("a", { href: `#entry-${weight.entry}` }, `#${weight.entry}`),
        weight.sentence.replace(`#${weight.entry}`, ""))))) : null;
  return [
    make("p", {}, one.summary),
    list("Why", "↑", one.raised_by),
    list("Why not", "↓", one.lowered_by),
    one.faults.length > 1 ? make("p", { class: "quiet small" },
      word("fault", "Faults"), `: ${one.faults.map((fault) => `${fault.words} ${percent(fault.probability)}`).join("; ")}.`) : null,
  ];
}

// Any part may be asked after, however unlikely it is.
export function startWhyNot(parts) {
  $("parts-list").replaceChildren(...parts.map((name) => make("option", { value: name })));
  $("why-not").addEventListener("submit", async (event) => {
    event.preventDefault();
    const id = $("why-not-part").value.trim();
    if (!id) return;
    try {
      const one = await ask(`${base}api/suspect?${new URLSearchParams({ id })}`);
      $("why-not-answer").replaceChildren(make("h3", {}, `${one.id}: ${percent(one.probability)}; ${one.repair}`), make("div", { class: "why" }, reasons(one)));
    } catch (error) {
      $("why-not-answer").replaceChildren(make("p", { class: "trouble" }, error.message));
    }
  });
}
