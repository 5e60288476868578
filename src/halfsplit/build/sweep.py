"""One state, every fault: walk the steps of the state for all cases at once.

Faults are parameter changes laid over the state's. The healthy board is walked first with its
tolerance samples; its solutions are the guesses of the faults, and a fault whose elements carry
the same current and slope as before cannot have moved anything and is not solved at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import Assembly
from halfsplit.build.clocking import Bits
from halfsplit.build.parameters import (
    Overlay,
    base_parameters,
    lay,
    sample_deviations,
    take_columns,
)
from halfsplit.solve.law import Array
from halfsplit.solve.newton import Solution, solve

__all__ = ["StateResult", "Sweep"]

Mask = npt.NDArray[np.bool_]

CHUNK = 512
"""Cases solved together: what fits the cache."""
HEALTHY_SAMPLES = 17
FAULT_SAMPLES = 5
_TURNS = 8
_SAME = 1e-12
"""Currents (A) and slopes (S) closer than this are the same."""


@dataclass(frozen=True, slots=True)
class StateResult:
    """Node voltages of all F faults in one state.

    ``nominal`` [N, F], ``spread`` [N, F] one standard deviation by tolerance, ``other`` [N, F] a
    second stable solution or not-a-number, ``ohms`` [N, F] source resistance, ``resolved`` [F];
    ``params`` for each group [P, M, F] as they stood at the last step.
    """

    nominal: Array
    spread: Array
    other: Array
    ohms: Array
    resolved: Mask
    params: tuple[Array, ...]


@dataclass(slots=True)
class _Walk:
    """Solutions after each solve of a walk, ``v[step][turn]`` [N, B], and parameters by step."""

    v: list[list[Array]]
    resolved: Mask
    bits: Bits
    by_step: list[list[Array]]

    @property
    def params(self) -> list[Array]:
        """Parameters of the last step."""
        return self.by_step[-1]


class Sweep:
    """Solves states of one assembly for a fixed list of faults."""

    def __init__(self, assembly: Assembly, faults: Sequence[Overlay]) -> None:
        self.assembly, self.circuit = assembly, assembly.circuit
        self.faults = faults
        self.healthy = base_parameters(
            self.circuit, sample_deviations(assembly, HEALTHY_SAMPLES, seed=1)
        )
        self.varied = base_parameters(
            self.circuit, sample_deviations(assembly, FAULT_SAMPLES, seed=2)
        )

    def state(self, steps: Sequence[Overlay]) -> StateResult:
        """Walk ``steps`` (what each sets) for every fault."""
        none: list[Overlay] = [()] * HEALTHY_SAMPLES
        good = self._walk(self.healthy, steps, none, None)
        count, n = len(self.faults), self.circuit.size
        nominal, other = np.empty((n, count)), np.full((n, count), np.nan)
        spread, ohms = np.zeros((n, count)), np.empty((n, count))
        resolved = np.ones(count, dtype=bool)
        params = [np.repeat(p[:, :, :1], count, axis=2) for p in good.params]
        healthy_v = good.v[-1][-1]
        healthy_spread = _rms(healthy_v[:, 1:], healthy_v[:, :1])
        touched = np.flatnonzero(self._touched(good))
        nominal[:], spread[:] = healthy_v[:, :1], healthy_spread
        healthy = self._final([p[:, :, :1] for p in good.params], healthy_v[:, :1])
        ohms[:] = healthy.ohms
        if not good.bits.known[:, 0].all():
            other[:] = self._flip(good, np.asarray([0]))
        for start in range(0, touched.size, CHUNK):
            columns = touched[start : start + CHUNK]
            overlays = [self.faults[k] for k in columns]
            base = [p[:, :, :1] for p in self.healthy]
            walk = self._walk(base, steps, overlays, good)
            done = self._final(walk.params, walk.v[-1][-1])
            nominal[:, columns], ohms[:, columns] = done.v, done.ohms
            resolved[columns] = walk.resolved & done.resolved
            spread[:, columns] = self._spread(steps, overlays, walk, done.v)
            open_bits = np.flatnonzero(~walk.bits.known.all(axis=0))
            if open_bits.size:
                other[:, columns[open_bits]] = self._flip(walk, open_bits)
            for mine, theirs in zip(params, walk.params, strict=True):
                mine[:, :, columns] = theirs
        nominal[:, ~resolved] = np.nan
        same = np.abs(other - nominal) < 1e-3
        other[same] = np.nan
        return StateResult(nominal, spread, other, ohms, resolved, tuple(params))

    def _walk(
        self,
        base: Sequence[Array],
        steps: Sequence[Overlay],
        overlays: Sequence[Overlay],
        guide: _Walk | None,
    ) -> _Walk:
        width = len(overlays)
        bits = Bits.at_power_up(self.circuit, self.assembly.clocked, width)
        everything = slice(None)
        history: list[list[Array]] = []
        resolved = np.ones(width, dtype=bool)
        v: Array | None = None
        by_step: list[list[Array]] = []
        for number, step in enumerate(steps):
            repeat = np.zeros(width, dtype=np.intp) if base[0].shape[2] == 1 else np.arange(width)
            params = take_columns(base, repeat)
            lay(params, step, everything)
            for column, what in enumerate(overlays):
                lay(params, what, slice(column, column + 1))
            bits.write(params, everything)
            guess = guide.v[number][0][:, :1] if guide else v
            done = solve(self.circuit, params, guess)
            v, turns = done.v, [done.v]
            resolved &= done.resolved
            for turn in range(1, _TURNS):
                changed = np.flatnonzero(bits.advance(np.nan_to_num(v), params))
                if not changed.size:
                    break
                bits.write(params, everything)
                hint = v[:, changed]
                if guide and turn < len(guide.v[number]):
                    hint = guide.v[number][turn][:, :1]
                again = solve(self.circuit, take_columns(params, changed), np.nan_to_num(hint))
                v = v.copy()
                v[:, changed] = again.v
                resolved[changed] &= again.resolved
                turns.append(v)
            history.append(turns)
            by_step.append(params)
        return _Walk(history, resolved, bits, by_step)

    def _final(self, params: Sequence[Array], v: Array) -> Solution:
        return solve(self.circuit, params, np.nan_to_num(v), want_ohms=True)

    def _touched(self, good: _Walk) -> Mask:
        """[F] whether a fault alters any current or slope at the healthy solution of any step."""
        touched = np.zeros(len(self.faults), dtype=bool)
        by_group: dict[int, list[tuple[int, int]]] = {}
        for k, what in enumerate(self.faults):
            for group, member in {(group, member) for group, _, member, _, _ in what}:
                by_group.setdefault(group, []).append((k, member))
        for turns, params in zip(good.v, good.by_step, strict=True):
            for v in turns:
                for group, pairs in by_group.items():
                    touched |= self._differs(v[:, 0], params, group, pairs)
        return touched

    def _differs(
        self, v: Array, params: Sequence[Array], group: int, pairs: Sequence[tuple[int, int]]
    ) -> Mask:
        at = self.circuit.groups[group]
        members = np.asarray([member for _, member in pairs])
        padded = np.append(v, 0.0)
        here = padded[at.nodes[:, members]][:, None, :]
        before = params[group][:, members, 0][:, None, :].copy()
        after = before.copy()
        for column, (k, member) in enumerate(pairs):
            for g, row, m, value, scale in self.faults[k]:
                if g == group and m == member:
                    after[row, 0, column] = after[row, 0, column] * value if scale else value
        i0, g0 = at.law.evaluate(here, before, False)
        i1, g1 = at.law.evaluate(here, after, False)
        differs = (np.abs(i1 - i0).max(axis=(0, 1)) > _SAME) | (
            np.abs(g1 - g0).max(axis=(0, 1, 2)) > _SAME
        )
        touched = np.zeros(len(self.faults), dtype=bool)
        np.logical_or.at(touched, [k for k, _ in pairs], differs)
        return touched

    def _spread(
        self,
        steps: Sequence[Overlay],
        overlays: Sequence[Overlay],
        walk: _Walk,
        nominal: Array,
    ) -> Array:
        """[N, B] standard deviation over the tolerance samples, bits held as in the walk."""
        width, more = len(overlays), FAULT_SAMPLES - 1
        total = np.zeros_like(nominal)
        used = np.zeros(width)
        for start in range(1, 1 + more):
            params = take_columns(self.varied, np.full(width, start))
            lay(params, steps[-1], slice(None))
            for column, what in enumerate(overlays):
                lay(params, what, slice(column, column + 1))
            walk.bits.write(params, slice(None))
            done = solve(self.circuit, params, np.nan_to_num(nominal))
            total += np.where(done.resolved, np.nan_to_num(done.v - nominal) ** 2, 0.0)
            used += done.resolved
        return np.sqrt(total / np.maximum(used, 1.0))

    def _flip(self, walk: _Walk, columns: npt.NDArray[np.intp]) -> Array:
        """The other solution: every unknown bit the other way."""
        params = take_columns(walk.params, columns)
        for k, at in enumerate(self.assembly.clocked):
            group, row, member = self.circuit.locate(at.key, "bit")
            bit, known = walk.bits.value[k, columns], walk.bits.known[k, columns]
            params[group][row, member] = np.where(known, bit, ~bit)
        return solve(self.circuit, params, np.nan_to_num(walk.v[-1][-1][:, columns])).v


def _rms(samples: Array, nominal: Array) -> Array:
    """Root mean square deviation from the nominal, unresolved samples left out; [N, 1]."""
    return np.sqrt(np.nan_to_num(np.nanmean((samples - nominal) ** 2, axis=1, keepdims=True)))
