"""The bench: what a person can do with a case. Both faces use this and nothing below it.

The only place where clock, files, log and diagnosis meet. Belief is worked out from the log; what
is kept in memory is a copy, brought up to date whenever somebody else added to the case.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from threading import RLock
from types import TracebackType
from typing import Self

from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.build.cache import amount, compile_kept, keep
from halfsplit.build.compiled import Compiled
from halfsplit.checks.catalogue import make_check, parse_check
from halfsplit.checks.kind import Check, Limits, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.choose import Suggestion, suggest
from halfsplit.diagnose.expected import Expected, expected_volts
from halfsplit.diagnose.explain import explain
from halfsplit.diagnose.outlook import look_ahead
from halfsplit.diagnose.present import Present
from halfsplit.diagnose.rehearsal import answer, complaint, fault_named, hide_fault
from halfsplit.diagnose.session import Entry, Session
from halfsplit.diagnose.told import (
    BOARD,
    LIMITS,
    METER,
    NOTE,
    READING,
    Told,
    limits_data,
    meter_data,
    reading_data,
    reading_of,
)
from halfsplit.diagnose.verdict import verdict
from halfsplit.diagnose.views import (
    EnteredView,
    EntryView,
    NextView,
    SuggestionView,
    SuspectView,
    VerdictView,
)
from halfsplit.errors import CaseError, ReadingError, UnknownName
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.store.event import Event, Json, stamp
from halfsplit.store.log import CaseLog
from halfsplit.store.replay import TAKES_BACK, UNDO, in_effect, next_undo, target

__all__ = ["CASE_VARIABLE", "DEMO_VARIABLE", "Bench", "Clock", "Told", "compiled", "utc_now"]

CASE_VARIABLE = "HALFSPLIT_CASE"
"""Environment variable that tells the page which case file it shows."""

DEMO_VARIABLE = "HALFSPLIT_DEMO"
"""Environment variable with the hidden fault's id when the page shows the demo, else not set."""

MOST_SUSPECTS = 5
"""Suspects shown beside the next checks."""

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """The moment, UTC."""
    return datetime.now(UTC)


def compiled(board: Board) -> Compiled:
    """The world of a board, with the predictions of earlier runs where there are some."""
    return compile_kept(board)


