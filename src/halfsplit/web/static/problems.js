// What is wrong or doubtful in a text, line by line; pressed, the caret goes there.

import { make } from "./dom.js";

export function problemList(problems, box, after = () => {}) {
  return problems.map((one) => make("li", { class: one.severity },
    make("button", { type: "button", class: "plain", onclick: () => { go(box, one.line, one.column); after(); } },
      make("b", {}, one.severity === "error" ? "✗ " : "? ", one.line ? `line ${one.line}` : "the board"), ` ${one.message}`,
      one.nearest ? ` (did you mean ${one.nearest}?)` : "")));
}

function go(box, line, column) {
  const lines = box.value.split("\n");
  const at = lines.slice(0, Math.max(0, line - 1)).reduce((sum, one) => sum + one.length + 1, 0) + Math.max(0, column - 1);
  box.focus();
  box.setSelectionRange(at, at);
  box.scrollTop = (line - 4) * parseFloat(getComputedStyle(box).lineHeight);
}
