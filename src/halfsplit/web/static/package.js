// The case of the part whose pin is asked for, seen from the side that lies before the person.

import { $, ask, base, make } from "./dom.js";

const SIDE = "halfsplit side";
let wanted = "";
let found = {};

export async function showPackage(suggestion) {
  const place = (suggestion?.places ?? []).find((one) => one.includes(".")) ?? "";
  if (place === wanted) return;
  wanted = place;
  found = place ? await ask(`${base}api/package?${new URLSearchParams({ place })}`).catch(() => ({})) : {};
  if (place === wanted) paint();
}

function paint() {
  $("package").hidden = !found.sides;
  if (!found.sides) return;
  const sides = Object.keys(found.sides);
  const side = sides.includes(localStorage.getItem(SIDE)) ? localStorage.getItem(SIDE) : sides[0];
  const picture = make("div", {});
  picture.innerHTML = found.sides[side];
  const other = sides.find((one) => one !== side);
  $("package").replaceChildren(picture, make("div", {},
    make("p", {}, make("b", {}, `${found.part} pin ${found.pin}`), `, ${found.name}`),
    make("p", { class: "quiet small" }, `seen from the ${side}`),
    make("button", { type: "button", class: "soft", onclick: () => { localStorage.setItem(SIDE, other); paint(); } }, `from the ${other}`)));
}
