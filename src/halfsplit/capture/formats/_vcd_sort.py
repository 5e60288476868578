"""The changes of one block, sorted by channel."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.formats._vcd_changes import Changes

__all__ = ["group"]


def group(
    changes: Changes, every: NDArray[np.uint8], last: NDArray[np.uint8]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.uint8]]:
    """Starts [S], counts [S], ticks [K] and values [K] of each slot, in order of time.

    What is no change is dropped, and of several at one tick all but the last, unless ``every`` [S]
    of the slot. ``last`` [S] has the values before, and is brought up to date.
    """
    order = np.argsort(changes.slot.astype(np.uint16), kind="stable")
    slot, tick, value = changes.slot[order], changes.tick[order], changes.value[order]
    keep = every[slot].astype(bool)
    same = slot[1:] == slot[:-1]
    final = np.ones(slot.size, dtype=bool)
    final[:-1] = ~(same & (tick[1:] == tick[:-1]))
    if not (final | keep).all():
        chosen = final | keep
        slot, tick, value, keep = slot[chosen], tick[chosen], value[chosen], keep[chosen]
        same = slot[1:] == slot[:-1]
    before = np.empty(slot.size, dtype=np.uint8)
    before[1:] = value[:-1]
    fresh = np.concatenate(([True], ~same)) if slot.size else np.empty(0, dtype=bool)
    before[fresh] = last[slot[fresh]]
    new = keep | (before != value)
    if not new.all():
        slot, tick, value = slot[new], tick[new], value[new]
    edges = np.searchsorted(slot, np.arange(every.size + 1))
    starts, counts = edges[:-1], np.diff(edges)
    filled = counts > 0
    last[filled] = value[edges[1:][filled] - 1]
    return starts, counts, tick, value
