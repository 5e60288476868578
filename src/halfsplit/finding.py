"""What captures showed: a sentence and a picture of it, as an event of the case's log.

The picture is kept as numbers and drawn when it is asked for, so that a case from other hands
brings no drawing of theirs. No clock, no file.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from halfsplit.draw.traces import Strip, traces_svg
from halfsplit.errors import CaseError
from halfsplit.frozen import dataclass
from halfsplit.store.event import Event, Json
from halfsplit.waves.plot import Picture, svg_text

__all__ = [
    "FINDING",
    "Finding",
    "drawn",
    "finding_data",
    "findings_of",
    "lines_picture",
    "traces_picture",
]

FINDING = "finding"
"""Kind of event."""
MOST_POINTS = 20_000
MOST_STRIPS = 64
MOST_WORDS = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """``number`` is its event's; ``capture`` names the kept record; ``sha256`` finds the numbers
    of the picture in the case."""

    number: int
    at: str
    capture: str
    sentence: str
    sha256: str

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {
            "number": self.number,
            "at": self.at,
            "capture": self.capture,
            "sentence": self.sentence,
            "sha256": self.sha256,
        }


def finding_data(*, capture: str, sentence: str, sha256: str) -> dict[str, Json]:
    """The data of its event. Raises CaseError for a sentence without words."""
    if not sentence.strip():
        raise CaseError("expected what the capture shows in a sentence, got no words")
    return {"capture": capture[:200], "sentence": sentence[:MOST_WORDS], "sha256": sha256}


def findings_of(live: Iterable[Event]) -> tuple[Finding, ...]:
    """Those that count, in order. Raises CaseError for an event that is not as we write it."""
    found = []
    for event in live:
        if event.kind != FINDING:
            continue
        data = event.data
        texts = [data.get(name) for name in ("capture", "sentence", "sha256")]
        if not all(isinstance(text, str) for text in texts):
            raise CaseError(
                f"event {event.number}: expected capture, sentence and sha256 of a finding; "
                "a newer Halfsplit may have written it"
            )
        capture, sentence, sha256 = map(str, texts)
        found.append(
            Finding(
                number=event.number, at=event.at, capture=capture, sentence=sentence, sha256=sha256
            )
        )  # fmt: skip
    return tuple(found)


def lines_picture(picture: Picture) -> dict[str, object]:
    """Phase lines with what was found on them, as numbers."""
    return {"form": "lines", **picture.to_json()}


def traces_picture(
    title: str, time: Iterable[float], names: Iterable[str], strips: Iterable[Strip]
) -> dict[str, object]:
    """Waveforms of several cases over one another, as numbers; see `traces_svg`."""
    return {
        "form": "traces",
        "title": title,
        "time": [float(f"{value:.6g}") for value in time],
        "names": list(names),
        "strips": [
            {
                "title": strip.title,
                "unit": strip.unit,
                "values": [[_short(value) for value in row] for row in strip.values.tolist()],
            }
            for strip in strips
        ],
    }


def drawn(data: bytes) -> str:
    """The picture as SVG. Raises CaseError for bytes that hold no such picture."""
    try:
        said = json.loads(data)
        if said["form"] == "lines":
            return svg_text(Picture.from_json(said))
        return _traces(said)
    except (ValueError, KeyError, TypeError, AttributeError, IndexError, RecursionError) as error:
        raise CaseError(
            f"expected the numbers of a picture, got none ({error!r:.80}); read the capture again"
        ) from error


def _traces(said: Mapping[str, Any]) -> str:
    time = np.array([float(value) for value in said["time"]])
    names = [str(name) for name in said["names"]]
    if not 2 <= time.size <= MOST_POINTS or not 1 <= len(said["strips"]) <= MOST_STRIPS:
        raise ValueError("too few or too many points")
    if not (np.isfinite(time).all() and (np.diff(time) >= 0).all()):
        raise ValueError("times out of order")
    strips = []
    for strip in said["strips"]:
        rows = [[math.nan if one is None else float(one) for one in row] for row in strip["values"]]
        values = np.array(rows, dtype=np.float64)
        if values.shape != (len(names), time.size):
            raise ValueError(f"values of {values.shape}")
        strips.append(Strip(title=str(strip["title"]), unit=str(strip["unit"]), values=values))
    return traces_svg(time, names, strips, title=str(said["title"]))


def _short(value: float) -> float | None:
    return float(f"{value:.4g}") if math.isfinite(value) else None
