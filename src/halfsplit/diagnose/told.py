"""What the events of a case say: its board, meter, limits and readings. No clock, no file."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, field, fields

from halfsplit.checks.kind import ADDED, Check, Limits, Meter, Reading
from halfsplit.errors import CaseError
from halfsplit.frozen import dataclass
from halfsplit.store.event import Event, Json

__all__ = [
    "BOARD",
    "CLOSED",
    "LIMITS",
    "METER",
    "NOTE",
    "READING",
    "REPAIRED",
    "ReadingEntry",
    "RepairEntry",
    "Told",
    "limits_data",
    "meter_data",
    "meter_of",
    "reading_data",
    "reading_of",
    "tell",
]

BOARD, METER, LIMITS, READING, NOTE = "board", "meter", "limits", "reading", "note"
REPAIRED, CLOSED = "repaired", "closed"
"""Kinds of event, beside the ``undo`` of the log itself."""

_OPEN = "open"
"""Stands for an infinite number, which JSON does not have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingEntry:
    """A reading as it was understood when it was entered; ``number`` is its event's, ``source``
    the instrument or capture that it came from, empty when it was typed."""

    number: int
    check: Check
    reading: Reading
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairEntry:
    """A repair that was done; ``number`` is its event's, ``suspect`` what it was to put right."""

    number: int
    suspect: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Everything that counts: of boards, meters and limits the last one, of readings and repairs
    all; ``closed`` is the number of the event that closed the case, 0 while it is open."""

    board_text: str
    source: str = ""
    meter: Meter = field(default_factory=Meter)
    limits: Limits = field(default_factory=Limits)
    readings: tuple[ReadingEntry, ...] = ()
    repairs: tuple[RepairEntry, ...] = ()
    closed: int = 0


def tell(live: Iterable[Event]) -> Told:
    """What the events that count say, in order. Raises :class:`CaseError` for a case without a
    board and for an event whose data are not as this program writes them."""
    board_text: str | None = None
    source, meter, limits = "", Meter(), Limits()
    readings: list[ReadingEntry] = []
    repairs: list[RepairEntry] = []
    closed = 0
    for event in live:
        try:
            if event.kind == BOARD:
                board_text, source = _text(event.data, "text"), _text(event.data, "source")
            elif event.kind == METER:
                meter = meter_of(event.data)
            elif event.kind == LIMITS:
                limits = Limits(
                    without_kinds=frozenset(_texts(event.data, "without_kinds")),
                    without_setups=frozenset(_texts(event.data, "without_setups")),
                    give_up=_price(event.data.get("give_up")),
                )
            elif event.kind == READING:
                readings.append(reading_of(event))
            elif event.kind == REPAIRED:
                suspect = _text(event.data, "suspect")
                repairs.append(RepairEntry(number=event.number, suspect=suspect))
            elif event.kind == CLOSED:
                closed = event.number
        except (KeyError, TypeError, ValueError) as error:
            raise _unreadable(event, error) from error
    if board_text is None:
        raise CaseError("expected a case with a board in it, got none; make a new case")
    return Told(
        board_text=board_text,
        source=source,
        meter=meter,
        limits=limits,
        readings=tuple(readings),
        repairs=tuple(repairs),
        closed=closed,
    )


def reading_data(check: Check, reading: Reading, source: str = "") -> dict[str, Json]:
    """The data of a reading's event: what was asked, what was typed, how it was understood, and
    the ``source`` it came from when nobody typed it, such as ``meter bench``."""
    told: dict[str, Json] = {"source": source} if source else {}
    return told | {
        "check": {"kind": check.kind, "places": list(check.places), "state": check.state},
        "text": reading.text,
        "understood": {
            "value": _number_out(reading.value),
            "word": reading.word,
            "low": _number_out(reading.low),
            "high": _number_out(reading.high),
            "nothing": reading.nothing,
        },
    }


def meter_data(meter: Meter) -> dict[str, Json]:
    """The data of a meter's event."""
    return {name: float(value) for name, value in asdict(meter).items()}


def meter_of(data: Mapping[str, Json]) -> Meter:
    """A meter; what an older version did not know of it is as usual."""
    names = [f.name for f in fields(Meter) if f.name in data or f.name not in ADDED]
    return Meter(**{name: float(data[name]) for name in names})  # type: ignore[arg-type]  # checked by float


def _price(data: Json) -> float | None:
    return None if data is None else float(data)  # type: ignore[arg-type]  # checked by float


def limits_data(limits: Limits) -> dict[str, Json]:
    """The data of an event that says what is left out."""
    return {
        "without_kinds": sorted(limits.without_kinds),
        "without_setups": sorted(limits.without_setups),
        "give_up": limits.give_up,
    }


def reading_of(event: Event) -> ReadingEntry:
    """The reading that an event of that kind holds. Raises :class:`CaseError`."""
    try:
        return _reading(event)
    except (KeyError, TypeError, ValueError) as error:
        raise _unreadable(event, error) from error


def _unreadable(event: Event, error: Exception) -> CaseError:
    return CaseError(
        f"event {event.number}: expected the data of a {event.kind} as this version writes them, "
        f"got something else ({error}); a newer Halfsplit may have written it"
    )


def _reading(event: Event) -> ReadingEntry:
    check, understood = event.data["check"], event.data["understood"]
    if not isinstance(check, Mapping) or not isinstance(understood, Mapping):
        raise TypeError("names and values expected in 'check' and 'understood'")
    return ReadingEntry(
        number=event.number,
        check=Check(
            kind=_text(check, "kind"),
            places=tuple(_texts(check, "places")),
            state=_text(check, "state"),
        ),
        reading=Reading(
            text=_text(event.data, "text"),
            value=_number_in(understood["value"]),
            word=_text(understood, "word"),
            low=_number_in(understood["low"]),
            high=_number_in(understood["high"]),
            nothing=understood["nothing"] is True,
        ),
        source=str(event.data.get("source", "")),
    )


def _text(data: Mapping[str, Json], name: str) -> str:
    value = data[name]
    if not isinstance(value, str):
        raise TypeError(f"text expected in {name!r}")
    return value


def _texts(data: Mapping[str, Json], name: str) -> list[str]:
    value = data[name]
    if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        raise TypeError(f"a list of texts expected in {name!r}")
    return [str(item) for item in value]


def _number_out(value: float | None) -> Json:
    if value is None or math.isfinite(value):
        return value
    return _OPEN if value > 0 else f"-{_OPEN}"


def _number_in(value: Json) -> float | None:
    if value is None:
        return None
    if value in (_OPEN, f"-{_OPEN}"):
        return -math.inf if value == f"-{_OPEN}" else math.inf
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"a number expected, got {value!r}")
    return float(value)
