"""Samples and levels of one block: how fine ticks are, what changed since the block before."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.record import Digital

__all__ = ["as_samples", "edges", "fine_tick", "good_times"]


def as_samples(values: NDArray[Any], scale: float = 1.0) -> NDArray[np.float32]:
    """Values [...] times ``scale``; what is too large for float32 becomes infinite."""
    with np.errstate(over="ignore", invalid="ignore"):
        return (values if scale == 1.0 else values * scale).astype(np.float32)


def fine_tick(times: NDArray[np.float64]) -> float:
    """A power of ten, a thousandth of the least step between times (seconds) or less."""
    steps = np.diff(times[np.isfinite(times)])
    steps = steps[steps > 0]
    least = float(steps.min(initial=math.inf))
    if not 1e-300 < least < math.inf:
        return 1e-9
    return float(f"1e{math.floor(math.log10(least)) - 3}")


def good_times(times: NDArray[np.float64], before: float, tick: float) -> int:
    """How many of times [K] come before one that is missing, goes back or is beyond all ticks."""
    if not times.size or (times[0] >= before and (times[1:] >= times[:-1]).all()):
        ends = np.abs(times[[0, -1]]) if times.size else np.empty(0)
        if (ends < tick * 2.0**62).all():
            return times.size
    bad = ~(np.diff(times, prepend=before) >= 0) | ~(np.abs(times) < tick * 2.0**62)
    return int(bad.argmax()) if bad.any() else times.size


def edges(
    name: str, times: NDArray[np.float64], levels: NDArray[np.int64], tick: float, before: int
) -> Digital:
    """The edges of levels [K] seen at times [K] s, when ``before`` was the level (-1: none)."""
    kept = np.diff(levels, prepend=before) != 0
    ticks = np.rint(times[kept] / tick).astype(np.int64)
    return Digital(name=name, tick=tick, ticks=ticks, values=levels[kept].astype(np.uint8))
