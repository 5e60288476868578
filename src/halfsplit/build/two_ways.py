"""What a fault leaves undecided, told as two ways that the whole board may stand.

* An input that a fault leaves near its threshold (two outputs fight over it): one die takes it for
  low, the next one for high, and what follows is low or high and hardly ever between.
* A MOS input that a fault leaves to itself: its leak goes to either supply, and nobody knows which
  is larger ("all unused inputs must be connected to VDD or VSS", data sheets of the 4000 series).
* A base that a fault leaves to itself: what leaks from collector to base is multiplied by the
  gain, and both differ by decades from part to part. It passes from nothing to microamps.

Only what a fault does is told so: a good board that stands so was made to.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.edges import ADRIFT
from halfsplit.build.overload import BETWEEN
from halfsplit.build.parameters import take_columns
from halfsplit.build.tolerance import Drawn, Lay, Tolerances
from halfsplit.frozen import dataclass
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.engine import Linear
from halfsplit.solve.law import Array
from halfsplit.solve.laws.junction import Bipolar
from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.persistent import persist

__all__ = ["Cases", "TwoWays", "two_ways"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]
_Doubt = dict[int, Mask]
"""Group -> its members, or its inputs [I, M, B], that are in doubt."""
_Change = Callable[[list[Array], Index], None]
"""Writes one of the ways into parameters [P, M, K] of K of the doubtful columns."""

NEAR = 0.2
"""Volts from its threshold within which an input may be taken for either: gates of one family
differ by 0.15 V (see ``tests/build/test_undefined.py``), and somewhat further off the law has an
output that is half on, where a stage has decided."""
_SHARE, _MOST = 0.8, 0.8
"""Where the level itself is in doubt by more: this share of its spread, of at most so much, V."""
_MOVED = 0.1
"""An input that a fault has brought there has moved by more, V."""
_STAYS = 0.3
"""An input that moves by more, V, when the answer is fixed is held there by that answer."""
LEAK = 2e-7
"""Collector to emitter with the base open, S at its most: 1 uA at 5 V, a gain of 100 times the
10 nA at most that data sheets of small silicon transistors give for ICBO (2N2222A, 2N2907A)."""
_LOOSE = 1e8
"""Source resistance above which only its own leak holds an input, ohm: 1 uA at 15 V is the most
that data sheets of the 4000 series allow, a thousandth is usual (from memory)."""
_NO_GAIN = 1e-6
_SMALL_DIE = 1e-14
"""Saturation current of a small transistor, A: a larger die leaks in proportion."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cases:
    """B cases as solved: volts ``v``, their ``spread`` and source resistance ``ohms`` [N, B],
    ``params`` [P, M, B] and what lays them over drawn ones; ``good_v`` [N, 1] and ``good_params``
    of the good board."""

    circuit: Circuit
    tolerances: Tolerances
    drawn: Drawn
    over: Lay
    v: Array
    spread: Array
    ohms: Array
    params: Sequence[Array]
    good_v: Array
    good_params: Sequence[Array]


@dataclass(frozen=True, slots=True)
class TwoWays:
    """K ``columns`` that stand either way: volts, spread and source resistance [N, K] of each."""

    columns: Index
    v: tuple[Array, Array]
    spread: tuple[Array, Array]
    ohms: tuple[Array, Array]


def two_ways(cases: Cases) -> list[TwoWays]:
    """What is undecided in B cases."""
    good = np.nan_to_num(cases.good_v)
    found = [_undecided_inputs(cases, good), _open_bases(cases, good)]
    return [ways for ways in found if ways is not None]


def _undecided_inputs(cases: Cases, good: Array) -> TwoWays | None:
    doubt: _Doubt = {}
    high: dict[int, Mask] = {}
    pushing = [g.nodes[0] for g in cases.circuit.groups if isinstance(g.law, TtlInput)]
    ttl = np.concatenate(pushing) if pushing else np.zeros(0, dtype=np.intp)
    for number, group in enumerate(cases.circuit.groups):
        if not isinstance(group.law, LogicOutput) or not group.law.inputs:
            continue
        apart = _apart(cases.circuit, number, cases.v, cases.params)
        usual = _apart(cases.circuit, number, good, cases.good_params)
        inputs = group.nodes[3:]
        width = np.clip(_SHARE * _padded(cases.spread)[inputs], NEAR, _SHARE * _MOST)
        ohms = _padded(cases.ohms)[inputs]
        loose = (ohms > _LOOSE) & ~np.isin(inputs, ttl)[:, :, None] & np.isfinite(apart)
        with np.errstate(invalid="ignore"):  # of what does not look, infinite
            moved = np.abs(apart - usual) > _MOVED
        doubt[number] = ((np.abs(apart) < width) & (ohms < ADRIFT) | loose) & moved
        high[number] = apart > 0.0
    columns = _columns(doubt, cases.v.shape[1])

    def taken(turned: bool) -> _Change:
        def write(params: list[Array], some: Index) -> None:
            for number, mask in doubt.items():
                first = len(cases.circuit.groups[number].law.parameters) - 2 * len(mask)
                o, w = params[number][first::2], params[number][first + 1 :: 2]
                here = mask[:, :, columns[some]]
                level = high[number][:, :, columns[some]] != turned
                o[...] = np.where(here, o + w * level, o)
                w[...] = np.where(here, 0.0, w)

        return write

    return _told(cases, columns, (taken(False), taken(True)), between=0.0, doubt=doubt)


