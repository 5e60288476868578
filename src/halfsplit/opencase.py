"""An open case: its log, and the present that follows from it. What `Bench` stands on.

What is kept in memory is a copy, brought up to date whenever somebody else added to the case.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from threading import RLock
from typing import Self

from halfsplit.album import MARKER, PHOTO, Photo, marker_data, photo_data, photos_of
from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.build.cache import amount, compile_kept, keep
from halfsplit.build.compiled import Compiled
from halfsplit.build.experienced import experienced
from halfsplit.closing import Closing
from halfsplit.diagnose.present import Present
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.told import BOARD, METER, Told, meter_data, meter_of
from halfsplit.errors import CaseError
from halfsplit.finding import FINDING, Finding, drawn, finding_data, findings_of
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.store import own_meter
from halfsplit.store.event import Event, Json, stamp
from halfsplit.store.experience import load as load_experience
from halfsplit.store.log import CaseLog
from halfsplit.store.photo import cleaned
from halfsplit.store.replay import TAKES_BACK, UNDO, live, next_undo

__all__ = ["ARCHIVE", "Clock", "OpenCase", "compiled", "utc_now"]

ARCHIVE = "archive"
"""Kind of the event that says whether the case is done with: ``{"archived": true}``."""

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """The moment, UTC."""
    return datetime.now(UTC)


def compiled(board: Board) -> Compiled:
    """The world of a board, with the predictions of earlier runs where there are some, and with
    what the owner's proven cases have taught."""
    world = compile_kept(board)
    world.listed = experienced(world.listed, board, load_experience())
    return world


