"""The ledger of steps: time, direction, rate and position of each; moves; what was out of turn."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.waves.follow import hidden
from halfsplit.waves.line import Codes
from halfsplit.waves.recognise import Recognised
from halfsplit.waves.sequences import code_text

__all__ = ["Ledger", "Move", "Oddity", "Step", "ledger"]

PAUSE = 5.0
"""Usual steps without a step that end a move (judgement)."""

AT_SPEED = 0.9
"""Part of the top rate from which a ramp counts as over (judgement)."""

BRIEF = 2.5
"""Usual steps; coils off, or all on, for less in the midst of a move is no rest (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """``direction`` is 1 or -1 along the ring, 0 where it cannot be told; ``moved`` how many
    positions (more than 1: some were skipped); ``position`` counts from 0 at the beginning;
    ``rate`` per second since the step before in the same move, not-a-number for its first;
    ``skipped``: positions were left out; ``restart``: after coils briefly off or all on in the
    midst of a move."""

    time: float
    direction: int
    moved: int
    position: int
    rate: float
    code: str
    move: int
    skipped: bool = False
    restart: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """Steps without a pause: ``first`` and ``last`` (s), ``steps`` made, ``net`` positions,
    ``start_rate`` and ``top_rate`` (1/s; not-a-number for one step), ``ramp`` steps until the top
    rate, ``settle`` (s) for which the coils held after the last step."""

    first: float
    last: float
    steps: int
    net: int
    start_rate: float
    top_rate: float
    ramp: int
    settle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Oddity:
    """Something out of turn: ``kind`` is ``illegal`` (a code the sequence does not have there),
    ``skipped`` (positions left out), ``restart``, ``late`` (to release, for ``span``) or
    ``glitch``; ``lines`` concerned by name."""

    kind: str
    time: float
    span: float
    code: str
    expected: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All steps, moves and oddities in order of time; ``restarts_at`` has the position in the ring
    at which each oddity of the walk (a skip or a restart) landed."""

    steps: tuple[Step, ...]
    moves: tuple[Move, ...]
    oddities: tuple[Oddity, ...]
    restarts_at: tuple[int, ...]

    @property
    def forward(self) -> int:
        """Positions moved along the ring."""
        return sum(step.moved for step in self.steps if step.direction > 0)

    @property
    def backward(self) -> int:
        """Positions moved the other way."""
        return sum(step.moved for step in self.steps if step.direction < 0)


def ledger(found: Recognised) -> Ledger:
    """Write the ledger of a recognised record."""
    steps, landed = _steps(found)
    odd = [*_illegal(found), *_late(found), *_out_of_turn(steps), *_glitches(found)]
    return Ledger(
        steps=steps,
        moves=_moves(found, steps),
        oddities=tuple(sorted(odd, key=lambda one: one.time)),
        restarts_at=landed,
    )


def _steps(found: Recognised) -> tuple[tuple[Step, ...], tuple[int, ...]]:
    """The steps, and the positions in the ring where those that are out of turn landed."""
    states, walk, usual = found.states, found.walk, found.tidy.step
    size = len(found.best.sequence.codes)
    running = np.flatnonzero(~walk.resting)
    steps: list[Step] = []
    landed: list[int] = []
    position, way = 0, 1
    for before, k in pairwise(running.tolist()):
        at, time = int(walk.positions[k]), float(states.times[k])
        idle = time - float(states.times[before + 1]) if k > before + 1 else 0.0
        restart = 0.0 < idle < BRIEF * usual
        moved, direction = _signed(at - int(walk.positions[before]), size, way)
        if moved == 0 and not restart:
            continue
        way = direction or way
        position += moved
        held = float(states.times[before + 1] - states.times[before]) / usual
        skipped = abs(moved) > 1 and not hidden(abs(moved), held)
        gap = time - steps[-1].time if steps else np.inf
        fresh = gap > PAUSE * usual * max(1, abs(moved))
        steps.append(
            Step(
                time=time,
                direction=direction,
                moved=abs(moved),
                position=position,
                rate=float("nan") if fresh else max(1, abs(moved)) / gap,
                code=code_text(int(states.codes[k]), len(states.names)),
                move=(steps[-1].move + int(fresh)) if steps else 0,
                skipped=skipped,
                restart=restart,
            )
        )
        if skipped or restart:
            landed.append(at)
    return tuple(steps), tuple(landed)


def _signed(moved: int, size: int, way: int) -> tuple[int, int]:
    """The shortest way round with its direction; half of the ring has none, and goes on as it
    went."""
    moved %= size
    if moved == 0:
        return 0, 0
    if 2 * moved == size:
        return moved * way, 0
    return (moved, 1) if 2 * moved < size else (moved - size, -1)


def _moves(found: Recognised, steps: tuple[Step, ...]) -> tuple[Move, ...]:
    states, walk = found.states, found.walk
    result = []
    for number in range(steps[-1].move + 1 if steps else 0):
        own = [step for step in steps if step.move == number]
        after = [step.time for step in steps if step.move > number]
        end = after[0] if after else states.stop
        rests = states.times[walk.resting & (states.times > own[-1].time)]
        if len(rests):
            end = min(end, float(rests[0]))
        rates = np.array([step.rate for step in own[1:]])
        top = float(rates.max()) if len(rates) else float("nan")
        result.append(
            Move(
                first=own[0].time,
                last=own[-1].time,
                steps=sum(step.moved for step in own),
                net=own[-1].position - own[0].position + own[0].direction * own[0].moved,
                start_rate=float(rates[0]) if len(rates) else float("nan"),
                top_rate=top,
                ramp=int(np.argmax(rates >= AT_SPEED * top)) if len(rates) else 0,
                settle=end - own[-1].time,
            )
        )
    return tuple(result)


def _illegal(found: Recognised) -> list[Oddity]:
    """Codes that a whole line set would not show at that position."""
    states, walk = found.states, found.walk
    shown, off, on = replace(found.best, fault="", lines=()).shown()
    expected: Codes = np.where(walk.resting, off, shown[walk.positions])
    lines = len(states.names)
    wrong = (states.codes != expected) & ~(walk.resting & (states.codes == on))
    return [
        Oddity(
            kind="illegal",
            time=float(states.times[k]),
            span=float(states.spans[k]),
            code=code_text(int(states.codes[k]), lines),
            expected=code_text(int(expected[k]), lines),
            lines=tuple(
                name
                for i, name in enumerate(states.names)
                if (int(states.codes[k]) ^ int(expected[k])) >> i & 1
            ),
        )
        for k in np.flatnonzero(wrong)
    ]


def _late(found: Recognised) -> list[Oddity]:
    """Where a line that releases late was still on."""
    result = []
    for line, recorded in zip(found.tidy.lines, found.recorded, strict=True):
        if found.best.fault == "late" and len(line.edges) == len(recorded.edges):
            by = recorded.edges - line.edges
            result += [
                Oddity(
                    kind="late", time=float(line.edges[k]), span=float(by[k]), code="",
                    expected="", lines=(line.name,),
                )
                for k in np.flatnonzero(by > 0)
            ]  # fmt: skip
    return result


def _out_of_turn(steps: tuple[Step, ...]) -> list[Oddity]:
    return [
        Oddity(
            kind="restart" if step.restart else "skipped",
            time=step.time, span=0.0, code=step.code, expected="", lines=(),
        )
        for step in steps
        if step.restart or step.skipped
    ]  # fmt: skip


def _glitches(found: Recognised) -> list[Oddity]:
    return [
        Oddity(
            kind="glitch", time=begin, span=end - begin, code="", expected="", lines=(line.name,)
        )
        for line, glitches in zip(found.tidy.lines, found.tidy.glitches, strict=True)
        for begin, end in glitches.tolist()
    ]
