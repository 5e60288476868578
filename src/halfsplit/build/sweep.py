"""One state, every fault: walk the steps of the state for all cases at once.

Faults are parameter changes laid over the state's. The healthy board is walked first; its
solutions are the guesses of the faults. Faults that change the same parameters alike (an open
joint, a broken track and an open socket contact at one pin) are solved once. Tolerances enter to
first order around each solution, and in full where that is not enough (``tolerance``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from halfsplit.build.aim import aimed
from halfsplit.build.assemble import Assembly
from halfsplit.build.clocking import Bits
from halfsplit.build.edges import Levels, columns_of, hold, holding, over_edges, turned_levels
from halfsplit.build.overlays import Overlays, lay_over, layer
from halfsplit.build.overload import BETWEEN, driven_hard
from halfsplit.build.parameters import (
    Overlay,
    base_parameters,
    sample_deviations,
    take_columns,
)
from halfsplit.build.power_on import empty_capacitors
from halfsplit.build.restless import unrest
from halfsplit.build.severity import Versions
from halfsplit.build.tolerance import Drawn, Tolerances
from halfsplit.build.two_ways import Cases, two_ways
from halfsplit.build.walk import Settled, Walk
from halfsplit.build.watched import Watched
from halfsplit.frozen import dataclass
from halfsplit.solve.engine import Linear
from halfsplit.solve.hysteresis import other_side
from halfsplit.solve.law import Array
from halfsplit.solve.loops import gate_loops, let_fall, turned
from halfsplit.solve.persistent import persist

__all__ = ["CHUNK", "StateResult", "Sweep"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]

CHUNK = 512
"""Cases solved together: what fits the cache."""
_TURNS = 8
_TURNED, _STIRRED = 1.0, 0.3
"""Volts: a version of a fault that moves some node by the first turns something over; a fault
that moves a pin of a clocked element by the second may change what it stores."""
_DIFFERENT = 0.3
"""Two solutions of a latch are at least so far apart somewhere, V."""


@dataclass(frozen=True, slots=True)
class StateResult:
    """Node voltages of all F faults in one state.

    ``nominal`` [N, F], ``spread`` [N, F] one standard deviation by tolerance, ``other`` [N, F] a
    second stable solution, ``other_spread`` [N, F] that about it, both else not-a-number, ``ohms``
    and ``other_ohms`` [N, F] source resistance at either, ``resolved`` [F];
    ``currents`` and ``other_currents`` [K, F] into the first terminal of the K watched elements,
    ``flow`` [K, F] one standard deviation of them by not knowing how bad a fault is.
    """

    nominal: Array
    spread: Array
    other: Array
    other_spread: Array
    ohms: Array
    other_ohms: Array
    resolved: Mask
    currents: Array
    other_currents: Array
    flow: Array


class Sweep:
    """Solves states of one assembly for a fixed list of faults; fault 0 changes nothing. ``unsure``
    has the milder and the worse version of each. What one ``like`` it, of the same assembly, knows
    of the good board is shared."""

    def __init__(
        self,
        assembly: Assembly,
        faults: Sequence[Overlay],
        unsure: Mapping[Overlay, Versions],
        watched: Sequence[tuple[str, str]] = (),
        like: Sweep | None = None,
    ) -> None:
        self.assembly, self.circuit = assembly, assembly.circuit
        self.watched = Watched(self.circuit, [self.circuit.where[key] for key in watched])
        self.loops = gate_loops(self.circuit)
        self.sides = (1.0, -1.0) if self.loops else (1.0,)
        distinct = list(dict.fromkeys(faults))
        place = {what: k for k, what in enumerate(distinct)}
        self.distinct = distinct
        self.row_of = np.asarray([place[what] for what in faults], dtype=np.intp)
        self.versions = unsure
        self._good: dict[tuple[Overlay, ...], tuple[list[Walk], Drawn]] = {}
        self._empty: Overlay | None = None if like is None else like._empty
        if like is None:
            self.nominal = base_parameters(self.circuit, sample_deviations(assembly, 1))
            self.tolerances = Tolerances(assembly)
        else:
            self.nominal, self.tolerances, self._good = like.nominal, like.tolerances, like._good

    def state(self, steps: Sequence[Overlay]) -> StateResult:
        """Walk ``steps`` (all that each sets) for every fault."""
        steps = self._from_power_on(self._aimed(steps))
        good, drawn = self._of_good(tuple(steps))
        parts = [
            self._chunk(steps, self.distinct[start : start + CHUNK], good, drawn)
            for start in range(0, len(self.distinct), CHUNK)
        ]
        joined = [np.concatenate(column, axis=-1) for column in zip(*parts, strict=True)]
        return StateResult(*(np.take(array, self.row_of, axis=-1) for array in joined))

    def _of_good(self, steps: tuple[Overlay, ...]) -> tuple[list[Walk], Drawn]:
        """The good board after ``steps``, woken either way, and its draws; worked out once."""
        if steps not in self._good:
            good = [self._walk(steps, [()], None, side) for side in self.sides]
            over = layer(steps[-1], [()], good[0].bits)
            drawn = self.tolerances.good(over, np.nan_to_num(good[0].last.v[:, 0]))
            self._good[steps] = good, drawn
        return self._good[steps]

    def good(self, steps: Sequence[Overlay]) -> tuple[Array, list[Array]]:
        """The healthy board after ``steps``: volts [N, 1] and parameters, for each group
        [P, M, 1], stored bits as they then stand."""
        walk = self._walk(self._from_power_on(steps), [()], None, self.sides[0])
        return np.where(walk.resolved, walk.last.v, np.nan), walk.params

    def _from_power_on(self, steps: Sequence[Overlay]) -> Sequence[Overlay]:
        """The steps, before them the moment of power-on where something stores a bit."""
        if self._empty is None:
            self._empty = ()
            if self.assembly.clocked or self.loops:
                walk = self._walk(steps, [()], None, self.sides[0])
                linear = Linear(self.circuit, np.nan_to_num(walk.v[-1][-1]), walk.params)
                self._empty = empty_capacitors(self.assembly, linear.ohms()[:, 0])
        return (steps[0] + self._empty, *steps) if self._empty else steps

    def _aimed(self, steps: Sequence[Overlay]) -> Sequence[Overlay]:
        """The steps, the last with what the inputs of blocks should be."""
        if not self.assembly.trouble_node:
            return steps
        good, params = self.good(steps)
        return (*steps[:-1], steps[-1] + aimed(self.circuit, params, good[:, 0]))

    def _chunk(
        self,
        steps: Sequence[Overlay],
        overlays: Sequence[Overlay],
        good: Sequence[Walk],
        drawn: Drawn,
    ) -> tuple[npt.NDArray[Any], ...]:
        walk, *second = [
            self._walk(steps, overlays, guide, side)
            for guide, side in zip(good, self.sides, strict=True)
        ]
        v, resolved = walk.v[-1][-1], walk.resolved
        linear = Linear(self.circuit, np.nan_to_num(v), walk.params)
        ohms = linear.ohms()
        degrees, flow, other = self._degrees(steps, overlays, walk, good[0])
        held, held_other = over_edges(self.circuit, np.nan_to_num(v), walk.params, ohms, other)
        over = layer(steps[-1], overlays, walk.bits)
        if held:
            params = [each.copy() for each in walk.params]
            hold(self.circuit, params, held)
            linear = Linear(self.circuit, np.nan_to_num(v), params)
            over = holding(self.circuit, over, held)
        tolerance = self.tolerances.spread(over, linear, np.nan_to_num(v), drawn)
        spread = np.hypot(tolerance, degrees)
        rings = np.flatnonzero(walk.last.restless)
        if rings.size:  # what swings is what follows the thresholds at the point of no rest
            params = take_columns(walk.params, rings)
            point, _ = persist(self.circuit, params)
            wide = unrest(Linear(self.circuit, np.nan_to_num(point.v), params), params)
            spread[:, rings] = np.maximum(spread[:, rings], wide)
        hot, harder = driven_hard(self.circuit, np.nan_to_num(v), walk.params)
        if hot.size:
            there, _ = persist(self.circuit, harder, np.nan_to_num(v[:, hot]))
            hot = hot[there.resolved]
            other[:, hot] = there.v[:, there.resolved]
            apart = BETWEEN * np.abs(other[:, hot] - v[:, hot])
            spread[:, hot] = np.maximum(spread[:, hot], apart)
        columns, there_too = other_side(self.circuit, walk.params, v)
        other[:, columns] = np.where(np.isnan(other[:, columns]), there_too, other[:, columns])
        for found in second:  # where latches of gates stand when they woke the other way
            differs = np.abs(found.last.v - v).max(axis=0) > _DIFFERENT
            apart = differs & found.resolved & ~walk.last.restless & ~found.last.restless
            other[:, apart] = found.last.v[:, apart]
        open_bits = np.flatnonzero(~walk.bits.known.all(axis=0))
        if open_bits.size:
            start = np.where(np.isnan(other), v, other)  # a latch beside them turns too
            flipped = self._flip(walk, good[0], start, open_bits)
            other[:, open_bits] = np.where(np.isnan(flipped), other[:, open_bits], flipped)
        other_spread = self._spread_of_other(steps, overlays, walk, other, held_other, drawn)
        other_spread = np.hypot(other_spread, degrees)
        other_spread[:, hot] = np.maximum(other_spread[:, hot], spread[:, hot])
        cases = Cases(
            circuit=self.circuit, tolerances=self.tolerances, drawn=drawn, over=over, v=v,
            spread=spread, ohms=ohms, params=walk.params,
            good_v=good[0].last.v[:, :1], good_params=good[0].params,
        )  # fmt: skip
        v, other_ohms = v.copy(), ohms.copy()
        for ways in two_ways(cases):
            at = ways.columns
            v[:, at], other[:, at] = ways.v
            spread[:, at], other_spread[:, at] = ways.spread
            ohms[:, at], other_ohms[:, at] = ways.ohms
        nominal = np.where(resolved, v, np.nan)
        currents = self.watched.currents(v, walk.params), self.watched.currents(other, walk.params)
        other[np.abs(other - v) < 1e-3] = np.nan
        other_spread[np.isnan(other)] = np.nan
        return (nominal, spread, other, other_spread, ohms, other_ohms, resolved, *currents, flow)

    def _walk(
        self,
        steps: Sequence[Overlay],
        overlays: Sequence[Overlay],
        guide: Walk | None,
        side: float,
    ) -> Walk:
        width = len(overlays)
        bits = Bits.at_power_up(self.circuit, self.assembly.clocked, width)
        everything = slice(None)
        history: list[list[Array]] = []
        resolved = np.ones(width, dtype=bool)
        params: list[Array] = []
        now: Settled | None = None
        for number, step in enumerate(steps):
            params = self._laid(step, overlays)
            bits.write(params, everything)
            before = np.nan_to_num(now.v) if now else None
            guess = before
            if guide and not self.loops:
                guess = guide.v[number][0][:, :1]  # else a fault has a history of its own
            now = self._settle(params, guess, before, side)
            turns = [now.v]
            for turn in range(1, _TURNS):
                changed = np.flatnonzero(bits.advance(np.nan_to_num(now.v), params))
                if not changed.size:
                    break
                bits.write(params, everything)
                before = np.nan_to_num(now.v[:, changed])
                hint = before
                if guide and turn < len(guide.v[number]) and not self.loops:
                    hint = guide.v[number][turn][:, :1]
                new = self._settle(take_columns(params, changed), hint, before, side)
                now.replace(changed, new)
                turns.append(now.v)
            resolved &= now.resolved
            history.append(turns)
        assert now is not None
        return Walk(history, resolved, now, bits, params)

    def _settle(
        self, params: Sequence[Array], guess: Array | None, before: Array | None, side: float
    ) -> Settled:
        """Solve, and let fall what stands on an edge; woken on the second side, every gate is
        first held at the other level."""
        done, _ = persist(self.circuit, params, guess)
        if side < 0.0 and before is None:
            done, _ = persist(
                self.circuit, params, turned(self.circuit, params, np.nan_to_num(done.v))
            )
        fallen = let_fall(self.circuit, params, done.v, before, side)
        now = Settled(done.v, done.resolved, np.zeros(done.resolved.size, dtype=bool))
        now.v[:, fallen.columns], now.restless[fallen.columns] = fallen.v, fallen.rings
        return now

    def _laid(self, step: Overlay, overlays: Sequence[Overlay]) -> list[Array]:
        """Nominal parameters with a step and each column's fault laid over."""
        params = take_columns(self.nominal, np.zeros(len(overlays), dtype=np.intp))
        return lay_over(params, step, Overlays(overlays), np.arange(len(overlays)))

    def _degrees(
        self,
        steps: Sequence[Overlay],
        overlays: Sequence[Overlay],
        walk: Walk,
        guide: Walk,
    ) -> tuple[Array, Array, Array]:
        """What not knowing how bad a fault is does: [N, B] standard deviation, [K, B] that of the
        watched currents, and [N, B] the whole other solution (else not-a-number) where a milder or
        worse version turns something over: a comparator, or what stores by more than
        :data:`_TURNED`."""
        v = walk.v[-1][-1]
        spread, other = np.zeros_like(v), np.full_like(v, np.nan)
        amperes = self.watched.currents(v, walk.params)
        flow = np.zeros_like(amperes)
        pairs = [self.versions.get(what) for what in overlays]
        soft = np.asarray([k for k, pair in enumerate(pairs) if pair], dtype=np.intp)
        most = np.full(soft.size, _TURNED)
        again = self._near_memory(walk, guide, soft)
        for side in (0, 1):
            what = [pair[side] for pair in pairs if pair]
            new, now = v[:, soft].copy(), amperes[:, soft].copy()
            held = np.flatnonzero(~again)
            if held.size:
                params = self._laid(steps[-1], [what[k] for k in held])
                walk.bits.take(soft[held]).write(params, slice(None))
                before = np.nan_to_num(v[:, soft[held]])
                new[:, held] = persist(self.circuit, params, before)[0].v
                own = take_columns(walk.params, soft[held])
                levels, _ = turned_levels(self.circuit, (before, own), (new[:, held], params))
                over = columns_of(levels)
                if over.size:
                    other[:, soft[held[over]]] = new[:, held[over]]
                    hold(self.circuit, params, levels)
                    some = take_columns(params, over)
                    new[:, held[over]] = persist(self.circuit, some, before[:, over])[0].v
                now[:, held] = self.watched.currents(new[:, held], params)
            anew = np.flatnonzero(again)
            if anew.size:
                there = self._walk(steps, [what[k] for k in anew], guide, self.sides[0])
                new[:, anew] = there.last.v
                now[:, anew] = self.watched.currents(there.last.v, there.params)
            step = np.nan_to_num(new - v[:, soft])
            size = np.abs(step).max(axis=0, initial=0.0)
            turned = again & (size > _TURNED)
            spread[:, soft] += 0.5 * np.where(turned, 0.0, step) ** 2
            more = np.nan_to_num(now - amperes[:, soft])
            flow[:, soft] += 0.5 * np.where(turned, 0.0, more) ** 2
            larger = turned & (size > most)
            other[:, soft[larger]] = new[:, larger]
            most = np.maximum(most, size)
        return np.sqrt(spread), np.sqrt(flow), other

    def _near_memory(self, walk: Walk, guide: Walk, columns: Index) -> Mask:
        """Which columns move a pin of a clocked element, or store another bit than a good board."""
        near = np.zeros(columns.size, dtype=bool)
        v, good = walk.v[-1][-1][:, columns], guide.v[-1][-1][:, :1]
        moved = np.vstack((np.abs(np.nan_to_num(v - good)), np.zeros((1, columns.size))))
        for k, at in enumerate(self.assembly.clocked):
            group, member = self.circuit.where[at.key]
            nodes = self.circuit.groups[group].nodes[:, member]
            near |= moved[nodes].max(axis=0) > _STIRRED
            near |= walk.bits.value[k, columns] != guide.bits.value[k, 0]
        return near

    def _flip(self, walk: Walk, guide: Walk, start: Array, columns: Index) -> Array:
        """The other solution, looked for from ``start`` [N, B] moved as the healthy board moves:
        every unknown bit the other way."""
        good = guide.v[-1][-1]
        there, _ = persist(self.circuit, self._flipped(guide, np.zeros(1, dtype=np.intp)), good)
        guess = start[:, columns] + np.nan_to_num(there.v - good)
        return persist(self.circuit, self._flipped(walk, columns), np.nan_to_num(guess))[0].v

    def _flipped(self, walk: Walk, columns: Index) -> list[Array]:
        """Parameters of the columns with every unknown bit the other way."""
        params = take_columns(walk.params, columns)
        walk.bits.turned().write(params, columns)
        return params

    def _spread_of_other(
        self, steps: Sequence[Overlay], overlays: Sequence[Overlay], walk: Walk, v: Array,
        held: Levels, drawn: Drawn,
    ) -> Array:  # fmt: skip
        """[N, B] standard deviation by tolerance about the other solutions ``v`` [N, B], to first
        order, with comparators ``held``."""
        found = np.full_like(v, np.nan)
        two = np.flatnonzero(np.isfinite(v).any(axis=0))
        if two.size:
            there = np.nan_to_num(v[:, two])
            woken = walk.bits.turned().take(two)
            over = layer(steps[-1], [overlays[k] for k in two.tolist()], woken)
            levels = {number: level[:, two] for number, level in held.items()}
            params = self._flipped(walk, two)
            hold(self.circuit, params, levels)
            over = holding(self.circuit, over, levels)
            linear = Linear(self.circuit, there, params)
            found[:, two] = self.tolerances.slopes(over, linear, drawn)[0]
        return found
