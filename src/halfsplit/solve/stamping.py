"""Adding the slopes of a group of elements into the entries of the matrix."""

from __future__ import annotations

import numpy as np

from halfsplit.solve.circuit import Group
from halfsplit.solve.law import Array

__all__ = ["stamp", "widen"]


def stamp(group: Group, g: Array, a: Array, skip: int) -> None:
    """Add the slopes ``g`` [E, E, M, B] of a group into the entries ``a`` [slots - skip, B]."""
    rows = g[list(group.carrying)] if len(group.carrying) != g.shape[0] else g
    flat = rows.reshape(-1, g.shape[-1])[group.stamp_rows]
    for turn in group.stamp:
        a[turn.target - skip] += flat[turn.source]


def widen(p: Array, width: int) -> Array:
    """Parameters [P, M, B] from [P, M, 1], without copying."""
    return p if p.shape[2] == width else np.broadcast_to(p, (*p.shape[:2], width))
