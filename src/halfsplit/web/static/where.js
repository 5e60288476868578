// "Show me where": the next check's place on a photo of the board, when one was marked.

import { $, base, make } from "./dom.js";

let photos = [];

export function takePhotos(list) {
  photos = list ?? [];
}

export function showWhere(suggestion) {
  const found = suggestion ? markersOf(suggestion.places) : [];
  $("where").hidden = !found.length;
  $("where").replaceChildren(...found.slice(0, 2).map(({ photo, marker }) => closeUp(photo, marker)));
}

// The marker of a pin, else of its part, on each photo that has one.
export function markersOf(places, among = photos) {
  const names = places.flatMap((place) => {
    const leg = place.replace(/\/(pad|tail)$/, "").replace(/^net /, "");
    return [leg, leg.split(".")[0]];
  });
  return among.flatMap((photo) => {
    const marker = names.map((name) => photo.markers.find((one) => one.place === name)).find(Boolean);
    return marker ? [{ photo, marker }] : [];
  });
}

// A part of the photo round the marker, three times as large as the whole would be.
function closeUp(photo, marker) {
  const picture = make("span", { class: "close-up" });
  picture.append(make("img", { src: `${base}api/photos/${photo.number}`, alt: "" }), make("span", { class: "ring" }));
  const high = (300 * photo.height) / photo.width;
  const image = picture.firstChild;
  image.style.left = `${50 - 300 * marker.x}%`;
  image.style.top = `calc(50% - ${marker.y} * ${high / 100} * var(--wide))`;
  return make("a", { class: "where-link", href: `${base}photos#${encodeURIComponent(marker.place)}` }, picture,
    make("span", {}, `${marker.place} on the ${photo.side}`));
}
