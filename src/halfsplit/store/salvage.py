"""What can be had from a case file that is damaged."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

from halfsplit.errors import CaseError
from halfsplit.store import attachments
from halfsplit.store.connection import connect, is_writable, said_plainly
from halfsplit.store.event import Event
from halfsplit.store.examine import Found, examine
from halfsplit.store.log import CaseLog

__all__ = ["LOST", "read_events", "rescue"]

LOST = "lost"
_MOST_EVENTS = 1_000_000


def read_events(
    path: str | os.PathLike[str], *, salvage: bool = False, wait: float = 10.0
) -> Found:
    """Read a case without changing it.

    With ``salvage``, damage is listed beside the events that are intact, in place of a CaseError; a
    CaseError then means that nothing can be read.
    """
    file = Path(path)
    if not salvage:
        with CaseLog.open(file, writable=False, wait=wait) as log:
            return Found(made=log.made, events=log.events(), damage=())
    # For writing where possible, because only so can SQLite take back a write that was cut short.
    connection = connect(file, writable=is_writable(file), wait=wait)
    try:
        with said_plainly(file):
            connection.execute("PRAGMA query_only = ON")
            found = examine(connection)
    finally:
        connection.close()
    if found.damage and not found.events:
        raise CaseError(f"{file}: no event can be read ({found.damage[0]}); go back to a copy")
    return found


def rescue(path: str | os.PathLike[str], into: str | os.PathLike[str], *, at: str) -> CaseLog:
    """Copy what is intact into a new case, with the same numbers.

    An event that cannot be read becomes one of kind ``lost``, at the moment ``at``, whose data say
    ``why``. Attachments that are whole come along. Look at the case afterwards: where an undo was
    lost, what it took back counts again.
    """
    found = read_events(path, salvage=True)
    by_number = {event.number: event for event in found.events}
    why = {damage.number: damage.why for damage in found.damage}
    last = max([*by_number, *why], default=0)
    if last > _MOST_EVENTS:
        raise CaseError(f"{path}: expected at most {_MOST_EVENTS} events, got number {last}")
    events = [
        by_number.get(n)
        or Event(number=n, at=at, kind=LOST, data={"why": why.get(n, "is missing")})
        for n in range(1, last + 1)
    ]
    log = CaseLog.create(into, at=found.made or at, events=events)
    for data in _attachments(Path(path)):
        log.attach(data)
    return log


def _attachments(file: Path) -> Iterator[bytes]:
    """Those that are whole; what cannot be read is passed over."""
    with suppress(CaseError, sqlite3.Error):
        connection = connect(file, writable=is_writable(file), wait=10.0)
        with closing(connection):
            for sha256 in attachments.sizes(connection):
                with suppress(CaseError, sqlite3.Error):
                    yield attachments.read(connection, sha256)
