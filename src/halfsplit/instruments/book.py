"""The owner's instruments by name: a JSON file in the folder of the user's settings."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import asdict, field, replace
from pathlib import Path

from halfsplit.errors import CaseError, ReadingError, UnknownName
from halfsplit.frozen import dataclass
from halfsplit.instruments.kind import ERRORS, INSTRUMENTS, TALK, introduce
from halfsplit.instruments.link import ERROR_WAYS, SECONDS, Link
from halfsplit.store.folders import settings_folder
from halfsplit.store.own_meter import write_settings

__all__ = ["SCHEMA", "Entry", "book_path", "forget", "load", "pick", "remember"]

SCHEMA = "halfsplit-instruments/1"
_NAME = re.compile(r"[^\W_][\w.+-]{0,39}")
_MOST_SECONDS, _MOST_BAUD = 120.0, 10_000_000
_INSTEAD = {
    "meter": "type the reading by hand",
    "scope": "save its record as a file and use halfsplit capture",
    "supply": "set it by hand",
}
"""Kind of instrument -> what does without it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One instrument: its ``kind``, VISA ``address``, the ``identity`` it answered with (empty
    when it was never asked), the longest wait in ``seconds``, and the ``ways`` it is talked to."""

    name: str
    kind: str
    address: str
    identity: str = ""
    seconds: float = SECONDS
    baud: int = 0
    ways: Mapping[str, str] = field(default_factory=dict)

    @property
    def way(self) -> str:
        """The dialect of its kind; the first one when it was never asked."""
        return self.ways.get(TALK) or INSTRUMENTS.get(self.kind).ways[0].name

    def open(self) -> Link:
        """A link to it. Raises what `Link` raises."""
        return Link(
            self.address, known=self.identity, seconds=self.seconds, baud=self.baud,
            errors_by=self.ways.get(ERRORS, ""),
        )  # fmt: skip

    def possible(self) -> Entry:
        """Itself. Raises :class:`ReadingError` for a name, a wait or a speed that cannot be."""
        if not _NAME.fullmatch(self.name):
            raise ReadingError(
                "expected a name of letters, figures and . + - that begins with a letter or "
                f"figure, at most 40 long, got {self.name[:60]!r}"
            )
        if not 0.1 <= self.seconds <= _MOST_SECONDS:
            raise ReadingError(
                f"expected a wait from 0.1 to {_MOST_SECONDS:g} s, got {self.seconds:g}"
            )
        if not 0 <= self.baud <= _MOST_BAUD:
            raise ReadingError(f"expected a speed such as 9600, got {self.baud}")
        return self

    def introduced(self) -> Entry:
        """The same, with its name and its ways found out by asking. Raises what `introduce` and
        `Link` raise."""
        with Link(self.address, seconds=self.seconds, baud=self.baud) as link:
            ways = introduce(link, INSTRUMENTS.get(self.kind))
            return replace(self, identity=link.name, ways=ways)

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {**asdict(self), "ways": dict(self.ways)}


def book_path() -> Path:
    """Where they are kept."""
    return settings_folder() / "instruments.json"


def load() -> dict[str, Entry]:
    """All that are remembered, by name. Raises :class:`CaseError` for a file that cannot be
    read."""
    path = book_path()
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["schema"] != SCHEMA:
            raise ValueError(f"schema {data['schema']!r}")
        return {str(name): _entry(str(name), told) for name, told in data["instruments"].items()}
    except FileNotFoundError:
        return {}
    except (OSError, AttributeError, KeyError, TypeError, ValueError) as error:
        raise CaseError(
            f"{path}: expected instruments ({SCHEMA}), got something else ({error}); put it right, "
            "or take the file away and remember them anew"
        ) from error


def remember(entry: Entry) -> None:
    """Add it, in place of another of the same name. Raises what `Entry.possible` raises, and
    :class:`CaseError`."""
    _save({**load(), entry.name: entry.possible()})


def forget(name: str) -> None:
    """Raises :class:`UnknownName`, :class:`CaseError`."""
    entries = load()
    if name not in entries:
        raise UnknownName("instrument", name, entries)
    _save({key: entry for key, entry in entries.items() if key != name})


def pick(kind: str, name: str = "") -> Entry:
    """The instrument of that name, else the only one of that kind. Raises :class:`UnknownName`,
    and :class:`ReadingError` when none, or more than one, could be meant."""
    entries = load()
    if name:
        if name not in entries:
            raise UnknownName("instrument", name, entries)
        if entries[name].kind != kind:
            raise ReadingError(f"expected a {kind}, got {name}, which is a {entries[name].kind}")
        return entries[name]
    known = [entry for entry in entries.values() if entry.kind == kind]
    if len(known) == 1:
        return known[0]
    if not known:
        raise ReadingError(
            f"expected a {kind}, none is remembered; {_INSTEAD[kind]}, or: "
            f"halfsplit instruments --remember NAME ADDRESS --kind {kind}"
        )
    raise ReadingError(
        f"expected one {kind}, {len(known)} are remembered; say which by --from: "
        + ", ".join(entry.name for entry in known)
    )


def _entry(name: str, told: Mapping[str, object]) -> Entry:
    kind, ways = str(told["kind"]), told.get("ways", {})
    if kind not in INSTRUMENTS or not isinstance(ways, dict):
        raise ValueError(f"{name}: kind {kind!r}, ways {ways!r}")
    plain = {str(key): str(value) for key, value in ways.items()}
    seconds = float(str(told.get("seconds", SECONDS)))
    if plain.get(ERRORS, "") not in ("", *ERROR_WAYS) or not math.isfinite(seconds):
        raise ValueError(f"{name}: ways {plain!r}, seconds {seconds!r}")
    return Entry(
        name=name, kind=kind, address=str(told["address"]), seconds=seconds, ways=plain,
        identity=str(told.get("identity", "")), baud=int(str(told.get("baud", 0))),
    )  # fmt: skip


def _save(entries: Mapping[str, Entry]) -> None:
    told = {name: entry.to_json() for name, entry in sorted(entries.items())}
    for one in told.values():
        del one["name"]
    write_settings(book_path(), {"schema": SCHEMA, "instruments": told}, "the instruments")