def _apart(circuit: Circuit, number: int, v: Array, params: Sequence[Array]) -> Array:
    """[I, M, B] volts by which the inputs of a group are above their thresholds; far above where
    the chip does not look, or has no supply."""
    group = circuit.groups[number]
    law, p, at = group.law, params[number], _padded(v)
    assert isinstance(law, LogicOutput)
    ground, supply = at[group.nodes[2]], at[group.nodes[1]] - at[group.nodes[2]]
    threshold, rel, _, _, looks = law.views(p)
    level = at[group.nodes[3:]] - ground - threshold * (1.0 - rel + rel * supply)
    blind = (looks == 0.0) | (p[3 + 1] == 0.0) | (supply < p[16])
    found: Array = np.where(blind, np.inf, level)
    return found


def _open_bases(cases: Cases, good: Array) -> TwoWays | None:
    usual = _padded(Linear(cases.circuit, good, cases.good_params).ohms())
    ohms = _padded(cases.ohms)
    doubt: _Doubt = {}
    for number, group in enumerate(cases.circuit.groups):
        if isinstance(group.law, Bipolar):
            base = group.nodes[1]
            doubt[number] = ((ohms[base] > ADRIFT) & (usual[base] <= ADRIFT))[None]
    columns = _columns(doubt, cases.v.shape[1])

    def passes(share: float) -> _Change:
        def write(params: list[Array], some: Index) -> None:
            for number, mask in doubt.items():
                names = cases.circuit.groups[number].law.parameters
                here, p = mask[0][:, columns[some]], params[number]
                leak = share * LEAK * np.maximum(p[names.index("is_")] / _SMALL_DIE, 1.0)
                p[names.index("gce")] += np.where(here, leak, 0.0)
                for name in ("is_", "bf", "br"):  # the junctions stay, the gain goes
                    p[names.index(name)] *= np.where(here, _NO_GAIN, 1.0)

        return write

    return _told(cases, columns, (passes(0.0), passes(1.0)), between=BETWEEN)


def _told(
    cases: Cases,
    columns: Index,
    ways: tuple[_Change, _Change],
    *,
    between: float,
    doubt: _Doubt | None = None,
) -> TwoWays | None:
    """Both ways of the columns, solved; ``between`` is the share of the way from one to the other
    that is one standard deviation at either. Columns whose doubtful inputs move are left out."""
    if not columns.size:
        return None
    start, every = np.nan_to_num(cases.v[:, columns]), np.arange(columns.size)
    v, spread, ohms, right = [], [], [], np.ones(columns.size, dtype=bool)
    for write in ways:
        params = take_columns(cases.params, columns)
        write(params, every)
        done, _ = persist(cases.circuit, params, start)
        right &= done.resolved
        if doubt:
            right &= _stay(cases.circuit, doubt, columns, np.nan_to_num(done.v) - start)
        linear = Linear(cases.circuit, np.nan_to_num(done.v), params)

        def laid(drawn: list[Array], some: Index, write: _Change = write) -> list[Array]:
            cases.over(drawn, columns[some])
            write(drawn, some)
            return drawn

        v.append(done.v)
        spread.append(cases.tolerances.spread(laid, linear, np.nan_to_num(done.v), cases.drawn))
        ohms.append(linear.ohms())
    most = between * np.abs(v[1] - v[0])
    kept = np.flatnonzero(right)
    first, second = (np.maximum(one, most)[:, kept] for one in spread)
    return TwoWays(
        columns[kept],
        (v[0][:, kept], v[1][:, kept]),
        (first, second),
        (ohms[0][:, kept], ohms[1][:, kept]),
    )


def _stay(circuit: Circuit, doubt: _Doubt, columns: Index, moved: Array) -> Mask:
    """[K] whether the doubtful inputs stay where they are; ``moved`` [N, K]."""
    found = np.ones(columns.size, dtype=bool)
    size = np.abs(_padded(moved))
    for number, mask in doubt.items():
        far = size[circuit.groups[number].nodes[3:]] > _STAYS
        found &= ~(far & mask[:, :, columns]).any(axis=(0, 1))
    return found


def _columns(doubt: _Doubt, width: int) -> Index:
    """Cases with a doubt."""
    found = np.zeros(width, dtype=bool)
    for mask in doubt.values():
        found |= mask.any(axis=(0, 1))
    return np.flatnonzero(found)


def _padded(v: Array) -> Array:
    """[N + 1, B] with ground last."""
    return np.concatenate((v, np.zeros((1, v.shape[1]))))
