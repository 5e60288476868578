"""Power off: what the ohms and diode ranges show, in circuit, healthy and under every fault.

The same engine with every rail floating and the meter as a source between two places. A fault
that alters no current at the healthy solution with the meter on cannot alter the reading, and is
not solved; all pairs of places asked for together are solved together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.overlays import Overlays
from halfsplit.build.parameters import Overlay, lay, take_columns
from halfsplit.build.severity import Versions
from halfsplit.build.sweep import CHUNK
from halfsplit.build.world import USUAL, MeterSource
from halfsplit.frozen import dataclass
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.newton import Probe
from halfsplit.solve.persistent import persist

__all__ = ["OPEN_OHMS", "PairReading", "PowerOff", "choose", "elsewhere"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]
Pair = tuple[int, int]

OPEN_OHMS = 40e6
"""Above this an ohmmeter shows OL (upper range of common hand-held meters)."""
OHMS_SPREAD, DIODE_SPREAD = 0.05, 0.05
"""Of the natural log of ohms, beside the tolerances that are drawn, and of volts: contacts, leads,
junctions from different makers (assumed)."""
_SAME = 1e-11
"""Currents closer than this are the same, A."""
_SURE_OHMS, _UNSURE = 20e3, 0.3
"""Above so many ohms the paths through unpowered silicon and dirt, which no sheet gives, count:
spread of the log for each factor of e (assumed)."""
_LEAKY_ELEMENTS = frozenset({"vcc", "c"})
"""Supply paths of chips and capacitors (and ``iq`` of regulators): what they let through below
half a volt is not what their supply current or rated leak suggests."""
_LEAK_FACTORS = (1.0 / 30.0, 3.0)
_TINY = 1e-9
"""Test current between places that share no element, A."""


@dataclass(frozen=True, slots=True)
class PairReading:
    """One pair of places: ``value`` [F] ohm or volt (inf for OL), ``spread`` [F] (of the natural
    log for ohms), ``resolved`` [F]."""

    value: Array
    spread: Array
    resolved: Mask


@dataclass(frozen=True, slots=True)
class _Asked:
    """A meter at each of many pairs, ``volts`` open."""

    red: Index
    black: Index
    g: Array
    amps: Array
    volts: float

    def probe(self, k: Index) -> Probe:
        """The meter of the pairs numbered ``k``."""
        return Probe(self.red[k], self.black[k], self.g[k], self.amps[k])


class PowerOff:
    """Readings between pairs of nodes (-1 is ground). ``base`` [P, M, 1 + T] the nominal board and
    T more with tolerances; ``off`` is what removes every supply."""

    def __init__(
        self,
        circuit: Circuit,
        base: Sequence[Array],
        off: Overlay,
        faults: Sequence[Overlay],
        unsure: Mapping[Overlay, Versions],
    ) -> None:
        self.circuit = circuit
        distinct = list(dict.fromkeys(faults))
        place = {what: k for k, what in enumerate(distinct)}
        unplugged = {setting[:3] for setting in off}
        self.faults = [tuple(one for one in what if one[:3] not in unplugged) for what in distinct]
        """What a fault does to a supply that is unplugged is not felt."""
        self.row_of = np.asarray([place[what] for what in faults], dtype=np.intp)
        count = base[0].shape[2] if base else 1
        boards = take_columns(base, np.arange(count, dtype=np.intp))
        lay(boards, off, slice(None))
        self.base, *self.drawn = (
            take_columns(boards, np.array([k], dtype=np.intp)) for k in range(count)
        )
        self.altered = self._altered()
        self.versions = [unsure.get(what) for what in distinct]

    def ohms(self, pairs: Sequence[Pair], source: MeterSource = USUAL) -> list[PairReading]:
        """Resistance between pairs of nodes."""
        if not pairs:
            return []
        red, black = _split(pairs)
        direct = np.asarray([self._shares(*pair) for pair in pairs])
        reference = np.full(len(pairs), 1e6)
        for _ in range(2):  # the meter finds its range
            asked = _ohmmeter(red, black, reference, direct, source.ohms_volts)
            healthy, _ = self._healthy(asked)
            good = _to_ohms(_drop(healthy, red, black), reference, direct, asked.volts)
            reference = np.clip(10.0 ** np.ceil(np.log10(np.maximum(good, 1.0))), 1e2, 1e7)
        asked = _ohmmeter(red, black, reference, direct, source.ohms_volts)
        drops, resolved, versions = self._all_faults(asked)
        value = _to_ohms(drops, reference, direct, asked.volts)
        log = np.log(np.clip(value, 0.1, OPEN_OHMS))
        high = np.maximum(0.0, log - np.log(_SURE_OHMS))
        total = OHMS_SPREAD**2 + (_UNSURE * high) ** 2
        for other in versions:
            step = (
                np.log(np.clip(_to_ohms(other, reference, direct, asked.volts), 0.1, OPEN_OHMS))
                - log
            )
            total += 0.5 * np.nan_to_num(step) ** 2
        total += self._leaks(asked, reference, direct) ** 2
        total += self._tolerance(asked, reference, direct) ** 2
        if not source.known:  # another meter's test voltage moves what junctions carry
            half = _ohmmeter(red, black, reference, direct, 0.5 * source.ohms_volts)
            lower, _, _ = self._all_faults(half, with_versions=False)
            again = _to_ohms(lower, reference, direct, half.volts)
            total += np.nan_to_num(np.log(np.clip(again, 0.1, OPEN_OHMS)) - log) ** 2
        value[value > OPEN_OHMS] = np.inf
        return self._told(value, resolved, np.sqrt(total))

    def _tolerance(self, asked: _Asked, reference: Array, direct: Mask) -> Array:
        """[pairs] how far, in natural log, the readings of good boards lie from the nominal one."""
        found = np.zeros(asked.red.size)
        known = np.log(
            np.clip(self._good_ohms(self.base, asked, reference, direct), 0.1, OPEN_OHMS)
        )
        for board in self.drawn:
            ohms = self._good_ohms(board, asked, reference, direct)
            step = np.log(np.clip(ohms, 0.1, OPEN_OHMS)) - known
            found += np.nan_to_num(step) ** 2 / len(self.drawn)
        return np.asarray(np.sqrt(found))

    def _leaks(self, asked: _Asked, reference: Array, direct: Mask) -> Array:
        """[pairs] how far the reading of a good board moves, in natural log, when what chips and
        capacitors let through below half a volt is other than typed."""
        known = np.log(
            np.clip(self._good_ohms(self.base, asked, reference, direct), 0.1, OPEN_OHMS)
        )
        found = np.zeros(asked.red.size)
        for factor in _LEAK_FACTORS:
            base = [p.copy() for p in self.base]
            for (_, name), (group, member) in self.circuit.where.items():
                names = self.circuit.groups[group].law.parameters
                if name in _LEAKY_ELEMENTS:
                    base[group][0, member] *= factor
                elif "iq" in names:
                    base[group][names.index("iq"), member] *= factor
            ohms = self._good_ohms(base, asked, reference, direct)
            step = np.abs(np.log(np.clip(ohms, 0.1, OPEN_OHMS)) - known)
            found = np.maximum(found, np.nan_to_num(step))
        return found

    def _good_ohms(
        self, base: Sequence[Array], asked: _Asked, reference: Array, direct: Mask
    ) -> Array:
        v, _ = self._healthy(asked, base)
        return _to_ohms(_drop(v, asked.red, asked.black), reference, direct, asked.volts)

    def diode(self, pairs: Sequence[Pair], source: MeterSource = USUAL) -> list[PairReading]:
        """Diode range, red to black; places that share no element read as OL to each other."""
        if not pairs:
            return []
        red, black = _split(pairs)
        direct = np.asarray([self._shares(*pair) for pair in pairs])
        g = np.where(direct, 1.0 / source.diode_ohms, 0.0)
        amps = np.where(direct, source.diode_volts / source.diode_ohms, _TINY)
        asked = _Asked(red, black, g, amps, source.diode_volts)
        drops, resolved, versions = self._all_faults(asked)
        total = np.full_like(drops, DIODE_SPREAD**2)
        for other in versions:
            total += 0.5 * np.nan_to_num(other - drops) ** 2
        drops[(drops > source.diode_limit)] = np.inf
        resolved &= direct
        return self._told(drops, resolved, np.sqrt(total))

    def _told(self, value: Array, resolved: Mask, spread: Array) -> list[PairReading]:
        row = self.row_of
        return [
            PairReading(value[row, k], spread[row, k], resolved[row, k])
            for k in range(value.shape[1])
        ]

    def _shares(self, red: int, black: int) -> bool:
        return red < 0 or black < 0 or red == black or (red, black) in self.circuit.pattern.slot

    def _all_faults(
        self, asked: _Asked, *, with_versions: bool = True
    ) -> tuple[Array, Mask, tuple[Array, ...]]:
        """Volts between the places for every distinct fault [F, pairs], resolved, and the same
        volts for the milder and the worse version of each fault."""
        v, ok = self._healthy(asked)
        drops = np.repeat(_drop(v, asked.red, asked.black)[None, :], len(self.faults), axis=0)
        resolved = np.repeat(ok[None, :], len(self.faults), axis=0)
        fault, pair = np.nonzero(self._moves(np.nan_to_num(v)))
        drops[fault, pair], resolved[fault, pair] = self._cases(asked, v, self.faults, fault, pair)
        if not with_versions:
            return drops, resolved, ()
        both = []
        soft = np.asarray([self.versions[f] is not None for f in fault], dtype=bool)
        fault, pair = fault[soft], pair[soft]
        for side in (0, 1):
            what = [pair_of[side] if pair_of else () for pair_of in self.versions]
            other = drops.copy()
            other[fault, pair], _ = self._cases(asked, v, what, fault, pair)
            both.append(other)
        return drops, resolved, tuple(both)

    def _cases(
        self, asked: _Asked, v: Array, what: Sequence[Overlay], fault: Index, pair: Index
    ) -> tuple[Array, Mask]:
        """Volts and resolved of the cases (fault, pair), started from the healthy ``v``."""
        drops, resolved = np.empty(fault.size), np.empty(fault.size, dtype=bool)
        faults = Overlays(what)
        for start in range(0, fault.size, CHUNK):
            part = slice(start, start + CHUNK)
            f, k = fault[part], pair[part]
            params = take_columns(self.base, np.zeros(f.size, dtype=np.intp))
            faults.lay(params, f)
            done, _ = persist(self.circuit, params, np.nan_to_num(v[:, k]), probe=asked.probe(k))
            drops[part] = _drop(done.v, asked.red[k], asked.black[k])
            resolved[part] = done.resolved
        return drops, resolved

    def _healthy(self, asked: _Asked, base: Sequence[Array] | None = None) -> tuple[Array, Mask]:
        """Healthy solutions [N, pairs] and which resolved."""
        found, good = [], []
        for start in range(0, asked.red.size, CHUNK):
            part = np.arange(start, min(start + CHUNK, asked.red.size))
            done, _ = persist(self.circuit, base or self.base, None, probe=asked.probe(part))
            found.append(done.v)
            good.append(done.resolved)
        return np.concatenate(found, axis=1), np.concatenate(good)

    def _moves(self, v: Array) -> Mask:
        """[F, pairs] whether a fault alters a current at the healthy solutions ``v`` [N, pairs]."""
        width = v.shape[1]
        moves = np.zeros((len(self.faults), width), dtype=bool)
        padded = np.concatenate((v, np.zeros((1, width))))
        for group, (rows, members, after) in self.altered.items():
            at = self.circuit.groups[group]
            here = padded[at.nodes[:, members]]
            before = np.broadcast_to(self.base[group][:, members], (*after.shape[:2], width))
            i0, _ = at.law.evaluate(here, before, False)
            i1, _ = at.law.evaluate(here, np.broadcast_to(after, before.shape), False)
            differs = np.abs(i1 - i0).max(axis=0) > _SAME
            np.logical_or.at(moves, rows, differs)
        return moves

    def _altered(self) -> dict[int, tuple[Index, Index, Array]]:
        """For each group: faults, members and altered parameters [P, K, 1] of K changes."""
        by_group: dict[int, list[Pair]] = {}
        for k, what in enumerate(self.faults):
            for group, member in sorted({(group, member) for group, _, member, _, _ in what}):
                by_group.setdefault(group, []).append((k, member))
        found = {}
        for group, pairs in by_group.items():
            members = np.asarray([member for _, member in pairs], dtype=np.intp)
            after = self.base[group][:, members].copy()
            for column, (k, member) in enumerate(pairs):
                for g, row, m, value, scale in self.faults[k]:
                    if g == group and m == member:
                        after[row, column] = after[row, column] * value if scale else value
            found[group] = (np.asarray([k for k, _ in pairs], dtype=np.intp), members, after)
        return found


def choose(nodes: Index, kept: Mapping[Pair, PairReading]) -> PairReading:
    """Fault by fault the reading of the pair of nodes it sees."""
    first = (int(nodes[0, 0]), int(nodes[1, 0]))
    base = kept[first]
    value, spread, resolved = base.value.copy(), base.spread.copy(), base.resolved.copy()
    for k in elsewhere(nodes):
        there = kept[int(nodes[0, k]), int(nodes[1, k])]
        value[k], spread[k], resolved[k] = there.value[k], there.spread[k], there.resolved[k]
    return PairReading(value, spread, resolved)


def elsewhere(nodes: Index) -> Index:
    """Faults under which the pair of places [2, F] is not at the nodes of the good board."""
    return np.flatnonzero((nodes != nodes[:, :1]).any(axis=0))


def _split(pairs: Sequence[Pair]) -> tuple[Index, Index]:
    table = np.asarray(pairs, dtype=np.intp)
    return table[:, 0].copy(), table[:, 1].copy()


def _ohmmeter(red: Index, black: Index, reference: Array, direct: Mask, volts: float) -> _Asked:
    g = np.where(direct, 1.0 / reference, 0.0)
    return _Asked(red, black, g, np.where(direct, volts / reference, _TINY), volts)


def _drop(v: Array, red: Index, black: Index) -> Array:
    """Volts from red to black in each column."""
    padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
    columns = np.arange(v.shape[1])
    difference: Array = padded[red, columns] - padded[black, columns]
    return difference


def _to_ohms(drop: Array, reference: Array, direct: Mask, volts: float) -> Array:
    held = np.clip(drop, 0.0, volts * (1.0 - 1e-9))
    return np.where(direct, reference * held / (volts - held), np.maximum(drop, 0.0) / _TINY)
