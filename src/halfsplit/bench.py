"""The bench: what a person can do with a case. Both faces use this and nothing below it.

With `OpenCase`, which it stands on, the only place where clock, files, log and diagnosis meet.
Belief is worked out from the log.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from halfsplit.album import MARKER, PHOTO
from halfsplit.board.opening import opened
from halfsplit.board.reader import read_board
from halfsplit.build.experienced import class_of
from halfsplit.checks.catalogue import make_check, parse_check
from halfsplit.checks.kind import Check, Limits, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.acceptance import PROVEN, Acceptance, acceptance
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.cures import known_suspect
from halfsplit.diagnose.entry import Entry
from halfsplit.diagnose.expected import Expected, expected_volts
from halfsplit.diagnose.explain import explain
from halfsplit.diagnose.halving import Halving, halvings
from halfsplit.diagnose.outlook import look_ahead
from halfsplit.diagnose.reasons import Change, RuledOut, ruled_out, would_change
from halfsplit.diagnose.rehearsal import answer, complaint, fault_named, hide_fault
from halfsplit.diagnose.told import (
    BOARD,
    CLOSED,
    LIMITS,
    METER,
    NOTE,
    READING,
    REPAIRED,
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
from halfsplit.diagnose.wider import considered
from halfsplit.errors import CaseError, ReadingError
from halfsplit.finding import FINDING
from halfsplit.opencase import Clock, OpenCase, compiled, utc_now
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.report.model import Record
from halfsplit.store.event import Event, Json, stamp
from halfsplit.store.experience import add as add_experience
from halfsplit.store.replay import UNDO, in_effect, target

__all__ = [
    "CASE_VARIABLE",
    "DEMO_VARIABLE",
    "NETWORK_VARIABLE",
    "Bench",
    "Clock",
    "Told",
    "compiled",
    "utc_now",
]

CASE_VARIABLE = "HALFSPLIT_CASE"
"""Environment variable that tells the page which case file it shows."""

DEMO_VARIABLE = "HALFSPLIT_DEMO"
"""Environment variable with the hidden fault's id when the page shows the demo, else not set."""

NETWORK_VARIABLE = "HALFSPLIT_NETWORK"
"""Environment variable with the pairing code, a blank, and the address of the page when it is open
to the local network, else not set."""

MOST_SUSPECTS = 5
"""Suspects shown beside the next checks."""

_WORDS = {
    NOTE: "text", REPAIRED: "suspect", FINDING: "sentence", PHOTO: "side", MARKER: "place",
}  # fmt: skip
"""Kind of event -> which of its data are words."""


