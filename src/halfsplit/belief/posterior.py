"""Belief from readings: log-domain update over **F** + 1 rows, the last row "something else".

Row 0 is the healthy board. A *row of likelihoods* says how well each fault explains one reading;
its scale is free, so everything here is a ratio within the row. The last row is what a blind
guess would give and serves as the yardstick: see :func:`misfit`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

__all__ = [
    "UNEXPLAINED",
    "Array",
    "Indices",
    "believed",
    "either",
    "entropy",
    "group_sums",
    "joint",
    "misfit",
    "normalise",
    "posterior",
    "repeats",
    "surprise",
]

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.int64]

NEGLIGIBLE = 1e-6
"""Rows believed less than this are left out of sums."""
UNEXPLAINED = 3.0
"""Bits by which a reading is worse explained than by a blind guess before the fault counts as
not explaining it (an eighth as likely)."""


def posterior(prior: Array, log_joint: Array) -> Array:
    """[F + 1] belief from ``prior`` [F + 1] and the joint log2 likelihood [F + 1]."""
    weights = _log2(prior) + log_joint
    top = weights.max(initial=-np.inf)
    if not np.isfinite(top):
        return normalise(np.zeros_like(prior))
    return normalise(np.exp2(weights - top))


def joint(rows: Sequence[Array], size: int) -> Array:
    """[F + 1] log2 of the product of independent rows of likelihoods; zeros for no row."""
    total = np.zeros(size)
    for row in rows:
        total = total + _log2(row)
    return total


def either(each: Array, first: Array, second: Array) -> Array:
    """[F + 1] joint log2 likelihood of readings that may each stand one of two ways.

    ``each`` takes every reading as either way on its own, ``first`` and ``second`` all of them one
    way. What stands either way mostly stands so for good, but a latch may wake anew: half the
    weight is on standing one way throughout.
    """
    together = np.logaddexp2(first, second) - 1.0
    return np.asarray(np.logaddexp2(each, together) - 1.0, dtype=np.float64)


def repeats(
    rows: Sequence[Array], first: Indices | None = None, apart: Array | None = None
) -> Array:
    """[F + 1] joint log2 likelihood of n repeated readings of one thing.

    Repeats share part tolerances and model error, so what they say in agreement counts once. A
    slip of the meter or of the hand is new each time, so what a fault leaves unexplained (beyond
    :data:`UNEXPLAINED` bits worse than a blind guess) adds up, and of readings that disagree
    each counts in full. ``first`` [n, F + 1] numbers, fault by fault, the first reading that each
    repeats (itself when it is none); without it all repeat the first. ``apart`` [n, F + 1] are
    bits, none above zero, by which a reading differs from that first one more than a repeat may.
    """
    against = np.stack([-misfit(row) for row in rows])
    if first is None:
        first = np.zeros(against.shape, dtype=np.int64)
    total = np.zeros(against.shape[1])
    worst = against if apart is None else np.minimum(against, apart)
    for number in range(len(rows)):
        said = np.where(first == number, against, 0.0)
        total += np.maximum(said, 0.0).max(axis=0)
        said = np.where(first == number, worst, 0.0)
        total += np.clip(said, -UNEXPLAINED, 0.0).min(axis=0)
        total += np.minimum(said + UNEXPLAINED, 0.0).sum(axis=0)
    return total


def believed(p: Array) -> Indices:
    """Indices of the rows of ``p`` [F + 1] that are worth reckoning with."""
    return np.flatnonzero(p >= NEGLIGIBLE).astype(np.int64)


def normalise(weights: Array) -> Array:
    """[F + 1] weights scaled to sum to one. When nothing is left, something else takes all."""
    total = float(weights.sum())
    if total > 0.0 and np.isfinite(total):
        return np.asarray(weights / total, dtype=np.float64)
    rest = np.zeros(len(weights))
    rest[-1] = 1.0
    return rest


def misfit(row: Array) -> Array:
    """[F + 1] bits by which each fault explains the reading worse than a blind guess does.

    Negative where the fault explains it better. Where the last row is zero the best row is the
    yardstick instead.
    """
    logs = _log2(row)
    if not np.isfinite(logs).any():
        return np.zeros(len(row))
    yardstick = logs[-1] if np.isfinite(logs[-1]) else logs.max()
    return np.asarray(yardstick - logs, dtype=np.float64)


def surprise(p: Array, row: Array) -> float:
    """Bits by which the belief ``p`` expected the reading less than the fault that suits it best.

    Zero when everything believed expects it as much as anything could.
    """
    best, found = float(row.max()), float(p @ row)
    if best <= 0.0:
        return 0.0
    return float(np.log2(best / found)) if found > 0.0 else float("inf")


def entropy(p: Array) -> float:
    """Uncertainty of a distribution, bits."""
    some = p[p > 0.0]
    return float(-(some * np.log2(some)).sum()) + 0.0


def group_sums(p: Array, group: Indices, count: int) -> Array:
    """[count] sums of ``p`` [F + 1] over ``group`` [F + 1] of indices below ``count``."""
    return np.bincount(group, weights=p, minlength=count).astype(np.float64)


def _log2(x: Array) -> Array:
    with np.errstate(divide="ignore"):
        return np.asarray(np.log2(x), dtype=np.float64)
