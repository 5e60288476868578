// A block opened: the parts inside it are typed in its place, and checked while they are typed.

import { $, base, keepTyped, tell } from "./dom.js";
import { problemList } from "./problems.js";

const PAUSE = 250;
let timer = 0;
let turn = 0;

// unsaved() whether the board's text was changed and not used; drawn(svg) shows a drawing;
// taken(text) the board's text from now on.
export function startInside({ unsaved, drawn, taken }) {
  if (!$("inside-form")) return;
  const block = $("inside-block");
  const typed = $("inside-text");
  const draft = keepTyped(typed, "inside");
  const wanted = decodeURIComponent(location.hash.slice(1));
  if ([...block.options].some((one) => one.value === wanted)) {
    block.value = wanted;
    $("inside").open = true;
    $("inside").scrollIntoView();
    typed.focus({ preventScroll: true });
  }

  async function check() {
    const asked = (turn += 1);
    showNets(block.selectedOptions[0]);
    $("inside-put").disabled = true;
    if (!typed.value.trim()) return;
    try {
      const found = await tell(`${base}api/board/inside/examined`, { block: block.value, text: typed.value });
      if (asked !== turn) return;
      show(found, typed);
      if (found.drawing) drawn(found.drawing);
      $("inside-put").disabled = !found.good;
    } catch (error) {
      $("inside-said").textContent = error.message;
    }
  }

  async function put(event) {
    event.preventDefault();
    if ($("inside-put").disabled) return;
    if (unsaved()) {
      $("inside-said").textContent = "The board's text has changes that are not used yet: use them, or go back to the board in use, first.";
      return;
    }
    try {
      const made = await tell(`${base}api/board/inside`, { block: block.value, text: typed.value });
      const gone = made.left.map((number) => `#${number}`).join(", ");
      draft.forget();
      typed.value = "";
      const name = block.value;
      block.selectedOptions[0].remove();
      taken(made.text);
      $("inside-problems").replaceChildren();
      $("inside-put").disabled = true;
      $("inside-said").textContent = `${name} is opened; the readings are kept${gone ? `, but ${gone} is about a place that is no longer there and moves nothing` : ""}.`;
      if (block.options.length) showNets(block.selectedOptions[0]);
    } catch (error) {
      $("inside-said").textContent = error.message;
    }
  }

  const later = () => {
    clearTimeout(timer);
    timer = setTimeout(check, PAUSE);
  };
  typed.addEventListener("input", later);
  block.addEventListener("change", check);
  $("inside-form").addEventListener("submit", put);
  check();
}

function showNets(option) {
  const { given, taken } = option.dataset;
  $("inside-nets").textContent = `It takes ${taken.trim() || "nothing"} and gives ${given.trim() || "nothing"}.`;
}

function show(found, typed) {
  const errors = found.problems.filter((one) => one.severity === "error").length;
  $("inside-said").textContent = errors ? `${errors} to mend` : "reads well";
  const own = found.problems.filter((one) => one.line || one.severity === "error");
  $("inside-problems").replaceChildren(...problemList(own.slice(0, 20), typed));
}
