"""Readings that share their errors, and what another one of them would still tell.

The legs of one net read alike in a state, and often in several states, by one and the same
prediction: what the model or the parts' tolerances are off by, they are off by in all of them. Such
readings count as repeats of one reading. Which are of a kind depends on the fault: an open joint
makes two legs of a net two things.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.belief.gain import group_gain
from halfsplit.belief.posterior import Array, Indices, believed
from halfsplit.belief.tables import Tables
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Takes

__all__ = ["VOLTAGES", "about", "alike", "gain_left"]

VOLTAGES = frozenset({"volts", "level"})
"""Kinds of check that read the voltage of a place, each in its way."""
_VOLTS, _SHARE = 0.03, 0.02
"""Predictions closer than this are one: volts, and share of the prediction (half the model's own
error)."""


def about(check: Check, takes: Takes, world: World) -> tuple[str, ...]:
    """What a check reads, equal for checks that may share their errors."""
    known = world.places if takes in ("place", "pair") else {}
    if not all(place in known for place in check.places):
        return (check.id,)
    nets = tuple(known[place].net for place in check.places)
    return ("voltage", *nets) if check.kind in VOLTAGES else (check.kind, check.state, *nets)


def alike(one: Array, other: Array) -> npt.NDArray[np.bool_]:
    """[F] whether two predictions [F] of a place's volts are one and the same."""
    apart = np.abs(one - other)
    return np.asarray(apart <= _VOLTS + _SHARE * np.abs(one), dtype=np.bool_)


def gain_left(
    p: Array, group: Indices, tables: Tables, check: int, new: Array, read: Sequence[Array]
) -> float:
    """Bits about which group it is that a check still tells after readings of its kin.

    ``new`` [F] is what it is predicted to read, ``read`` what the readings were: faults by which
    both are one thing would read what was read, whatever the table says, and are not told apart.
    """
    rows = believed(p)
    table = tables.table(check)[rows].astype(np.float64)
    weights = p[rows] / p[rows].sum()
    listed = np.flatnonzero(rows < len(p) - 1)
    left = np.zeros(len(rows), dtype=np.bool_)
    left[listed] = True
    for earlier in read:
        same = left.copy()
        same[listed] &= alike(new, earlier)[rows[listed]]
        if same.sum() > 1:
            table[same] = weights[same] @ table[same] / weights[same].sum()
        left &= ~same
    return group_gain(weights, group[rows], table)
