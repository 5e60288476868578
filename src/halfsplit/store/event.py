"""One event of a case: what a person did, when, in JSON data, under a seal."""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import UTC, datetime
from typing import TypeAlias

from halfsplit.errors import CaseError
from halfsplit.frozen import dataclass

__all__ = ["Event", "Json", "check_at", "check_kind", "data_text", "seal_of", "stamp"]

Json: TypeAlias = "bool | int | float | str | Sequence[Json] | Mapping[str, Json] | None"

MOST_BYTES = 16_000_000
MOST_LEVELS = 64
# Outside this range programs read different integers from one text: RFC 7493, section 2.2.
MOST_INTEGER = 2**53 - 1

_AT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")
_KIND = re.compile(r"[a-z][a-z0-9-]{0,63}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One thing a person did.

    ``number`` counts from 1 without gaps; it, not ``at``, is the order. ``at`` is UTC with
    milliseconds, ``2024-02-29T12:00:00.000Z``. ``data`` is what JSON gives back: lists, not tuples.
    """

    number: int
    at: str
    kind: str
    data: Mapping[str, Json] = field(hash=False)


def stamp(moment: datetime) -> str:
    """Write ``moment`` as an event's ``at``; CaseError when it does not know its time zone."""
    if moment.tzinfo is None:
        raise CaseError(f"expected a time with its zone, got {moment.isoformat()}; use UTC")
    utc = moment.astimezone(UTC).replace(tzinfo=None)
    return utc.isoformat(timespec="milliseconds") + "Z"


def check_at(at: str) -> str:
    """Return ``at``; CaseError unless it is a real moment in the form of `stamp`."""
    if isinstance(at, str) and _AT.fullmatch(at):
        try:
            datetime.fromisoformat(at)
        except ValueError:
            pass
        else:
            return at
    raise CaseError(
        f"expected the time of an event like 2024-02-29T12:00:00.000Z, got {at!r}; "
        "write it with store.event.stamp"
    )


def check_kind(kind: str) -> str:
    """Return ``kind``; CaseError unless it is one small word."""
    if isinstance(kind, str) and _KIND.fullmatch(kind):
        return kind
    raise CaseError(
        "expected the kind of an event as one word of a-z, 0-9 and '-', at most 64 long, "
        f"got {kind!r}"
    )


def data_text(data: Mapping[str, Json]) -> str:
    """Write ``data`` as one line of JSON (RFC 8259); CaseError names an item that does not fit."""
    if not isinstance(data, Mapping):
        raise CaseError(f"expected the data of an event as names and values, got {_type(data)}")
    text = json.dumps(
        _plain(data, "data", 0), ensure_ascii=False, allow_nan=False, separators=(",", ":")
    )
    size = len(text.encode())
    if size > MOST_BYTES:
        raise CaseError(
            f"an event holds at most {MOST_BYTES} bytes, got {size}; "
            "keep the captured record in its own file and its name in the event"
        )
    return text


def seal_of(*, previous: str, number: int, at: str, kind: str, data: str) -> str:
    """SHA-256 (FIPS 180-4) in hex over the event and the seal before it, one item a line."""
    lines = "\n".join((previous, str(number), at, kind, data))
    return hashlib.sha256(lines.encode("utf-8", "surrogateescape")).hexdigest()


def _plain(value: object, where: str, level: int) -> object:
    if level > MOST_LEVELS:
        raise CaseError(f"{where}: expected at most {MOST_LEVELS} levels of data; flatten it")
    match value:
        case None | bool():
            return value
        case str():
            return _text(value, where)
        case int() if abs(value) <= MOST_INTEGER:
            return int(value)
        case float() if math.isfinite(value):
            return float(value)
        case int():
            raise CaseError(f"{where}: expected an integer within ±2**53; write it as text")
        case float():
            raise CaseError(f"{where}: expected a finite number, got {value}; say it in words")
        case Mapping():
            return {
                _text(name, f"a name in {where}"): _plain(item, f"{where}.{name}", level + 1)
                for name, item in value.items()
            }
        case list() | tuple():
            return [_plain(item, f"{where}[{i}]", level + 1) for i, item in enumerate(value)]
    raise CaseError(
        f"{where}: expected text, a number, true, false, null, a list or names and values, "
        f"got {_type(value)}; turn it into one of these"
    )


def _text(value: object, where: str) -> str:
    if not isinstance(value, str):
        raise CaseError(f"{where}: expected text, got {_type(value)}")
    try:
        value.encode()
    except UnicodeEncodeError:
        raise CaseError(f"{where}: expected text, got half a character in {value!r}") from None
    return str.__str__(value)


def _type(value: object) -> str:
    return type(value).__name__
