"""Whether what a stage gives is good, told by a person who looks at it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.build.blocks import by_volts, driver, volts_of
from halfsplit.build.world import World
from halfsplit.checks._answers import read_number
from halfsplit.checks._base import Kind
from halfsplit.checks._places import powered_states
from halfsplit.checks._right import known_values, right, tolerance
from halfsplit.checks._vague import with_else
from halfsplit.checks._words import is_nothing, read_word, said_column, shorten
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import ReadingError
from halfsplit.parts.block import KIND as KIND_OF_BLOCK
from halfsplit.parts.block import PULSES, block_outputs
from halfsplit.solve.law import Array

__all__ = ["GOOD", "KIND", "Signal"]

GOOD, BAD = "good", "bad"
SLIP = 0.003
"""A good signal called bad, or a bad one good (judgement, no source)."""
_FIVE_VOLTS, _LOW, _HIGH = 6.0, 0.3, 0.6
"""Blocks that give more than the first, V, are read by these shares of it: about a third and two
thirds, as inputs of the 4000 series take them (family data sheets, from memory)."""
_Span = tuple[float, float]
_JUDGED = {
    **dict.fromkeys(
        ("right", "ok", "okay", "fine", "yes", "as expected", "correct", "present", "clean",
         "looks good", "looks right"),
        GOOD,
    ),
    **dict.fromkeys(
        ("wrong", "no", "not right", "not good", "faulty", "missing", "distorted", "garbage",
         "noisy", "noise", "weak", "too small", "dead", "nothing", "no signal", "none", "flat",
         "stuck", "looks wrong"),
        BAD,
    ),
    GOOD: GOOD, BAD: BAD,
}  # fmt: skip
_SEEN = {
    **dict.fromkeys(("low", "lo", "l", "stuck low", "held low", "at ground"), "low"),
    **dict.fromkeys(("high", "hi", "h", "stuck high", "held high", "at the rail"), "high"),
    **dict.fromkeys(
        (PULSES, "pulsing", "toggles", "toggling", "clocking", "running", "moves", "alive",
         "active", "activity", "a square wave", "square wave"),
        PULSES,
    ),
}  # fmt: skip


class Signal(Kind):
    """Offered for every net that a block gives, in every powered state."""

    name = "signal"
    title = "what a stage gives"
    help = (
        "By whatever shows it: ear, eye, scope, probe or meter. Good or bad is enough; where the "
        "state says what is expected, a level, volts or `pulses` will do. Bad means that this "
        "stage or one before it is at fault; good clears them all."
    )
    takes = "place"
    stateful = True
    words = {  # noqa: RUF012 - declared in Kind
        GOOD: "as it should be in this state",
        BAD: "dead, stuck, or anything else",
    }
    usual_setup = "powered"
    usual_minutes = 1.0

    def offers(self, world: World) -> Sequence[Check]:
        board = world.board
        found = []
        for state in powered_states(world):
            known = known_values(board, state)
            found += [
                Check(kind=self.name, places=(f"net {net}",), state=state)
                for net in board.nets()
                if driver(board, net) and not by_volts(board, net, known)
            ]
        return found

    def sentence(self, check: Check, world: World) -> str:
        expected = self.expected(check, world, Meter())
        asked = "is it good?" if expected == GOOD else f"is it {expected}, or what is it?"
        return f"Look at {_named(check, world)} with the board in state {check.state}: {asked}"

    def read(self, check: Check, text: str, world: World) -> Reading:
        said = " ".join(text.split()).strip(" .!;").casefold()
        wanted = known_values(world.board, check.state).get(_net(check, world), "")
        if said in _SEEN:
            if wanted not in ("low", "high", PULSES):
                raise ReadingError(
                    f"cannot tell whether {shorten(text)} is right at {check.places[0]}: state "
                    f"{check.state} does not say what it should be; answer good or bad"
                )
            return Reading(text=text, word=GOOD if _SEEN[said] == wanted else BAD)
        what = f"what is seen at {check.places[0]}"
        if is_nothing(text) or said in _JUDGED:
            return read_word(text, _JUDGED, what=what)
        try:
            volts = read_number(text, "V", over=False, what=what)
        except ReadingError:
            return read_word(text, _JUDGED, what=what)
        return self._judged(check, volts, world)

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        return [Outcomes(labels=(GOOD, BAD), p=_rows(check, world)) for check in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        return said_column(with_else(_rows(check, world), np.full(2, 0.5)), reading, self.words)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        wanted = known_values(world.board, check.state).get(_net(check, world), GOOD)
        return GOOD if wanted == "open" else wanted

    def _judged(self, check: Check, said: Reading, world: World) -> Reading:
        """Volts, held against what the state says or a good board reads; a span that is right in
        part tells nothing, nor does what is between two levels."""
        low = said.value if said.value is not None else said.low
        high = said.value if said.value is not None else said.high
        least, most = -np.inf if low is None else low, np.inf if high is None else high
        sure, possible = self._spans(check, said.text, world)
        if least > possible[1] or most < possible[0]:
            return replace(said, word=BAD)
        if least >= sure[0] and most <= sure[1]:
            return replace(said, word=GOOD)
        return Reading(text=said.text, nothing=True)

    def _spans(self, check: Check, said: str, world: World) -> tuple[_Span, _Span]:
        """Volts that are surely right, and volts that may be."""
        net, known = _net(check, world), known_values(world.board, check.state)
        part, wanted = driver(world.board, net), volts_of(world.board, net, known)
        if part and known.get(net) in ("low", "high"):
            low, high = world.thresholds(net)
            top = KIND_OF_BLOCK.levels(part)[1]
            if top > _FIVE_VOLTS:
                low, high = _LOW * top, _HIGH * top
            if known[net] == "low":
                return (-np.inf, low), (-np.inf, high)
            return (high, np.inf), (low, np.inf)
        if wanted is None and part:
            raise ReadingError(
                f"cannot tell whether {shorten(said)} is right at {check.places[0]}: state "
                f"{check.state} gives it no voltage; answer good or bad"
            )
        if wanted is None:
            wanted = float(world.volts(check.state, [f"net {net}"]).mean[0, 0])
        width = tolerance(wanted)
        if part and "tolerance" in part.fields:
            width = KIND_OF_BLOCK.number(part, "tolerance") / 100.0 * abs(wanted)
        return (wanted - width, wanted + width), (wanted - width, wanted + width)


def _rows(check: Check, world: World) -> Array:
    """[F, 2] good and bad."""
    good = right(world, check.state, _net(check, world))
    seen = SLIP + (1.0 - 2.0 * SLIP) * good
    return np.stack((seen, 1.0 - seen), axis=1)


def _net(check: Check, world: World) -> str:
    return world.place(check.places[0]).net


def _named(check: Check, world: World) -> str:
    net = _net(check, world)
    part = driver(world.board, net)
    if part is None:
        return f"net {net}"
    title = f" ({part.fields['title']})" if part.fields.get("title") else ""
    which = "an output" if len(block_outputs(part)) > 1 else "the output"
    return f"net {net}, {which} of {part.designator}{title}"


KIND = Signal()
