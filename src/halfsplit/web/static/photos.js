// Photos of the board: taken in, shown, marked, and asked where a part is.

import { $, ask, base, make, tell } from "./dom.js";
import { startShell } from "./shell.js";
import { markersOf } from "./where.js";

const WIDEST = 2600;
let photos = [];
let marking = null; // {photo, x, y}
let pointed = decodeURIComponent(location.hash.slice(1));

// Drawn anew by the browser: the right way up, not larger than needed, nothing beside the picture.
async function takeIn(file) {
  const say = (words) => { $("add-said").textContent = words; };
  say(`taking in ${file.name || "the photo"} …`);
  try {
    const image = await createImageBitmap(file).catch(() => {
      throw new Error("Expected a photo that this browser can show; save it as JPEG.");
    });
    const scale = Math.min(1, WIDEST / Math.max(image.width, image.height));
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [Math.round(image.width * scale), Math.round(image.height * scale)];
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    const data = await new Promise((found) => canvas.toBlob(found, "image/jpeg", 0.85));
    const query = new URLSearchParams({ side: $("side").value, words: $("photo-words").value });
    await ask(`${base}api/photos?${query}`, { method: "POST", headers: { "content-type": "image/jpeg" }, body: data });
    $("photo-words").value = "";
    $("file").value = "";
    say("Kept in the case. Press on a part in it to mark it.");
  } catch (error) {
    say(error.message);
  }
}

function paint() {
  $("photo-count").textContent = photos.length ? `${photos.length} in the case` : "";
  if (photos.length) $("photos").replaceChildren(...photos.map(figure));
}

function figure(photo) {
  const image = make("img", { src: `${base}api/photos/${photo.number}`, width: photo.width, height: photo.height, alt: `${photo.side}${photo.words ? `: ${photo.words}` : ""}` });
  const board = make("div", { class: "photo-board" }, image, photo.markers.map((marker) => {
    const spot = make("span", { class: `spot${marker.place === pointed ? " pointed" : ""}` }, make("span", {}, marker.place));
    spot.style.left = `${100 * marker.x}%`;
    spot.style.top = `${100 * marker.y}%`;
    return spot;
  }));
  image.addEventListener("click", (event) => {
    const box = image.getBoundingClientRect();
    open(photo, (event.clientX - box.x) / box.width, (event.clientY - box.y) / box.height);
  });
  return make("figure", { id: `photo-${photo.number}` }, board,
    make("figcaption", {}, make("b", {}, photo.side), photo.words ? `: ${photo.words}` : "",
      make("span", { class: "quiet small" }, photo.markers.length ? ` Marked: ${photo.markers.map((one) => one.place).join(", ")}.` : " Press on a part in the photo to mark it."),
      make("button", { type: "button", class: "plain", onclick: () => open(photo, 0.5, 0.5) }, "mark what is in the middle")));
}

function open(photo, x, y) {
  marking = { photo: photo.number, x, y };
  $("marker-trouble").textContent = "";
  $("marker-place").value = "";
  $("marker").showModal();
  $("marker-place").focus();
}

async function keep(event) {
  event.preventDefault();
  try {
    await tell(`${base}api/photos/${marking.photo}/markers`, { place: $("marker-place").value, x: marking.x, y: marking.y });
    $("marker").close();
  } catch (error) {
    $("marker-trouble").textContent = error.message;
  }
}

function point(place) {
  pointed = place;
  paint();
  const [found] = markersOf([place], photos);
  if (found) pointed = found.marker.place;
  paint();
  $("point-said").textContent = found ? `${pointed} is ringed on the ${found.photo.side}.` : place ? `${place} is not marked on any photo yet; press on it in a photo.` : "";
  if (found) $(`photo-${found.photo.number}`).scrollIntoView({ block: "nearest" });
}

$("file").addEventListener("change", () => {
  if ($("file").files[0]) takeIn($("file").files[0]);
});
for (const name of ["dragover", "drop"]) {
  $("drop").addEventListener(name, (event) => {
    event.preventDefault();
    if (name === "drop" && event.dataTransfer.files[0]) takeIn(event.dataTransfer.files[0]);
  });
}
$("point").addEventListener("submit", (event) => {
  event.preventDefault();
  point($("point-place").value.trim());
});
$("marker-form").addEventListener("submit", keep);
$("marker-shut").addEventListener("click", () => $("marker").close());
ask(`${base}api/choices`).then(({ part, place }) => {
  $("all-places").replaceChildren(...[...part, ...place.filter((name) => !name.includes("/") && !name.startsWith("net "))].map((name) => make("option", { value: name })));
}).catch(() => {});
startShell((state) => {
  const news = state.photos ?? photos;
  if (JSON.stringify(news) === JSON.stringify(photos)) return;
  photos = news;
  paint();
  if (pointed) point(pointed);
});
