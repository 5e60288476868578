"""Photos of a case and the markers on them, as the events of its log say. No clock, no file."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from halfsplit.errors import CaseError
from halfsplit.frozen import dataclass
from halfsplit.store.event import Event, Json
from halfsplit.store.photo import Picture

__all__ = [
    "MARKER",
    "PHOTO",
    "SIDES",
    "Marker",
    "Photo",
    "marker_data",
    "photo_data",
    "photos_of",
]

PHOTO, MARKER = "photo", "marker"
"""Kinds of event."""
SIDES = ("parts side", "solder side", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Marker:
    """A spot on a photo: ``x`` and ``y`` as fractions of its width and height from the top left;
    ``place`` is a part, a pin or a test point. ``number`` is its event's."""

    number: int
    place: str
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """One photo; ``number`` is its event's, ``sha256`` finds its bytes in the case."""

    number: int
    at: str
    sha256: str
    media: str
    width: int
    height: int
    side: str
    words: str
    markers: tuple[Marker, ...] = ()

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {
            "number": self.number,
            "at": self.at,
            "sha256": self.sha256,
            "media": self.media,
            "width": self.width,
            "height": self.height,
            "side": self.side,
            "words": self.words,
            "markers": [
                {"number": m.number, "place": m.place, "x": m.x, "y": m.y} for m in self.markers
            ],
        }


def photos_of(live: Iterable[Event]) -> tuple[Photo, ...]:
    """The photos that count, in order, each with its markers. Of two markers of one place on one
    photo the later counts. Raises CaseError for an event that is not as this program writes it."""
    photos: dict[int, Photo] = {}
    markers: dict[int, dict[str, Marker]] = {}
    for event in live:
        try:
            if event.kind == PHOTO:
                photos[event.number] = _photo(event)
            elif event.kind == MARKER:
                marker = _marker(event)
                markers.setdefault(int(str(event.data["photo"])), {})[marker.place] = marker
        except (KeyError, TypeError, ValueError) as error:
            raise CaseError(
                f"event {event.number}: expected the data of a {event.kind} as this version "
                f"writes them, got something else ({error}); a newer Halfsplit may have written it"
            ) from error
    return tuple(
        Photo(
            number=photo.number, at=photo.at, sha256=photo.sha256, media=photo.media,
            width=photo.width, height=photo.height, side=photo.side, words=photo.words,
            markers=tuple(markers.get(number, {}).values()),
        )
        for number, photo in photos.items()
    )  # fmt: skip


def photo_data(picture: Picture, *, side: str, words: str) -> dict[str, Json]:
    """The data of a photo's event. Raises CaseError for another side."""
    if side not in SIDES:
        raise CaseError(f"expected one of {', '.join(SIDES)} as the side of a photo, got {side!r}")
    return {
        "sha256": hashlib.sha256(picture.data).hexdigest(), "media": picture.media,
        "width": picture.width, "height": picture.height, "side": side, "words": words[:200],
    }  # fmt: skip


def marker_data(photo: int, place: str, x: float, y: float) -> dict[str, Json]:
    """The data of a marker's event. Raises CaseError for a spot beside the photo."""
    if not (0.0 <= x <= 1.0 and 0.0 <= y <= 1.0):
        raise CaseError(f"expected a spot on the photo, 0 to 1 each way, got {x} and {y}")
    return {"photo": photo, "place": place, "x": round(x, 5), "y": round(y, 5)}


def _photo(event: Event) -> Photo:
    data = event.data
    return Photo(
        number=event.number, at=event.at, sha256=str(data["sha256"]), media=str(data["media"]),
        width=int(str(data["width"])), height=int(str(data["height"])), side=str(data["side"]),
        words=str(data["words"]),
    )  # fmt: skip


def _marker(event: Event) -> Marker:
    return Marker(
        number=event.number,
        place=str(event.data["place"]),
        x=float(str(event.data["x"])),
        y=float(str(event.data["y"])),
    )
