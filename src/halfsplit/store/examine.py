"""Reading every event of an open file and saying, by number, which are damaged."""

from __future__ import annotations

import hashlib
import json
import sqlite3

from halfsplit.errors import CaseError
from halfsplit.frozen import dataclass
from halfsplit.store.connection import primary_code
from halfsplit.store.event import Event, check_at, check_kind, seal_of

__all__ = ["Damage", "Found", "Sealed", "examine", "first_link", "unseal"]

# Two seals of 64 characters and a time of 24 bound how many rows a file can hold.
_LEAST_BYTES_IN_A_ROW = 152
_DAMAGE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_TOOBIG)


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """One thing wrong: ``number`` is the event's, 0 for the file as a whole."""

    number: int
    why: str

    def __str__(self) -> str:
        """``event 7: why``, or ``file: why``."""
        return f"event {self.number}: {self.why}" if self.number else f"file: {self.why}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a file gave: ``events`` intact, in order; ``damage`` in order; empty when all is well.

    ``made`` is when the case was made, ``None`` when that cannot be read.
    """

    made: str | None
    events: tuple[Event, ...]
    damage: tuple[Damage, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sealed:
    """An event with its seal and the seal it follows, both in hex."""

    event: Event
    previous: str
    seal: str


def examine(connection: sqlite3.Connection) -> Found:
    """Read all there is; sqlite3.Error when not even the tables can be found."""
    damage: list[Damage] = []
    made = _made(connection, damage)
    intact = _intact(connection, damage)
    seen = {d.number for d in damage if d.number} | set(intact)
    damage += _gaps(sorted(seen))
    damage += _broken_links(made, intact)
    damage += _lost_tail(connection, max(seen, default=0))
    return Found(
        made=made,
        events=tuple(intact[n].event for n in sorted(intact)),
        damage=tuple(sorted(damage, key=lambda d: d.number)),
    )


def first_link(made: str) -> str:
    """What event 1 follows, in place of a seal."""
    return hashlib.sha256(f"halfsplit case made {made}".encode()).hexdigest()


def unseal(row: tuple[object, ...]) -> Sealed:
    """Turn a row of the table into an event; CaseError says in what it differs from its seal."""
    number, at, kind, data, previous, seal = row
    if not (
        isinstance(number, int)
        and isinstance(at, str)
        and isinstance(kind, str)
        and isinstance(data, str)
        and isinstance(previous, str)
        and isinstance(seal, str)
    ):
        raise CaseError("an item is not of its kind")
    if seal != seal_of(previous=previous, number=number, at=at, kind=kind, data=data):
        raise CaseError("does not match its seal")
    try:
        values = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise CaseError(f"its data are not JSON ({error})") from error
    if not isinstance(values, dict):
        raise CaseError("its data are not names and values")
    event = Event(number=number, at=check_at(at), kind=check_kind(kind), data=values)
    return Sealed(event=event, previous=previous, seal=seal)


def _made(connection: sqlite3.Connection, damage: list[Damage]) -> str | None:
    try:
        rows = connection.execute("SELECT at FROM made").fetchall()
        if len(rows) == 1:
            return check_at(rows[0][0])
    except sqlite3.DatabaseError as error:
        _only_damage(error)
    except CaseError:
        pass
    damage.append(Damage(number=0, why="the moment the case was made cannot be read"))
    return None


def _intact(connection: sqlite3.Connection, damage: list[Damage]) -> dict[int, Sealed]:
    intact: dict[int, Sealed] = {}
    most = _most_rows(connection)
    for row in _rows(connection, damage):
        try:
            sealed = unseal(row)
        except CaseError as error:
            number = row[0]
            if isinstance(number, int) and 1 <= number <= most:
                damage.append(Damage(number=number, why=str(error)))
            else:
                damage.append(Damage(number=0, why=f"an event is numbered {number!r}"))
        else:
            intact[sealed.event.number] = sealed
    return intact


def _rows(connection: sqlite3.Connection, damage: list[Damage]) -> list[tuple[object, ...]]:
    try:
        return connection.execute(
            "SELECT number, at, kind, data, previous, seal FROM event ORDER BY number"
        ).fetchall()
    except sqlite3.DatabaseError as error:
        _only_damage(error)
    rows: list[tuple[object, ...]] = []
    unreadable: list[int] = []
    last = _highest(connection)
    for number in range(1, (last or _most_rows(connection)) + 1):
        try:
            found = connection.execute(
                "SELECT number, at, kind, data, previous, seal FROM event WHERE number = ?",
                (number,),
            )
            rows += found.fetchall()
        except sqlite3.DatabaseError as error:
            _only_damage(error)
            unreadable.append(number)
    # Where the last number is not known, one event stands for all that may have come after.
    end = last or 1 + max((n for n, *_ in rows if isinstance(n, int)), default=0)
    damage += [
        Damage(number=n, why="its part of the file cannot be read") for n in unreadable if n <= end
    ]
    return rows


def _highest(connection: sqlite3.Connection) -> int | None:
    highest = [_count(connection)]
    try:
        highest.append(connection.execute("SELECT max(number) FROM event").fetchone()[0])
    except sqlite3.DatabaseError as error:
        _only_damage(error)
    most = _most_rows(connection)
    known = [n for n in highest if isinstance(n, int) and 1 <= n <= most]
    return max(known, default=None)


def _count(connection: sqlite3.Connection) -> object:
    """The highest number ever given, as SQLite keeps it apart from the events."""
    try:
        row = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'event'").fetchone()
    except sqlite3.DatabaseError as error:
        _only_damage(error)
        return "unreadable"
    return row[0] if row else 0


def _most_rows(connection: sqlite3.Connection) -> int:
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    (size,) = connection.execute("PRAGMA page_size").fetchone()
    return int(pages) * int(size) // _LEAST_BYTES_IN_A_ROW


def _gaps(numbers: list[int]) -> list[Damage]:
    return [
        Damage(number=before + 1, why=_missing(before + 1, after - 1))
        for before, after in zip([0, *numbers], numbers, strict=False)
        if after > before + 1
    ]


def _broken_links(made: str | None, intact: dict[int, Sealed]) -> list[Damage]:
    broken = []
    for number, sealed in intact.items():
        if number == 1:
            expected = None if made is None else first_link(made)
        else:
            expected = intact[number - 1].seal if number - 1 in intact else None
        if expected is not None and sealed.previous != expected:
            broken.append(Damage(number=number, why="does not follow the one before it"))
    return broken


def _lost_tail(connection: sqlite3.Connection, last: int) -> list[Damage]:
    count = _count(connection)
    if count == last:
        return []
    if isinstance(count, int) and last < count <= _most_rows(connection):
        return [Damage(number=last + 1, why=_missing(last + 1, count))]
    return [Damage(number=0, why=f"the count of events is {count}, the last one is {last}")]


def _missing(first: int, last: int) -> str:
    return "is missing" if first == last else f"is missing, and all up to event {last}"


def _only_damage(error: sqlite3.DatabaseError) -> None:
    """Raise ``error`` again unless it is the file that is at fault."""
    if primary_code(error) not in _DAMAGE:
        raise error
