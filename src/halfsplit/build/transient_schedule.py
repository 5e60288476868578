"""What drives a board over time: states one after another, each for a while.

Typed as ``rest 2ms, hold-A/hold-B/hold-C/hold-D x24 200Hz..600Hz, rest RUN=high 5ms``: states of
the board, or states in turn; how many of them; how long each, or how many a second (a ramp from
one rate to another, evenly over the count); nets, rails or parts set otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

import numpy as np

from halfsplit import units
from halfsplit.board.model import Board, Drive, State, Step
from halfsplit.errors import ScheduleError, UnitError, UnknownName
from halfsplit.frozen import dataclass

__all__ = ["Moment", "Phase", "Schedule", "Sine", "read_schedule"]

GAP = 10e-6
"""Seconds between the steps of one state (a pulse is high for so long), unless told."""
MOST_PHASES = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """A state of the board for ``seconds``, with ``drives`` set beside it or otherwise."""

    state: str
    seconds: float
    drives: tuple[Drive, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sine:
    """A rail that swings: ``offset`` + ``volts`` sin(2 pi ``hertz`` t), peak volts."""

    rail: str
    volts: float
    hertz: float
    offset: float = 0.0

    def at(self, t: float) -> float:
        """Volts at ``t`` seconds."""
        return float(self.offset + self.volts * np.sin(2.0 * np.pi * self.hertz * t))


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One step of a state at ``at`` seconds: everything that is set from then on."""

    at: float
    state: State
    step: Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """Phases in order; time begins when the board has settled in the first. ``gap`` seconds
    between the steps of one state."""

    phases: tuple[Phase, ...]
    sines: tuple[Sine, ...] = ()
    gap: float = GAP

    @property
    def seconds(self) -> float:
        """How long all of it takes."""
        return sum(phase.seconds for phase in self.phases)

    def moments(self, board: Board) -> tuple[Moment, ...]:
        """Every step; those of the first phase are at 0 or before, and settle. Raises UnknownName
        for a state the board lacks, ScheduleError for a phase too short for its steps."""
        if not self.phases:
            raise ScheduleError("expected at least one phase, such as: rest 5ms; got none")
        found: list[Moment] = []
        begin = 0.0
        for number, phase in enumerate(self.phases):
            state = board.state(phase.state)
            if state is None:
                raise UnknownName("state", phase.state, [s.name for s in board.states])
            needed = self.gap * (len(state.steps) - 1)
            if not number:
                times = [0.0] * len(state.steps)
            elif phase.seconds <= needed:
                raise ScheduleError(
                    f"{phase.state} has {len(state.steps)} steps and lasts "
                    f"{units.format_quantity(phase.seconds, 's')}: "
                    f"give it more than {units.format_quantity(needed, 's')}"
                )
            else:
                times = [begin + self.gap * k for k in range(len(state.steps))]
            found += [
                Moment(at=at, state=state, step=_with(step, phase.drives))
                for at, step in zip(times, state.steps, strict=True)
            ]
            begin += phase.seconds
        return tuple(found)


def read_schedule(text: str, sines: Sequence[Sine] = (), gap: float = GAP) -> Schedule:
    """The schedule typed. Raises :class:`ScheduleError`."""
    phases: list[Phase] = []
    for item in re.split(r"[,\n]", text):
        if item.strip():
            phases += _phases(item.split())
    if not phases:
        raise ScheduleError(f"expected phases such as: rest 2ms, hold-A 5ms; got {text!r}")
    return Schedule(phases=tuple(phases), sines=tuple(sines), gap=gap)


def _phases(words: Sequence[str]) -> Iterable[Phase]:
    states = words[0].split("/")
    count, drives = len(states), list[Drive]()
    seconds: Sequence[float] | None = None
    for word in words[1:]:
        if "=" in word:
            target, value = word.split("=", 1)
            drives.append(Drive(target=target, value=value))
        elif re.fullmatch(r"x[0-9]{1,6}", word):
            count = int(word[1:])
        elif seconds is None:
            seconds = _seconds(word)
        else:
            raise ScheduleError(f"expected NET=level or x8 beside {words[0]}, got {word!r}")
    if seconds is None:
        raise ScheduleError(
            f"expected how long {words[0]} lasts, such as 5ms or 400Hz, got {' '.join(words)!r}"
        )
    if not 0 < count <= MOST_PHASES:
        raise ScheduleError(f"expected x1 to x{MOST_PHASES}, got x{count}")
    rates = 1.0 / np.asarray(seconds)
    each = 1.0 / np.linspace(rates[0], rates[-1], count)
    for k in range(count):
        yield Phase(state=states[k % len(states)], seconds=float(each[k]), drives=tuple(drives))


def _seconds(word: str) -> Sequence[float]:
    """Durations at the first and the last of several phases."""
    parts = word.split("..")
    try:
        if word.casefold().endswith("hz"):
            found = [1.0 / units.parse(part, "Hz") for part in parts]
        else:
            found = [units.parse(part, "s") for part in parts]
    except (UnitError, ZeroDivisionError) as error:
        raise ScheduleError(f"expected a time or a rate such as 5ms or 400Hz, got {word!r}") from (
            error
        )
    if len(found) > 2 or min(found) <= 0.0:
        raise ScheduleError(
            f"expected a time, a rate, or a ramp such as 200Hz..600Hz, got {word!r}"
        )
    return found


def _with(step: Step, drives: Sequence[Drive]) -> Step:
    other = {drive.target for drive in drives}
    kept = tuple(drive for drive in step.drives if drive.target not in other)
    return Step(drives=(*kept, *drives))
