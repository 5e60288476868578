// Where the case stands: measuring, a repair, nothing left, nothing fits; and what contradicts.

import { openAside } from "./asides.js";
import { $, base, explained, make, minutes, percent, tell } from "./dom.js";

const HEADS = {
  repair: "Repair",
  cured: "It works: now prove it",
  "nothing left": "No check left",
  "nothing fits": "Nothing listed fits",
};

export function showBanners(state) {
  const found = [];
  if (state.trouble) found.push(make("div", { class: "banner warn" }, make("h2", {}, "The case cannot be used"), make("p", {}, state.trouble)));
  const verdict = state.verdict;
  if (verdict?.contradiction) {
    const { sentence, misread } = verdict.contradiction;
    found.push(make("div", { class: "banner warn", id: "contradiction" }, make("h2", {}, "Something does not fit"),
      make("p", {}, sentence, misread ? make("a", { href: `#entry-${misread}` }, ` See entry ${misread}.`) : null)));
  }
  if (state.closed) found.push(make("div", { class: "banner good" }, make("h2", {}, "This case is closed"), make("p", {}, "What is entered now is kept all the same.")));
  else if (state.acceptance?.complete) found.push(closing());
  if (verdict && HEADS[verdict.kind]) found.push(judged(verdict));
  else if (verdict && !verdict.contradiction) found.push(make("p", { class: "standing" }, explained(verdict.sentence, "bit")));
  $("banners").replaceChildren(...found);
}

// The contradiction has a banner of its own.
function plainSentence(verdict) {
  return verdict.sentence.replace(verdict.contradiction?.sentence ?? "", "").trim();
}

function judged(verdict) {
  return make("div", { class: `banner ${["repair", "cured"].includes(verdict.kind) ? "good" : "warn"}`, id: "verdict" },
    make("h2", {}, HEADS[verdict.kind]),
    make("p", {}, plainSentence(verdict)),
    verdict.order.length > 1 ? make("ol", { class: "order" }, verdict.order.map((one) =>
      make("li", {}, `${one.repair}: ${percent(one.probability)}, ${minutes(one.minutes)}`))) : null,
    make("p", { class: "row wrap tight" }, (verdict.kind === "cured" ? [["how long proves it?", "proof"]] : [["how to switch on after it", "power-up"], ["is it worth it?", "worth"]]).map(([words, name]) =>
      make("button", { type: "button", class: "plain", onclick: () => openAside(name) }, words))),
    verdict.ties.length ? make("p", { class: "quiet small" }, `No check left can tell these apart: ${verdict.ties.join(", ")}.`) : null);
}

function closing() {
  const said = make("p", { class: "trouble", role: "alert" });
  return make("div", { class: "banner good" }, make("h2", {}, "The acceptance run is complete"),
    make("button", { type: "button", class: "main", onclick: () => tell(`${base}api/finish`, {}).catch((error) => { said.textContent = error.message; }) }, "Close the case"), said);
}
