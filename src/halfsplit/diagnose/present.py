"""How a case is at present: its events, and what follows from them. No clock, no file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.told import RepairEntry, Told, tell
from halfsplit.errors import PlaceError, UnknownName
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.store.event import Event
from halfsplit.store.replay import live

__all__ = ["Present"]

Compile = Callable[[Board], Compiled]


@dataclass(slots=True, kw_only=True, eq=False)
class Present:
    """Worked out on demand, once; a later one takes over from an earlier what still holds.

    ``left_out`` gives the number of each reading that moves nothing though nobody took it back,
    and why: its place or state is no longer on the board.
    """

    events: tuple[Event, ...]
    told: Told
    board: Board
    compile: Compile
    left_out: Mapping[int, str] = field(default_factory=dict)
    _world: Compiled | None = None
    _catalogue: Catalogue | None = None
    _session: Session | None = None

    @classmethod
    def of(
        cls, events: tuple[Event, ...], compile_: Compile, before: Present | None = None
    ) -> Present:
        """The present of a log with these events; ``before`` is the present of an earlier look.

        Raises BoardError and CaseError for a log that does not hold a case.
        """
        told = tell(live(events))
        if before is None or told.board_text != before.told.board_text:
            board = read_board(told.board_text, PartsVocabulary(), source=told.source)
            return cls(events=events, told=told, board=board, compile=compile_)
        after = cls(
            events=events,
            told=told,
            board=before.board,
            compile=compile_,
            _world=before._world,
            _catalogue=before._catalogue,
        )
        after._take_over(before)
        return after

    @property
    def world(self) -> Compiled:
        """The board compiled."""
        if self._world is None:
            self._world = self.compile(self.board)
        return self._world

    @property
    def session(self) -> Session:
        """Belief after all readings that count."""
        if self._session is None:
            told = self.told
            start = Session.start(self.world, told.meter, told.limits, catalogue=self._catalogue)
            self._catalogue = start.catalogue
            self._enter(start, 0)
        assert self._session is not None
        return self._session

    def _take_over(self, before: Present) -> None:
        """Enter only the new readings, where those before are the same."""
        known, told = before.told.readings, self.told
        same = (
            told.meter == before.told.meter
            and told.readings[: len(known)] == known
            and told.repairs == before.told.repairs
        )
        if before._session is not None and same:
            self.left_out = before.left_out
            self._enter(before._session.within(told.limits), len(known))

    def _enter(self, session: Session, first: int) -> None:
        left_out = dict(self.left_out)
        repairs = list(self.told.repairs[len(session.done) :])
        for one in self.told.readings[first:]:
            while repairs and repairs[0].number < one.number:
                session = self._repair(session, repairs.pop(0), left_out)
            try:
                session = session.enter(one.check, one.reading, number=one.number)
            except (PlaceError, UnknownName) as error:
                left_out[one.number] = str(error)
        for repair in repairs:
            session = self._repair(session, repair, left_out)
        self._session, self.left_out = session, left_out

    @staticmethod
    def _repair(session: Session, repair: RepairEntry, left_out: dict[int, str]) -> Session:
        try:
            return session.repaired(repair.suspect)
        except UnknownName as error:
            left_out[repair.number] = str(error)
            return session
