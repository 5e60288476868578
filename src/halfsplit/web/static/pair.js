// A phone types the code.

import { $, tell } from "./dom.js";

$("code").focus();
$("pair").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    await tell("/api/pair", { code: $("code").value });
    location.replace("/");
  } catch (error) {
    $("pair-said").textContent = error.message;
    $("code").select();
  }
});
document.documentElement.dataset.ready = "yes";
