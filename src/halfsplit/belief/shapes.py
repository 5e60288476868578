"""Faults in other shapes than one that is always there: two at once, and one that comes and goes.

Rows are log2 likelihoods of E readings under F + 1 hypotheses, row 0 the healthy board, the last
"something else", as in :mod:`halfsplit.belief.posterior`.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array

__all__ = ["FRACTIONS", "SILENT", "Pair", "Share", "best_pairs", "mixed", "now_and_then", "two"]

SILENT = 0.3
"""Bits within which a fault leaves a reading as the healthy board does."""
FRACTIONS = np.array([0.1, 0.25, 0.5, 0.75, 0.9])
"""Shares of readings at which an intermittent fault is present, all as likely before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two faults at once and the log2 weight of both, prior and readings together."""

    first: int
    second: int
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How often intermittent faults are there.

    ``weight`` [F + 1] log2 evidence of the readings, over all shares; ``fraction`` [F + 1] mean of
    the share given the readings.
    """

    weight: Array
    fraction: Array


def two(a: Array, b: Array, healthy: Array) -> Array:
    """Log2 likelihoods of two faults on separate parts at once, from those of each (any shapes
    that broadcast): where one leaves the reading as it is on a good board, the other decides;
    where both move it, the mean of both, until somebody solves for the two together."""
    mute_a, mute_b = np.abs(a - healthy) < SILENT, np.abs(b - healthy) < SILENT
    both = np.logaddexp2(a, b) - 1.0
    found: Array = np.where(mute_a, b, np.where(mute_b, a, both))
    return found


def best_pairs(
    prior: Array, rows: Array, count: int, also: npt.NDArray[np.bool_] | None = None
) -> tuple[Pair, ...]:
    """The ``count`` likeliest pairs of faults, best first.

    ``prior`` [F + 1] of each; ``rows`` [E, F + 1]; ``also`` [F + 1] faults that may be in a pair
    (all unless given). Each fault is tried with all that are no likelier than itself, likeliest
    first, until no pair left can be better than the last kept: a pair is at most as likely as
    its likelier half squared times the best that any fault makes of every reading.
    """
    size = len(prior) - 1
    with np.errstate(divide="ignore"):
        start = np.log2(prior[:size])
    able = np.isfinite(start) & (np.arange(size) > 0)
    if also is not None:
        able &= also[:size]
    order = np.flatnonzero(able)
    order = order[np.argsort(-start[order], kind="stable")]
    healthy = rows[:, :1]
    most = float(rows[:, order].max(axis=1).sum()) if len(order) else 0.0
    kept: list[tuple[float, int, int]] = []
    for at, first in enumerate(order):
        if len(kept) == count and 2.0 * start[first] + most <= kept[0][0]:
            break
        others = order[at + 1 :]
        if not len(others):
            break
        together = two(rows[:, first : first + 1], rows[:, others], healthy).sum(axis=0)
        weights = start[first] + start[others] + together
        for k in np.argsort(-weights, kind="stable")[:count]:
            one = (float(weights[k]), int(first), int(others[k]))
            if len(kept) < count:
                heapq.heappush(kept, one)
            elif one[0] > kept[0][0]:
                heapq.heapreplace(kept, one)
            else:
                break
    return tuple(
        Pair(first=first, second=second, weight=weight)
        for weight, first, second in sorted(kept, reverse=True)
    )


def mixed(row: Array, healthy: Array, fraction: Array | float) -> Array:
    """Log2 likelihood of a fault that is there at a fraction of readings."""
    with np.errstate(divide="ignore"):
        there, away = np.log2(fraction), np.log2(1.0 - np.asarray(fraction))
    found: Array = np.logaddexp2(there + row, away + healthy)
    return found


def now_and_then(rows: Array) -> Share:
    """Weigh every fault as one that comes and goes, over :data:`FRACTIONS`; ``rows`` [E, F + 1]
    of readings that each found it there or not."""
    each = mixed(rows[None], rows[None, :, :1], FRACTIONS[:, None, None]).sum(axis=1)
    top = each.max(axis=0)
    weights = np.exp2(each - top)
    total = weights.sum(axis=0)
    return Share(
        weight=top + np.log2(total / len(FRACTIONS)),
        fraction=(FRACTIONS[:, None] * weights).sum(axis=0) / total,
    )
