// The record: print it, and say when there is something newer.

import { $ } from "./dom.js";
import { startShell } from "./shell.js";

let first = null;

$("print").addEventListener("click", () => window.print());
$("as-pdf").addEventListener("click", async (event) => {
  event.preventDefault();
  const answer = await fetch($("as-pdf").href).catch(() => null);
  if (answer?.ok) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await answer.blob());
    link.download = answer.headers.get("content-disposition")?.match(/filename="(.+)"/)?.[1] ?? "record.pdf";
    link.click();
    return;
  }
  const data = await answer?.json().catch(() => null);
  $("newer").hidden = false;
  $("newer").textContent = data?.error?.message ?? "Halfsplit does not answer.";
});
startShell((state) => {
  first ??= state.ready ? state.last_event : null;
  if (first !== null && state.last_event > first) $("newer").hidden = false;
});
