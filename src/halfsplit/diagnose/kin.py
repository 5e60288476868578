"""What another reading of one kin would still tell (see :mod:`halfsplit.diagnose.forecast`)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.belief.gain import group_gain
from halfsplit.belief.posterior import Array, Indices, believed
from halfsplit.belief.tables import Tables
from halfsplit.diagnose.forecast import Forecast

__all__ = ["gain_left"]


def gain_left(
    p: Array, group: Indices, tables: Tables, check: int, new: Forecast, read: Sequence[Forecast]
) -> float:
    """Bits about which group it is that a check still tells after readings of its kin.

    ``new`` is what it is predicted to read, ``read`` what the readings were: faults by which
    both are one thing would read what was read, whatever the table says, and are not told apart.
    Of several readings the one counts that most of what is believed takes for the same.
    """
    rows = believed(p)
    table = tables.table(check)[rows].astype(np.float64)
    weights = p[rows] / p[rows].sum()
    left = np.ones(len(rows), dtype=np.bool_)
    repeated = [new.same(earlier)[rows] for earlier in read]
    for one in sorted(repeated, key=lambda same: -float(weights[same].sum())):
        same = left & one
        if same.sum() > 1:
            table[same] = weights[same] @ table[same] / weights[same].sum()
        left &= ~same
    return group_gain(weights, group[rows], table)