class OpenCase(Closing):
    """Use as a context manager, or `close` it. Threads may share one.

    Every method looks at the log first, so that what another program or page added is seen. All
    raise CaseError when the case file cannot be used.
    """

    def __init__(self, log: CaseLog, clock: Clock) -> None:
        """For `create` and `open`."""
        self._log, self._clock = log, clock
        self._lock = RLock()
        self._kept = 0
        self._present = Present.of(log.events(), self._compiled)

    @classmethod
    def create(
        cls,
        path: str | os.PathLike[str],
        board_text: str,
        *,
        source: str = "board",
        clock: Clock = utc_now,
    ) -> Self:
        """Make a new case at ``path`` with a board, and the owner's meter if that is kept.
        ``source`` names the board in messages.

        Raises BoardError for a board that cannot be used (and makes no file), CaseError when
        there is a file already.
        """
        compiled(read_board(board_text, PartsVocabulary(), source=source))
        at = stamp(clock())
        data: dict[str, Json] = {"text": board_text, "source": source}
        events = [Event(number=1, at=at, kind=BOARD, data=data)]
        own = own_meter.load()
        if own:
            events.append(Event(number=2, at=at, kind=METER, data=meter_data(meter_of(own))))
        return cls(CaseLog.create(path, at=at, events=events), clock)

    @classmethod
    def open(cls, path: str | os.PathLike[str], *, clock: Clock = utc_now) -> Self:
        """Open a case."""
        log = CaseLog.open(path)
        try:
            return cls(log, clock)
        except BaseException:
            log.close()
            raise

    @property
    def path(self) -> Path:
        return self._log.path

    @property
    def made(self) -> str:
        """When the case was made, UTC."""
        return self._log.made

    @property
    def last_event(self) -> int:
        """Number of the last event seen."""
        return self._present.events[-1].number

    @property
    def board(self) -> Board:
        return self._present.board

    @property
    def boards(self) -> tuple[str, ...]:
        """Texts of all boards that count, the present one last."""
        events = live(self._present.events)
        return tuple(str(event.data["text"]) for event in events if event.kind == BOARD)

    @property
    def told(self) -> Told:
        """Board text, meter, limits and readings as the log has them."""
        return self._present.told

    @property
    def world(self) -> Compiled:
        """The board compiled, when first asked for."""
        with self._lock:
            return self._present.world

    @property
    def session(self) -> Session:
        """Belief after all readings that count."""
        with self._lock:
            return self._present.session

    def refresh(self) -> bool:
        """Look at the log; True when somebody added to the case since it was last looked at."""
        with self._lock:
            events = self._log.events()
            if events == self._present.events:
                return False
            self._present = Present.of(events, self._compiled, self._present)
            return True

    def take_back(self, number: int | None = None, *, after: int | None = None) -> int:
        """Only write the undo down, and return the number of its event; see `undo`."""
        with self._lock:
            self.refresh()
            if number is None:
                number = next_undo(self._present.events)
                after = self.last_event if after is None else after
                if number == 1:
                    raise CaseError(f"{self.path}: expected something to take back, found nothing")
            return self._append(UNDO, {TAKES_BACK: self._takeable(number)}, after).number

    def take_back_after(self, number: int, *, after: int | None = None) -> int:
        """Take back everything that was done after an event, all at once, and return the number
        of the last undo. Raises as `undo` does."""
        with self._lock:
            self.refresh()
            if not 1 <= number <= self.last_event:
                raise CaseError(
                    f"expected an entry in the log (1 to {self.last_event}), got {number}"
                )
            later = [e.number for e in live(self._present.events) if e.number > number]
            if not later:
                raise CaseError(f"nothing after entry {number} counts, so nothing to take back")
            self._log.take_back_all(reversed(later), at=stamp(self._clock()), after=after)
            self.refresh()
            return self.last_event

    def photos(self) -> tuple[Photo, ...]:
        """The photos that count, with their markers."""
        with self._lock:
            self.refresh()
            return photos_of(live(self._present.events))

    def add_photo(self, data: bytes, *, side: str, words: str = "") -> int:
        """Keep a JPEG or PNG in the case, without what a camera writes beside the picture (place,
        time, owner), and return the number of its event. Raises CaseError for anything else."""
        picture = cleaned(data)
        event = photo_data(picture, side=side, words=words)
        self._log.attach(picture.data)
        return self.append(PHOTO, event)

    def mark_photo(self, photo: int, place: str, x: float, y: float) -> int:
        """Mark a part, pin or test point on a photo. Raises CaseError, PlaceError, UnknownName."""
        if all(photo != one.number for one in self.photos()):
            raise CaseError(f"expected the number of a photo of this case, got {photo}")
        if self.board.part(place) is None:
            self.world.place(place)
        return self.append(MARKER, marker_data(photo, place, x, y))

    def findings(self) -> tuple[Finding, ...]:
        """What captures showed, of which a picture was kept."""
        with self._lock:
            self.refresh()
            return findings_of(live(self._present.events))

    def add_finding(self, sentence: str, picture: Mapping[str, object], *, capture: str) -> int:
        """Keep what a capture shows, with its picture as :mod:`halfsplit.finding` has it, and
        return the number of its event."""
        data = json.dumps(picture).encode()
        drawn(data)
        sha256 = self._log.attach(data)
        event = finding_data(capture=capture, sentence=sentence, sha256=sha256)
        return self.append(FINDING, event)

    def attachment(self, sha256: str) -> bytes:
        """Bytes of a photo, or of a finding's picture. Raises CaseError."""
        return self._log.attachment(sha256)

    def archive(self, archived: bool = True) -> int:
        """Say that the case is done with, or is on the bench again; the event's number."""
        return self.append(ARCHIVE, {"archived": archived})

    def copy(self, into: str | os.PathLike[str]) -> None:
        """Copy the case to a file that must not exist yet. Raises CaseError."""
        self._log.copy(into)

    def append(self, kind: str, data: Mapping[str, Json], after: int | None = None) -> int:
        """Add an event and return its number; when this returns, it is on the disk."""
        return self._append(kind, data, after).number

    def close(self) -> None:
        """Close the case file; closing twice does no harm."""
        self._log.close()

    def _compiled(self, board: Board) -> Compiled:
        world = compiled(board)
        self._kept = amount(world)
        return world

    def _keep(self) -> None:
        """Keep predictions on disk when there are new ones."""
        if amount(self.world) > self._kept:
            keep(self.world)
            self._kept = amount(self.world)

    def _append(self, kind: str, data: Mapping[str, Json], after: int | None = None) -> Event:
        event = self._log.append(kind, data, at=stamp(self._clock()), after=after)
        self.refresh()
        return event

    def _takeable(self, number: int | None) -> int:
        if number == 1:
            raise CaseError("event 1 is the board the case began with; it stays")
        if number is None or not 1 < number <= self.last_event:
            there = f"2 to {self.last_event}" if self.last_event > 1 else "none yet"
            raise CaseError(f"expected the number of an entry in the log ({there}), got {number}")
        return number