class Bench(OpenCase):
    """An open case and what a person can ask of it and tell it."""

    def next(self, count: int = 5) -> NextView:
        """The verdict, at most ``count`` things to do, and the likeliest suspects."""
        with self._lock:
            self.refresh()
            session = self.session
            view = NextView(
                number=self.last_event,
                verdict=VerdictView(verdict=verdict(session)),
                suggestions=tuple(
                    SuggestionView(number=number, suggestion=one)
                    for number, one in enumerate(suggest(session, count), 1)
                ),
                suspects=tuple(
                    SuspectView(suspect=one)
                    for one in considered(session).suspects()[:MOST_SUSPECTS]
                ),
            )
            self._keep()
            return view

    def check(self, name: str) -> Check:
        """The check of an id, ``volts U3.6 @hold-A``. Raises ReadingError, PlaceError or
        UnknownName for what is no check of this board."""
        return parse_check(name, self.world)

    def enter(
        self, check: Check | str, text: str, *, count: int = 5, source: str = ""
    ) -> EnteredView:
        """Enter a reading as typed; ``check`` is one, or its id, ``source`` as `write` has it.

        Raises ReadingError when the check cannot understand it (and logs nothing), PlaceError and
        UnknownName for a check that this board does not have.
        """
        with self._lock:
            number = self.write(check, text, source=source)
            after = self.next(count)
            return EnteredView(entry=self._entry(number), next=after)

    def write(self, check: Check | str, text: str, *, source: str = "") -> int:
        """Only write a reading down, as `enter` does, and return the number of its event: quick,
        since what follows from it is worked out when it is asked for. ``source`` is the instrument
        or capture that it came from, such as ``meter bench``, when nobody typed it."""
        with self._lock:
            self.refresh()
            if isinstance(check, str):
                asked = self.check(check)
            else:
                asked = make_check(check.kind, check.places, check.state, self.world)
            reading = CHECKS.get(asked.kind).read(asked, text, self.world)
            return self._append(READING, reading_data(asked, reading, source)).number

    def note(self, text: str) -> EntryView:
        """Write a note into the log; it moves nothing. Raises ReadingError for an empty one."""
        if not text.strip():
            raise ReadingError("expected some words to note, got none")
        return self._logged(NOTE, {"text": text})

    def repaired(self, suspect: str) -> EntryView:
        """Say that a repair was done: readings from now on are of the board as it is then. Raises
        UnknownName for what is no suspect of this board."""
        with self._lock:
            self.refresh()
            known_suspect(self.world, suspect)
            return self._logged(REPAIRED, {"suspect": suspect})

    def acceptance(self) -> Acceptance | None:
        """What the case still needs after its last repair; ``None`` before the first."""
        with self._lock:
            self.refresh()
            return acceptance(self.session)

    def halvings(self) -> tuple[Halving, ...]:
        """The signal paths of the board, and how far readings have proven each good."""
        with self._lock:
            self.refresh()
            best = suggest(self.session, 1)
            check = best[0].check if best else None
            return halvings(self.session, check, look_ahead(self.session))

    def finish(self, *, unproven: bool = False) -> tuple[EntryView, tuple[str, str] | None]:
        """Close the case; what it was is counted among the owner's proven cases, and returned as
        kind of part and way of failing, when it is proven.

        Raises CaseError while the acceptance run is not complete, unless ``unproven``.
        """
        with self._lock:
            run = self.acceptance()
            if not unproven and (run is None or not run.closed):
                left = "; ".join((*run.wrong, *run.missing)[:3]) if run else "no repair was done"
                raise CaseError(f"expected a complete acceptance run to close the case: {left}")
            learned = None
            if not unproven and run and run.cause and run.probability >= PROVEN:
                learned = class_of(run.cause, self.world.board)
                add_experience(*learned)
            cause = run.cause.plain_id if run and run.cause else ""
            return self._logged(CLOSED, {"cause": cause, "proven": learned is not None}), learned

    def revise(self, board_text: str, *, source: str = "board") -> EntryView:
        """Go on with a corrected board; readings are kept. Raises BoardError."""
        compiled(read_board(board_text, PartsVocabulary(), source=source))
        return self._logged(BOARD, {"text": board_text, "source": source})

    def open_block(self, block: str, inside: str, *, source: str = "inside") -> EntryView:
        """Go on with the parts inside a block in its place; readings are kept, since its nets are.

        ``inside`` are lines of a board file. Raises UnknownName for what is no block, BoardError
        when the board cannot be used so or nothing is on a net that the block gave.
        """
        with self._lock:
            self.refresh()
            text = opened(self.board, block, inside, PartsVocabulary(), source=source)
            return self.revise(text, source=source)

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
            session = considered(self.session)
            ranked = session.suspects()[:count]
            reasons = {one.suspect: one for one in explain(session, len(ranked))}
            return tuple(
                SuspectView(suspect=one, reasons=reasons.get(one.suspect.id)) for one in ranked
            )

    def reasons(self) -> tuple[tuple[RuledOut, ...], tuple[Change, ...]]:
        """What readings have ruled out, and what would take the lead from the likeliest."""
        with self._lock:
            self.refresh()
            session = considered(self.session)
            return ruled_out(session), would_change(session, look_ahead(session))

    def log(self) -> tuple[EntryView, ...]:
        """Every event in order, with what was taken back and how surprising each reading was."""
        with self._lock:
            self.refresh()
            return self._views(self._present.events)

    def record(self) -> Record:
        """The repair record as the case stands."""
        with self._lock:
            self.refresh()
            from halfsplit.report.gather import gather

            return gather(self._present, verdict(self.session), case=self.path.stem)

    def expected(
        self, places: Sequence[str], states: Sequence[str] | None = None
    ) -> tuple[Expected, ...]:
        """DC volts of a good board at places in states (all powered ones unless given), and the
        faults that read otherwise. Raises PlaceError and UnknownName."""
        with self._lock:
            if states is None:
                states = [state.name for state in self.board.states if state.powered]
            return expected_volts(self.world, places, states, self.told.meter)

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

    def _logged(self, kind: str, data: Mapping[str, Json]) -> EntryView:
        with self._lock:
            event = self._append(kind, data)
            return self._entry(event.number)

    def _unit(self, check: Check) -> str:
        kinds = self.session.catalogue.kinds
        return kinds[check.kind].unit if check.kind in kinds else ""

    def _entry(self, number: int) -> EntryView:
        (view,) = self._views(event for event in self._present.events if event.number == number)
        return view

    def _views(self, events: Iterable[Event]) -> tuple[EntryView, ...]:
        """Events as they are shown; belief is worked out only where a reading is among them."""
        shown = tuple(events)
        weighed = any(event.kind == READING for event in shown)
        entries = {entry.number: entry for entry in self.session.entries} if weighed else {}
        counting = in_effect(self._present.events)
        return tuple(self._view(event, entries, counting) for event in shown)

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
            words=str(event.data.get(_WORDS.get(event.kind, ""), "")),
            surprise=entry.surprise if entry else None,
            counts=event.number in counting and not why_not,
            why_not=why_not,
            source=reading.source if reading else "",
        )
