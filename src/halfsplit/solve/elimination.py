"""The numeric side of :mod:`halfsplit.solve.pattern`: factor, substitute, and source resistance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.solve.law import Array
from halfsplit.solve.pattern import Pattern, Step

__all__ = ["back", "diagonal_of_inverse", "factor", "forward"]


def factor(a: Array, steps: Sequence[Step]) -> None:
    """Eliminate in place: ``a`` [slots, B] becomes the factors. Pivots are stored inverted."""
    for step in steps:
        pivot = 1.0 / a[step.diagonal]
        a[step.diagonal] = pivot
        if not step.lower.size:
            continue
        multipliers = a[step.lower] * pivot[step.lower_pivot]
        a[step.lower] = multipliers
        products = multipliers[step.left]
        products *= a[step.right]
        for turn in step.updates:
            a[turn.target] -= products[turn.source]


def forward(a: Array, rhs: Array, steps: Sequence[Step]) -> None:
    """Forward substitution in place on ``rhs`` [N, B]."""
    for step in steps:
        if not step.lower.size:
            continue
        products = a[step.lower] * rhs[step.nodes][step.lower_pivot]
        for turn in step.forward:
            rhs[turn.target] -= products[turn.source]


def back(a: Array, rhs: Array, steps: Sequence[Step]) -> None:
    """Back substitution in place on ``rhs`` [N, B], which becomes the solution."""
    for step in reversed(steps):
        value = rhs[step.nodes]
        if step.upper.size:
            products = a[step.upper] * rhs[step.upper_node]
            for turn in step.back:
                value[turn.target] -= products[turn.source]
        value *= a[step.diagonal]
        rhs[step.nodes] = value


def diagonal_of_inverse(a: Array, pattern: Pattern) -> Array:
    """Source resistance of every node, ohm [N, B], from the factors ``a`` (inverted pivots).

    Entries of the inverse on the pattern only: K. Takahashi, J. Fagan and M. S. Chin, Formation
    of a sparse bus impedance matrix, PICA 1973.
    """
    slot, order = pattern.slot, pattern.order
    position = {node: k for k, node in enumerate(order)}
    later: list[list[int]] = [[] for _ in order]
    for row, column in slot:
        if position[row] > position[column]:
            later[position[column]].append(row)
    z = np.zeros_like(a)
    for k in range(len(order) - 1, -1, -1):
        node, rows = order[k], later[k]
        pivot = a[slot[node, node]]
        if rows:
            lower = a[[slot[row, node] for row in rows]]
            upper = a[[slot[node, row] for row in rows]] * pivot
            block = z[[slot[i, j] for i in rows for j in rows]].reshape(
                len(rows), len(rows), a.shape[1]
            )
            column = -np.einsum("ijb,jb->ib", block, lower)
            across = -np.einsum("jb,jib->ib", upper, block)
            z[[slot[row, node] for row in rows]] = column
            z[[slot[node, row] for row in rows]] = across
            z[slot[node, node]] = pivot - np.einsum("jb,jb->b", upper, column)
        else:
            z[slot[node, node]] = pivot
    return z[[slot[node, node] for node in range(pattern.size)]]
