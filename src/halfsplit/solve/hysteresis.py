"""Comparators that hold themselves: where else would the board stay?

A comparator whose output pulls at its own input has two answers over a range of inputs, and one
solve finds one of them. Each comparator is held the other way, let go again, and what then stays
there is a second solution.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.solve.circuit import Circuit
from halfsplit.solve.engine import solve
from halfsplit.solve.law import Array
from halfsplit.solve.laws.analog import Comparator
from halfsplit.solve.loops import let_fall
from halfsplit.solve.smooth import sigmoid

__all__ = ["other_side"]

_DIFFERENT = 0.3
"""Two solutions are at least so far apart somewhere, V."""


def other_side(
    circuit: Circuit, params: Sequence[Array], v: Array
) -> tuple[npt.NDArray[np.intp], Array]:
    """Columns [K] of the solutions ``v`` [N, B] that have a second one, and that one [N, K]."""
    found = np.full_like(v, np.nan)
    for number, group in enumerate(circuit.groups):
        if not isinstance(group.law, Comparator):
            continue
        for member in range(group.nodes.shape[1]):
            there = _turned(circuit, params, v, number, member)
            apart = np.abs(there - v).max(axis=0) > _DIFFERENT  # false where not-a-number
            free = apart & np.isnan(found[0])
            found[:, free] = there[:, free]
    columns = np.flatnonzero(np.isfinite(found).all(axis=0))
    return columns, found[:, columns]


def _turned(circuit: Circuit, params: Sequence[Array], v: Array, number: int, member: int) -> Array:
    """[N, B] where the board stays after one comparator was turned; else not-a-number."""
    names = Comparator().parameters
    width = v.shape[1]
    held = list(params)
    held[number] = p = np.repeat(params[number], width // params[number].shape[2], axis=2)
    padded = np.concatenate((np.nan_to_num(v), np.zeros((1, width))))
    nodes = circuit.groups[number].nodes[:, member]
    difference = padded[nodes[3]] - padded[nodes[4]] + p[names.index("vos"), member]
    level = sigmoid(p[names.index("steep"), member] * difference)[0]
    p[names.index("a0"), member] = np.where(level > 0.5, 0.0, 1.0)
    p[names.index("a1"), member] = 0.0
    turned = solve(circuit, held, np.nan_to_num(v))
    end = solve(circuit, params, np.nan_to_num(turned.v))
    there = end.v.copy()
    there[:, ~turned.resolved] = np.nan
    there[:, let_fall(circuit, params, there).columns] = np.nan
    return there