class Bench:
    """An open case. Use as a context manager, or `close` it. Threads may share one.

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
        """Make a new case at ``path`` with a board. ``source`` names it in messages.

        Raises BoardError for a board that cannot be used (and makes no file), CaseError when
        there is a file already.
        """
        compiled(read_board(board_text, PartsVocabulary(), source=source))
        at = stamp(clock())
        data: dict[str, Json] = {"text": board_text, "source": source}
        first = Event(number=1, at=at, kind=BOARD, data=data)
        return cls(CaseLog.create(path, at=at, events=[first]), clock)

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
    def last_event(self) -> int:
        """Number of the last event seen."""
        return self._present.events[-1].number

    @property
    def board(self) -> Board:
        return self._present.board

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

    def next(self, count: int = 5) -> NextView:
        """The verdict, at most ``count`` things to do, and the likeliest suspects."""
        with self._lock:
            self.refresh()
            session = self.session
            outlook = look_ahead(session)
            view = NextView(
                number=self.last_event,
                verdict=VerdictView(verdict=verdict(session, outlook)),
                suggestions=tuple(
                    SuggestionView(number=number, suggestion=one)
                    for number, one in enumerate(suggest(session, count, outlook), 1)
                ),
                suspects=tuple(
                    SuspectView(suspect=one) for one in session.suspects()[:MOST_SUSPECTS]
                ),
            )
            self._keep()
            return view

    def check(self, name: str) -> Check:
        """The check of an id, ``volts U3.6 @hold-A``. Raises ReadingError, PlaceError or
        UnknownName for what is no check of this board."""
        return parse_check(name, self.world)

    def enter(self, check: Check | str, text: str, *, count: int = 5) -> EnteredView:
        """Enter a reading as typed; ``check`` is one, or its id.

        Raises ReadingError when the check cannot understand it (and logs nothing), PlaceError and
        UnknownName for a check that this board does not have.
        """
        with self._lock:
            number = self.write(check, text)
            after = self.next(count)
            return EnteredView(entry=self._entry(number), next=after)

    def write(self, check: Check | str, text: str) -> int:
        """Only write a reading down, as `enter` does, and return the number of its event: quick,
        since what follows from it is worked out when it is asked for."""
        with self._lock:
            self.refresh()
            if isinstance(check, str):
                asked = self.check(check)
            else:
                asked = make_check(check.kind, check.places, check.state, self.world)
            reading = CHECKS.get(asked.kind).read(asked, text, self.world)
            return self._append(READING, reading_data(asked, reading)).number

    def note(self, text: str) -> EntryView:
        """Write a note into the log; it moves nothing. Raises ReadingError for an empty one."""
        if not text.strip():
            raise ReadingError("expected some words to note, got none")
        return self._logged(NOTE, {"text": text})

    def revise(self, board_text: str, *, source: str = "board") -> EntryView:
        """Go on with a corrected board; readings are kept. Raises BoardError."""
        compiled(read_board(board_text, PartsVocabulary(), source=source))
        return self._logged(BOARD, {"text": board_text, "source": source})

    def set_limits(self, limits: Limits) -> EntryView:
        """Leave out kinds of check and setups from now on."""
        return self._logged(LIMITS, limits_data(limits))

    def set_meter(self, meter: Meter) -> EntryView:
        """Say what the owner's meter is like; earlier readings are weighed anew."""
        return self._logged(METER, meter_data(meter))

    def undo(self, number: int | None = None, *, after: int | None = None) -> EntryView:
        """Take back an event, the last one that counts unless ``number`` says which.

        Taking back an undo brings its event back. ``after`` is the last event the person saw:
        ConflictError when there are later ones. Raises CaseError when there is nothing to take
        back, or it is the board the case began with. Returns the undo's own entry.
        """
        with self._lock:
            return self._entry(self.take_back(number, after=after))

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

    def redo(self, *, after: int | None = None) -> EntryView:
        """Bring back what the last undo took back, unless something new was done since."""
        with self._lock:
            event = self._log.redo(at=stamp(self._clock()), after=after)
            self.refresh()
            return self._entry(event.number)

    def suspects(self, count: int | None = None) -> tuple[SuspectView, ...]:
        """Suspects, likeliest first, with the readings that raised or lowered them."""
        with self._lock:
            self.refresh()
            ranked = self.session.suspects()[:count]
            reasons = {one.suspect: one for one in explain(self.session, len(ranked))}
            return tuple(
                SuspectView(suspect=one, reasons=reasons.get(one.suspect.id)) for one in ranked
            )

    def log(self) -> tuple[EntryView, ...]:
        """Every event in order, with what was taken back and how surprising each reading was."""
        with self._lock:
            self.refresh()
            entries = {entry.number: entry for entry in self.session.entries}
            counting = in_effect(self._present.events)
            return tuple(self._view(event, entries, counting) for event in self._present.events)

    def expected(
        self, places: Sequence[str], states: Sequence[str] | None = None
    ) -> tuple[Expected, ...]:
        """DC volts of a good board at places in states (all powered ones unless given), and the
        faults that read otherwise. Raises PlaceError and UnknownName."""
        with self._lock:
            if states is None:
                states = [state.name for state in self.board.states if state.powered]
            return expected_volts(self.world, places, states, self.told.meter)

    def suggestion(self, number: int) -> Suggestion:
        """The suggestion that `next` gives that number now. Raises UnknownName."""
        found = self.next(max(number, 5)).suggestions
        if not 1 <= number <= len(found):
            known = [str(one.number) for one in found]
            raise UnknownName("number of a suggestion", str(number), known)
        return found[number - 1].suggestion

    def hide_fault(self, seed: int) -> str:
        """For the demo: id of a fault that the outputs show, drawn by how likely it is."""
        with self._lock:
            return hide_fault(self.session.catalogue, seed).id

    def complain(self, fault: str) -> int | None:
        """For the demo: enter as a symptom what an owner would say of that fault; the event's
        number, ``None`` when no output shows it. Raises UnknownName."""
        with self._lock:
            said = complaint(fault_named(fault, self.world), self.session.catalogue)
            return self.write(*said) if said else None

    def rehearse(self, fault: str, check: Check) -> str:
        """For the demo: what would be typed for a check if the board had that fault, by our own
        prediction. Raises UnknownName."""
        with self._lock:
            return answer(check, fault_named(fault, self.world), self.session.catalogue)

    def close(self) -> None:
        """Close the case file; closing twice does no harm."""
        self._log.close()

    def __enter__(self) -> Self:
        """Return the bench itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the case file."""
        self.close()

    def _compiled(self, board: Board) -> Compiled:
        world = compiled(board)
        self._kept = amount(world)
        return world

    def _keep(self) -> None:
        """Keep predictions on disk when there are new ones."""
        if amount(self.world) > self._kept:
            keep(self.world)
            self._kept = amount(self.world)

    def _logged(self, kind: str, data: Mapping[str, Json]) -> EntryView:
        with self._lock:
            event = self._append(kind, data)
            return self._entry(event.number)

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

    def _unit(self, check: Check) -> str:
        kinds = self.session.catalogue.kinds
        return kinds[check.kind].unit if check.kind in kinds else ""

    def _entry(self, number: int) -> EntryView:
        return next(entry for entry in self.log() if entry.number == number)

    def _view(
        self, event: Event, entries: Mapping[int, Entry], counting: frozenset[int]
    ) -> EntryView:
        why_not = self._present.left_out.get(event.number, "")
        entry = entries.get(event.number)
        reading = reading_of(event) if event.kind == READING else None
        return EntryView(
            number=event.number,
            at=event.at,
            kind=event.kind,
            data=event.data,
            check=reading.check if reading else None,
            reading=reading.reading if reading else None,
            unit=self._unit(reading.check) if reading else "",
            takes_back=target(event) if event.kind == UNDO else None,
            words=str(event.data.get("text", "")) if event.kind == NOTE else "",
            surprise=entry.surprise if entry else None,
            counts=event.number in counting and not why_not,
            why_not=why_not,
        )
