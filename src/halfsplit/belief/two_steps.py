"""Two checks ahead: the check that is best by itself need not be the best to begin with.

Checks are chosen by bits per minute. Of a few that are nearly as good, the one that leaves the
better check after it is taken: bits of both, as expected, over the minutes of both.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.belief.gain import group_gains
from halfsplit.belief.posterior import Array, Indices, believed
from halfsplit.belief.tables import Tables

__all__ = ["two_step_rates"]

_RARE = 0.02
"""Outcomes less likely than this are not followed."""


def two_step_rates(
    p: Array, group: Indices, tables: Tables, first: Sequence[int], then: Sequence[int],
    minutes: Array,
) -> Array:  # fmt: skip
    """[first] bits per minute of each check together with the best one after it.

    ``p`` [F + 1], ``group`` [F + 1] numbers the rows' groups, ``first`` and ``then`` checks of
    ``tables``, ``minutes`` [C] of each. No second check is taken where it would tell nothing.
    """
    follow = np.array(then, dtype=np.int64)
    after, cost = tables.take(follow), minutes[follow]
    gains = group_gains(p, group, tables.take(np.array(first, dtype=np.int64)))
    rates = np.empty(len(first))
    for at, check in enumerate(first):
        joint = p[:, None] * tables.table(check)
        chance = joint.sum(axis=0)
        bits, spent = float(gains[at]), float(minutes[check])
        for outcome in np.flatnonzero(chance > _RARE):
            left = joint[:, outcome] / chance[outcome]
            if len(believed(left)) < 2:
                continue
            more = np.where(follow == check, 0.0, group_gains(left, group, after))
            best = int(np.argmax(more / cost))
            if more[best] > _RARE:
                bits += float(chance[outcome] * more[best])
                spent += float(chance[outcome] * cost[best])
        rates[at] = bits / spent
    return rates
