"""Events of B cases in the order of time, with the DC engine saying what the pins read.

The gates' outputs are held, the analog circuit is solved around them, each gate reads its pins,
and what it makes of them comes out after its delay: so pull-ups, transistors between gates,
bridges, opens and weak outputs need no rules of their own. What is unknown is solved twice, once
low and once high. A pulse shorter than the delay dies in the gate (inertial delay).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import field

import numpy as np
import numpy.typing as npt

from halfsplit.build.events_gates import Gate, hold, next_bit
from halfsplit.build.events_shots import Shots
from halfsplit.frozen import dataclass
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.events_kleene import Maybe
from halfsplit.solve.law import Array
from halfsplit.solve.persistent import persist

__all__ = ["Walk"]

Index = npt.NDArray[np.intp]

_TICK = 1e-12
_MOST = 150
"""Moments without a pause after which what still moves is taken to oscillate."""
_TRIES = 3
_STIRRED = 1e-3
"""A gate looks again when one of its pins has moved by so much, V."""
_PAUSE = 1_000_000
"""Ticks without an event that count as a pause: a microsecond."""


@dataclass(frozen=True, slots=True, order=True)
class _Event:
    tick: int
    serial: int
    gate: int = field(compare=False)
    columns: Index = field(compare=False)
    level: Maybe = field(compare=False)
    enable: Maybe = field(compare=False)


class Walk:
    """B cases. ``level`` and ``enable`` (pairs of [G, B]) are what the gates give now; ``low``
    and ``high`` [N + 1, B] the volts that every node may have. ``lost`` [B] could not be solved,
    ``restless`` [B] never came to rest."""

    def __init__(
        self, circuit: Circuit, gates: Sequence[Gate], params: Sequence[Array], shots: Shots
    ) -> None:
        width, count = params[0].shape[2], len(gates)
        self.circuit, self.gates, self.params, self.shots = circuit, gates, params, shots
        unknown = np.ones((count, width), dtype=bool)
        self.level, self.enable = (unknown.copy(), unknown.copy()), (unknown.copy(), unknown.copy())
        self.target = [(unknown.copy(), unknown.copy()), (unknown.copy(), unknown.copy())]
        self.stamp = np.zeros((count, width), dtype=np.int64)
        bits = sum(gate.bit is not None for gate in gates)
        self.bits = np.ones((bits, width), dtype=bool), np.ones((bits, width), dtype=bool)
        self.before: list[tuple[Maybe, Maybe] | None] = [None] * bits
        self.low = np.zeros((circuit.size + 1, width))
        self.high = self.low.copy()
        self.lost = np.zeros(width, dtype=bool)
        self.restless = np.zeros(width, dtype=bool)
        self.solved = 0
        self.tick = 0
        self._queue: list[_Event] = []
        self._serial = 0

    @property
    def t(self) -> float:
        """Now, s."""
        return self.tick * _TICK

    def set(self, params: Sequence[Array]) -> None:
        """From now on these parameters hold, for all cases."""
        self.params = params
        self._look(np.flatnonzero(~self.lost), everything=True)

    def until(self, seconds: float) -> Iterator[float]:
        """Play all that happens before ``seconds``; yields each moment after it happened."""
        end = round(seconds / _TICK) if np.isfinite(seconds) else None
        busy = given_up = 0
        while self._queue and (end is None or self._queue[0].tick < end):
            busy = busy + 1 if self._queue[0].tick - self.tick < _PAUSE else 0
            if busy > _MOST:
                busy, given_up = 0, given_up + 1
                self._give_up(spread=given_up < _TRIES)
                continue
            self._happen()
            yield self.t
        if end is not None:
            self.tick = end

    def restart(self) -> None:
        """Time is nought."""
        self.tick = 0

    def _happen(self) -> None:
        self.tick = self._queue[0].tick
        changed = np.zeros(self.lost.size, dtype=bool)
        while self._queue and self._queue[0].tick == self.tick:
            event = heapq.heappop(self._queue)
            mine = self.stamp[event.gate, event.columns] == event.serial
            columns = event.columns[mine]
            for now, new in ((self.level, event.level), (self.enable, event.enable)):
                for side in (0, 1):
                    was = now[side][event.gate, columns]
                    changed[columns] |= was != new[side][mine]
                    now[side][event.gate, columns] = new[side][mine]
        self._look(np.flatnonzero(changed & ~self.lost))

    def _look(self, columns: Index, *, everything: bool = False) -> None:
        """Solve around the gates, and let each gate read its pins, if they moved."""
        if not columns.size:
            return
        before = self.low[:, columns], self.high[:, columns]
        self._solve(columns)
        moved = np.abs(self.low[:, columns] - before[0]).max(axis=1)
        moved = np.maximum(moved, np.abs(self.high[:, columns] - before[1]).max(axis=1)) > _STIRRED
        columns = columns[~self.lost[columns]]
        params = [p[:, :, columns] for p in self.params]
        low, high = self.low[:, columns], self.high[:, columns]
        for number, gate in enumerate(self.gates):
            still = not everything and not moved[gate.nodes[1:]].any()
            if still or gate.key in self.shots.outputs:
                continue
            inputs = gate.inputs(params, low, high)
            q = self._stored(gate, inputs, columns)
            level = gate.output(params, inputs, q)
            enable = gate.enabled(params, inputs, q)
            self.schedule(number, columns, level, enable, gate.delay)
        self.shots.look(self, params, low, high, columns)

    def _stored(self, gate: Gate, inputs: dict[str, Maybe], columns: Index) -> Maybe:
        if gate.bit is None:
            nothing = np.zeros(columns.size, dtype=bool)
            return ~nothing, nothing
        k = gate.bit.number
        was = self.bits[0][k, columns], self.bits[1][k, columns]
        kept = self.before[k]
        taken = None if kept is None else tuple((a[columns], b[columns]) for a, b in kept)
        new, seen = next_bit(gate.bit.rule, was, inputs, taken)  # type: ignore[arg-type]
        for side in (0, 1):
            self.bits[side][k, columns] = new[side]
        if kept is None:
            full = [np.ones((2, self.lost.size), dtype=bool) for _ in seen]
            kept = self.before[k] = ((full[0][0], full[0][1]), (full[1][0], full[1][1]))
        for old, now in zip(kept, seen, strict=True):
            for side in (0, 1):
                old[side][columns] = now[side]
        return new

    def schedule(
        self, gate: int, columns: Index, level: Maybe, enable: Maybe, delay: float
    ) -> None:  # fmt: skip
        """What gate number ``gate`` gives from ``delay`` seconds on; replaces what was to come."""
        differs = np.zeros(columns.size, dtype=bool)
        for target, new in zip(self.target, (level, enable), strict=True):
            for side in (0, 1):
                differs |= target[side][gate, columns] != new[side]
        if not differs.any():
            return
        self._serial += 1
        some = columns[differs]
        for target, new in zip(self.target, (level, enable), strict=True):
            for side in (0, 1):
                target[side][gate, some] = new[side][differs]
        self.stamp[gate, some] = self._serial
        self._push(gate, some, (level[0][differs], level[1][differs]),
                  (enable[0][differs], enable[1][differs]), delay, self._serial)  # fmt: skip

    def pulse(self, gate: int, columns: Index, level: bool, delay: float, seconds: Array) -> None:
        """Gate number ``gate`` gives ``level`` after ``delay``, for ``seconds`` [columns], then the
        other; replaces what was to come. A pulse without end stays."""
        self._serial += 1
        self.stamp[gate, columns] = self._serial
        ends = np.isfinite(seconds)
        for side, value in ((0, level == ends), (1, level != ends)):
            self.target[0][side][gate, columns] = value
            self.target[1][side][gate, columns] = side == 1
        self._push(gate, columns, *_known(level, columns.size), delay, self._serial)
        for width in np.unique(seconds[ends]):
            some = columns[seconds == width]
            self._push(gate, some, *_known(not level, some.size), delay + width, self._serial)

    def _push(
        self, gate: int, columns: Index, level: Maybe, enable: Maybe, delay: float, serial: int
    ) -> None:
        tick = self.tick + round(delay / _TICK)
        heapq.heappush(self._queue, _Event(tick, serial, gate, columns, level, enable))

    def _solve(self, columns: Index) -> None:
        level, enable = ((x[0][:, columns], x[1][:, columns]) for x in (self.level, self.enable))
        unsure = np.flatnonzero(
            (level[0] & level[1]).any(axis=0) | (enable[0] & enable[1]).any(axis=0)
        )
        taken = np.concatenate((columns, columns[unsure]))
        params = [p[:, :, taken] for p in self.params]
        held = np.concatenate((~level[0], level[1][:, unsure]), axis=1)  # unknown: 0, then 1
        on = np.concatenate((~enable[0], enable[1][:, unsure]), axis=1)
        hold(self.gates, params, held.astype(float), on.astype(float))
        guess = np.concatenate((self.low[:-1, columns], self.high[:-1, columns[unsure]]), axis=1)
        done, _ = persist(self.circuit, params, guess)
        self.solved += taken.size
        v = np.nan_to_num(done.v)
        self.low[:-1, columns] = v[:, : columns.size]
        self.high[:-1, columns] = v[:, : columns.size]
        self.high[:-1, columns[unsure]] = v[:, columns.size :]
        self.lost[taken[~done.resolved]] = True

    def _give_up(self, *, spread: bool) -> None:
        """What is still in the queue oscillates: its gates give an unknown level from now on.
        ``spread``: let the others know."""
        moving = np.zeros(self.lost.size, dtype=bool)
        for event in self._queue:
            mine = event.columns[self.stamp[event.gate, event.columns] == event.serial]
            moving[mine] = True
            for pair in (self.level, self.target[0]):
                for side in (0, 1):
                    pair[side][event.gate, mine] = True
        self.restless |= moving
        self._queue.clear()
        columns = np.flatnonzero(moving & ~self.lost)
        if spread:
            self._look(columns)
        elif columns.size:
            self._solve(columns)


def _known(level: bool, count: int) -> tuple[Maybe, Maybe]:
    """A level that is sure, and driven."""
    one = np.full(count, level)
    return (~one, one), (np.zeros(count, dtype=bool), np.ones(count, dtype=bool))
