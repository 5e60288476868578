"""Which groups no check on offer can tell apart."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array, Indices
from halfsplit.belief.tables import Tables

__all__ = ["distances", "tied"]

ALIKE = 0.1
"""Total variation below which one reading hardly tells two groups apart (right 55 times in 100
instead of 50)."""


def distances(
    p: Array,
    group: Indices,
    tables: Tables,
    among: Sequence[int],
    usable: npt.NDArray[np.bool_] | None = None,
) -> Array:
    """[A, A] greatest total-variation distance, over all ``usable`` [C] checks, between the
    outcomes of two of the A groups in ``among``, each a mixture of its rows in the proportions
    of ``p`` [F + 1]; ``group`` [F + 1] numbers the rows' groups."""
    spread = np.zeros((len(among), tables.rows), dtype=np.float32)
    for at, name in enumerate(among):
        rows = np.flatnonzero(group == name)
        weights = p[rows] if p[rows].sum() > 0.0 else np.ones(len(rows))
        spread[at, rows] = weights / max(float(weights.sum()), 1e-300)
    used = np.flatnonzero(spread.any(axis=0))
    apart = np.zeros((len(among), len(among)))
    for block in tables.blocks:
        _, n, width = block.p.shape
        mixed = (spread[:, used] @ block.p[used].reshape(len(used), -1)).reshape(-1, n, width)
        if usable is not None:
            mixed = mixed[:, usable[block.checks]]
        for at in range(len(among) - 1):
            away = 0.5 * np.abs(mixed[at + 1 :] - mixed[at]).sum(axis=2).max(axis=1, initial=0.0)
            apart[at, at + 1 :] = np.maximum(apart[at, at + 1 :], away)
    return np.maximum(apart, apart.T)


def tied(apart: Array, threshold: float = ALIKE) -> tuple[tuple[int, ...], ...]:
    """Sets of two or more positions that are all alike to the first of the set; ``apart``
    [A, A] from :func:`distances`, most believed first. No position is in two sets."""
    sets: list[tuple[int, ...]] = []
    free = list(range(len(apart)))
    while free:
        first, *others = free
        alike = [other for other in others if apart[first, other] < threshold]
        if alike:
            sets.append((first, *alike))
        free = [other for other in others if other not in alike]
    return tuple(sets)
