"""The case log: one SQLite file a case, one event an action, only ever added to."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from threading import Lock
from typing import Self

from halfsplit.closing import Closing
from halfsplit.errors import CaseError, ConflictError
from halfsplit.store import attachments, replay
from halfsplit.store.connection import connect, make_file, said_plainly
from halfsplit.store.event import Event, Json, check_at, check_kind, data_text, seal_of
from halfsplit.store.examine import examine, first_link, unseal
from halfsplit.store.schema import check_form, check_tables, migrate

__all__ = ["SUFFIX", "CaseLog"]

SUFFIX = ".hsplit"


class CaseLog(Closing):
    """An open case. Use as a context manager, or `close` it.

    What `append` returned is on the disk: it survives a killed program and, as far as the disk
    keeps its word, a power cut. Several programs and threads may use one case at once. Every method
    raises CaseError when the file cannot be used.
    """

    __slots__ = ("_connection", "_lock", "made", "path")

    def __init__(self, connection: sqlite3.Connection, path: Path, made: str) -> None:
        """For `create` and `open`, which see to it that the file is a case."""
        self._connection = connection
        self._lock = Lock()
        self.path = path
        self.made = made

    @classmethod
    def create(
        cls,
        path: str | os.PathLike[str],
        *,
        at: str,
        events: Iterable[Event] = (),
        wait: float = 10.0,
    ) -> Self:
        """Make a new case at ``path``, which must not exist, at the moment ``at``.

        ``events``, numbered from 1, are copied in as they stand, all or none.
        """
        file, made = Path(path), check_at(at)
        make_file(file)
        try:
            connection = connect(file, writable=True, wait=wait, empty=True)
            try:
                log = cls(connection, file, made)
                with log._writing():
                    migrate(connection)
                    connection.execute("INSERT INTO made VALUES (?)", (made,))
                    for number, event in enumerate(events, 1):
                        if event.number != number:
                            raise CaseError(
                                f"{file}: expected event {number} next, got {event.number}"
                            )
                        log._add(event.kind, data_text(event.data), at=event.at)
            except BaseException:
                connection.close()
                raise
        except BaseException:
            file.unlink(missing_ok=True)
            raise
        return log

    @classmethod
    def open(
        cls, path: str | os.PathLike[str], *, writable: bool = True, wait: float = 10.0
    ) -> Self:
        """Open a case and check every event; the message names the first that is damaged.

        ``wait`` in s is how long another program may hold the case before that is an error.
        """
        file = Path(path)
        connection = connect(file, writable=writable, wait=wait)
        try:
            log = cls(connection, file, "")
            with said_plainly(file):
                if not check_form(connection, str(file)):
                    log._bring_up_to_date(writable=writable)
                with log._reading():
                    check_tables(connection, str(file))
            log.made = log._read()[0]
        except BaseException:
            connection.close()
            raise
        return log

    def append(
        self, kind: str, data: Mapping[str, Json], *, at: str, after: int | None = None
    ) -> Event:
        """Add one event; when it is returned, it is on the disk.

        ``after`` is the number of the last event the caller has seen, 0 for none: ConflictError
        when it is not the last. An ``undo`` must take back an event that is in effect.
        """
        text = data_text(data)
        with self._writing():
            event = self._add(kind, text, at=at, after=after)
            if event.kind == replay.UNDO:
                self._check_undo(event)
        return event

    def undo(self, *, at: str, keep: Collection[str] = (), after: int | None = None) -> Event:
        """Take back the last live event whose kind is not in ``keep``; return the undo."""
        return self._take_back(replay.next_undo, "undo", at=at, keep=keep, after=after)

    def redo(self, *, at: str, keep: Collection[str] = (), after: int | None = None) -> Event:
        """Take back the last undo, unless something was done since; return the undo of it."""
        return self._take_back(replay.next_redo, "redo", at=at, keep=keep, after=after)

    def events(self) -> tuple[Event, ...]:
        """All events in order, each checked against its seal."""
        return self._read()[1]

    def take_back_all(self, numbers: Iterable[int], *, at: str, after: int | None = None) -> None:
        """Take back several events at once, all or none, in the order given. See `append`."""
        with self._writing():
            for number in numbers:
                text = data_text({replay.TAKES_BACK: number})
                self._check_undo(self._add(replay.UNDO, text, at=at, after=after))
                after = None

    @property
    def seal(self) -> str:
        """Seal of the last event, in hex: it vouches for all before it."""
        with said_plainly(self.path), self._reading():
            return self._tail()[1]

    def attach(self, data: bytes) -> str:
        """Keep a photo or capture in the case and return its SHA-256 in hex, by which an event
        names it. What is there already is not kept twice."""
        with self._writing():
            return attachments.add(self._connection, data)

    def attachment(self, sha256: str) -> bytes:
        """What was attached; CaseError when it is missing or does not match its SHA-256."""
        with said_plainly(self.path), self._reading():
            return attachments.read(self._connection, sha256)

    def attached(self) -> dict[str, int]:
        """SHA-256 of all attachments -> size in bytes."""
        with said_plainly(self.path), self._reading():
            return attachments.sizes(self._connection)

    def copy(self, into: str | os.PathLike[str]) -> None:
        """Copy the whole case, attachments too, to a file that must not exist yet."""
        file = Path(into)
        make_file(file)
        try:
            with said_plainly(file), self._lock, closing(sqlite3.connect(file)) as target:
                self._connection.backup(target)
        except BaseException:
            file.unlink(missing_ok=True)
            raise

    def live(self) -> tuple[Event, ...]:
        """Events left after undo, in order."""
        return replay.live(self.events())

    def close(self) -> None:
        """Close the file; closing twice does no harm."""
        with self._lock:
            self._connection.close()

    def _take_back(
        self, choose: replay.Choose, name: str, *, at: str, keep: Collection[str], after: int | None
    ) -> Event:
        with self._writing():
            number = choose(self._examined()[1], keep=keep)
            if number is None:
                raise CaseError(f"{self.path}: expected something to {name}, found nothing")
            text = data_text({replay.TAKES_BACK: number})
            return self._add(replay.UNDO, text, at=at, after=after)

    def _add(self, kind: str, text: str, *, at: str, after: int | None = None) -> Event:
        check_at(at)
        check_kind(kind)
        last, previous = self._tail()
        if after is not None and after != last:
            raise ConflictError(
                f"{self.path}: expected event {after} to be the last, got {last}; "
                "somebody else added to the case, so look at it again first"
            )
        number = last + 1
        seal = seal_of(previous=previous, number=number, at=at, kind=kind, data=text)
        row = (number, at, kind, text, previous, seal)
        self._connection.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?)", row)
        return unseal(row).event

    def _tail(self) -> tuple[int, str]:
        """Number and seal of the last event."""
        row = self._connection.execute(
            "SELECT * FROM event ORDER BY number DESC LIMIT 1"
        ).fetchone()
        if row is None:
            return 0, first_link(self.made)
        try:
            last = unseal(row)
        except CaseError as error:
            raise self._damaged(f"event {row[0]}: {error}") from error
        return last.event.number, last.seal

    def _check_undo(self, undo: Event) -> None:
        number = replay.target(undo)
        if number not in replay.in_effect(self._examined()[1][:-1]):
            raise CaseError(
                f"{self.path}: expected to take back an event in effect, got event {number}, "
                "which is taken back already; to have it again, take back the undo"
            )

    def _read(self) -> tuple[str, tuple[Event, ...]]:
        with said_plainly(self.path), self._reading():
            return self._examined()

    def _examined(self) -> tuple[str, tuple[Event, ...]]:
        found = examine(self._connection)
        if found.damage or found.made is None:
            raise self._damaged("; ".join(map(str, found.damage[:3])))
        return found.made, found.events

    def _damaged(self, what: str) -> CaseError:
        return CaseError(
            f"{self.path}: expected a whole log, got damage: {what}; "
            "go back to a copy, or rescue what is readable into a new case"
        )

    def _bring_up_to_date(self, *, writable: bool) -> None:
        if not writable:
            raise CaseError(
                f"{self.path}: expected a case of this version, got an older one; "
                "open it once for writing to bring it up to date"
            )
        with self._writing():
            check_form(self._connection, str(self.path))
            migrate(self._connection)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """One transaction that no other program can step into."""
        with self._lock, said_plainly(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise

    @contextmanager
    def _reading(self) -> Iterator[None]:
        """One view of the file, while others may be adding to it."""
        with self._lock:
            self._connection.execute("BEGIN")
            try:
                yield
            finally:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
