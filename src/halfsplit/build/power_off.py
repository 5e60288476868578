"""Power off: what the ohms and diode ranges show, in circuit, healthy and under every fault.

The same engine with every rail floating and the meter as a source between two places. A fault
that alters no current at the healthy solution with the meter on cannot alter the reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from halfsplit.build.parameters import Overlay, lay, take_columns
from halfsplit.build.sweep import CHUNK
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.newton import Probe, solve

__all__ = ["DIODE_LIMIT", "OPEN_OHMS", "PairReading", "PowerOff"]

Index = npt.NDArray[np.intp]

OPEN_OHMS = 40e6
"""Above this an ohmmeter shows OL (upper range of common hand-held meters)."""
DIODE_LIMIT = 2.0
"""Above this the diode range shows OL, V."""
_OHMS_VOLTS = 0.4
"""Open-circuit volts of the ohms ranges (hand-held meters: 0.3 to 1 V)."""
_DIODE_VOLTS, _DIODE_OHMS = 3.0, 2e3
_SAME = 1e-11
"""Currents closer than this are the same, A."""
_TINY = 1e-9
"""Test current between places that share no element, A."""


@dataclass(frozen=True, slots=True)
class PairReading:
    """One pair of places: ``value`` [F] ohm or volt (inf for OL), ``spread`` [F] (of the natural
    log for ohms), ``resolved`` [F]."""

    value: Array
    spread: Array
    resolved: npt.NDArray[np.bool_]


class PowerOff:
    """Readings between pairs of nodes; ``off`` is what removes every supply."""

    def __init__(
        self, circuit: Circuit, samples: Sequence[Array], off: Overlay, faults: Sequence[Overlay]
    ) -> None:
        self.circuit, self.faults = circuit, faults
        self.samples = take_columns(samples, np.arange(samples[0].shape[2]))
        lay(self.samples, off, slice(None))
        self.base = [p[:, :, :1] for p in self.samples]

    def ohms(self, pairs: Sequence[tuple[int, int]]) -> list[PairReading]:
        """Resistance between pairs of nodes (-1 ground)."""
        return [self._ohms(red, black) for red, black in pairs]

    def diode(self, pairs: Sequence[tuple[int, int]]) -> list[PairReading]:
        """Diode range, red to black."""
        return [self._diode(red, black) for red, black in pairs]

    def _shares(self, red: int, black: int) -> bool:
        return red < 0 or black < 0 or (red, black) in self.circuit.pattern.slot

    def _ohms(self, red: int, black: int) -> PairReading:
        if not self._shares(red, black):
            drop = self._all_faults(red, black, 0.0, _TINY)
            value = np.maximum(drop[0], 0.0) / _TINY
        else:
            reference = 1e6
            for _ in range(2):
                first = self._solve(
                    self.base, red, black, np.full(1, 1.0 / reference),
                    np.full(1, _OHMS_VOLTS / reference), None,
                )  # fmt: skip
                good = _to_ohms(_drop(first[0], red, black), reference)[0]
                reference = float(np.clip(10.0 ** np.ceil(np.log10(max(good, 1.0))), 1e2, 1e7))
            drop = self._all_faults(red, black, 1.0 / reference, _OHMS_VOLTS / reference)
            value = _to_ohms(drop[0], reference)
        varied = drop[2] / _TINY if not self._shares(red, black) else _to_ohms(drop[2], reference)
        log = np.log(np.clip(varied, 1e-2, 1e9))
        spread = np.full(value.size, max(0.02, float(np.sqrt(np.mean((log[1:] - log[0]) ** 2)))))
        value = np.where(value > OPEN_OHMS, np.inf, value)
        return PairReading(value, spread, drop[1])

    def _diode(self, red: int, black: int) -> PairReading:
        g, amps = 1.0 / _DIODE_OHMS, _DIODE_VOLTS / _DIODE_OHMS
        drop, resolved, varied = self._all_faults(red, black, g, amps)
        spread = np.full(drop.size, max(0.015, float(np.std(varied[1:]))))
        return PairReading(np.where(drop > DIODE_LIMIT, np.inf, drop), spread, resolved)

    def _all_faults(
        self, red: int, black: int, g: float, amps: float
    ) -> tuple[Array, npt.NDArray[np.bool_], Array]:
        """Voltage between the places for every fault [F], resolved [F], and for the healthy
        board's tolerance samples [T]."""
        count, width = len(self.faults), self.samples[0].shape[2]
        v, ok = self._solve(self.samples, red, black, np.full(width, g), np.full(width, amps), None)
        healthy = _drop(v, red, black)
        drops, resolved = np.full(count, healthy[0]), np.full(count, bool(ok[0]))
        todo = np.flatnonzero(self._moves(v[:, 0]))
        for start in range(0, todo.size, CHUNK):
            columns = todo[start : start + CHUNK]
            params = take_columns(self.base, np.zeros(columns.size, dtype=np.intp))
            for column, k in enumerate(columns):
                lay(params, self.faults[k], slice(column, column + 1))
            found, good = self._solve(
                params, red, black, np.full(columns.size, g), np.full(columns.size, amps), v[:, :1]
            )
            drops[columns], resolved[columns] = _drop(found, red, black), good
        return drops, resolved, healthy

    def _solve(
        self,
        params: Sequence[Array],
        red: int,
        black: int,
        g: Array,
        amps: Array,
        guess: Array | None,
    ) -> tuple[Array, npt.NDArray[np.bool_]]:
        width = g.size
        probe = Probe(np.full(width, red), np.full(width, black), g, amps)
        done = solve(self.circuit, params, guess, probe=probe)
        return done.v, done.resolved

    def _moves(self, v: Array) -> npt.NDArray[np.bool_]:
        """[F] whether a fault alters a current at the healthy solution ``v`` [N]."""
        moves = np.zeros(len(self.faults), dtype=bool)
        padded = np.append(v, 0.0)
        for group, pairs in self._pairs().items():
            at = self.circuit.groups[group]
            members = pairs[1]
            here = padded[at.nodes[:, members]][:, None, :]
            i0, _ = at.law.evaluate(here, self.base[group][:, members, 0][:, None, :], False)
            i1, _ = at.law.evaluate(here, pairs[2], False)
            np.logical_or.at(moves, pairs[0], np.abs(i1 - i0).max(axis=(0, 1)) > _SAME)
        return moves

    def _pairs(self) -> dict[int, tuple[Index, Index, Array]]:
        """For each group: faults, members and altered parameters [P, 1, K]; made once."""
        if not hasattr(self, "_kept"):
            by_group: dict[int, list[tuple[int, int]]] = {}
            for k, what in enumerate(self.faults):
                for group, member in sorted({(group, member) for group, _, member, _, _ in what}):
                    by_group.setdefault(group, []).append((k, member))
            self._kept = {
                group: (
                    np.asarray([k for k, _ in pairs]),
                    np.asarray([member for _, member in pairs]),
                    self._altered(group, pairs),
                )
                for group, pairs in by_group.items()
            }
        return self._kept

    def _altered(self, group: int, pairs: Sequence[tuple[int, int]]) -> Array:
        members = [member for _, member in pairs]
        after = self.base[group][:, members, 0][:, None, :].copy()
        for column, (k, member) in enumerate(pairs):
            for g, row, m, value, scale in self.faults[k]:
                if g == group and m == member:
                    after[row, 0, column] = after[row, 0, column] * value if scale else value
        return after


def _drop(v: Array, red: int, black: int) -> Array:
    zero = np.zeros(v.shape[1])
    return (v[red] if red >= 0 else zero) - (v[black] if black >= 0 else zero)


def _to_ohms(drop: Array, reference: float) -> Array:
    drop = np.clip(drop, 0.0, _OHMS_VOLTS * (1.0 - 1e-9))
    return reference * drop / (_OHMS_VOLTS - drop)
