"""Loops that may never come to rest: how far the levels in them are to be trusted.

A ring of an odd number of inverting gates has a solution half way between its levels, and on the
bench it oscillates: a meter shows an average somewhere about there. What belongs to the ring
follows the gates' thresholds; the rest of the board does not.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.solve.engine import Linear
from halfsplit.solve.law import Array

__all__ = ["WIDE", "unrest"]

WIDE = 0.8
"""Spread of a place in such a loop, V: the swing of a TTL output evenly spread, assumed."""
_RAISED = 1.15
_OFFSET = 0.2
_FOLLOWS = 0.04
"""A place that moves by more than this with all thresholds up by about 0.2 V is in the loop, V."""


def unrest(linear: Linear, params: Sequence[Array]) -> Array:
    """Spread [N, B], volt: :data:`WIDE` at places that follow the thresholds, else 0.

    ``linear`` at the solutions, ``params`` for each group [P, M, B] as they were solved with.
    """
    shifted = []
    for group, p in zip(linear.circuit.groups, params, strict=True):
        names = group.law.parameters
        moved = p
        if "vth" in names and "steep" in names:
            moved = p.copy()
            moved[names.index("vth")] *= _RAISED
        elif "vos" in names:
            moved = p.copy()
            moved[names.index("vos")] += _OFFSET
        shifted.append(moved)
    step = np.nan_to_num(linear.response(shifted))
    return np.where(np.abs(step) > _FOLLOWS, WIDE, 0.0)
