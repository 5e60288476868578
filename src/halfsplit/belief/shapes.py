"""Faults in other shapes than one that is always there: two at once, and one that comes and goes.

Rows are log2 likelihoods of E readings under F + 1 hypotheses, row 0 the healthy board, the last
"something else", as in :mod:`halfsplit.belief.posterior`.
"""

from __future__ import annotations

import numpy as np

from halfsplit.belief.posterior import Array, Indices
from halfsplit.frozen import dataclass

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


def best_pairs(prior: Array, rows: Array, count: int) -> tuple[Pair, ...]:
    """The ``count`` likeliest pairs of faults, best first.

    ``prior`` [F + 1] of each; ``rows`` [E, F + 1]. Each fault is tried with all that are no
    likelier than itself, likeliest first, until no pair left can be better than the last kept: a
    pair is at most as likely as its likelier half squared times the best that any fault makes of
    every reading.
    """
    size = len(prior) - 1
    with np.errstate(divide="ignore"):
        start = np.log2(prior[:size])
    order = np.flatnonzero(np.isfinite(start) & (np.arange(size) > 0))
    order = order[np.argsort(-start[order], kind="stable")]
    mine, healthy = rows[:, order], rows[:, :1]
    moves = np.abs(mine - healthy) >= SILENT
    alone = mine.sum(axis=0)
    most = float(mine.max(axis=1, initial=-np.inf).sum()) if len(order) else 0.0
    kept = _Best(count)
    for at, first in enumerate(order):
        if 2.0 * start[first] + most <= kept.least:
            break
        moved, rest = moves[:, at], slice(at + 1, None)
        # where the first leaves a reading as it is, the other decides it
        theirs = mine[moved, rest]
        together = alone[rest] - theirs.sum(axis=0)
        together = together + two(mine[moved, at, None], theirs, healthy[moved]).sum(axis=0)
        kept.offer(int(first), order[rest], start[first] + start[order[rest]] + together)
    return kept.pairs()


class _Best:
    """The best ``count`` pairs of those offered."""

    def __init__(self, count: int) -> None:
        self.count, self.least = count, -np.inf
        self._found = np.zeros((3, 0))

    def offer(self, first: int, others: Indices, weights: Array) -> None:
        """Pairs of ``first`` with each of ``others`` [n], ``weights`` [n]."""
        better = np.flatnonzero(weights > self.least)
        mine = np.stack([weights[better], np.full(len(better), float(first)), others[better]])
        self._found = np.hstack([self._found, mine])
        if self._found.shape[1] > 4 * self.count:
            self._keep()

    def pairs(self) -> tuple[Pair, ...]:
        """Best first."""
        self._keep()
        return tuple(
            Pair(first=int(first), second=int(second), weight=float(weight))
            for weight, first, second in self._found.T
        )

    def _keep(self) -> None:
        best = np.argsort(-self._found[0], kind="stable")[: self.count]
        self._found = self._found[:, best]
        if len(best) == self.count:
            self.least = float(self._found[0, -1])


def mixed(row: Array, healthy: Array, fraction: Array | float) -> Array:
    """Log2 likelihood of a fault that is there at a fraction of readings."""
    with np.errstate(divide="ignore"):
        there, away = np.log2(fraction), np.log2(1.0 - np.asarray(fraction))
    found: Array = np.logaddexp2(there + row, away + healthy)
    return found


def now_and_then(rows: Array, known: Array | None = None) -> Share:
    """Weigh every fault as one that comes and goes, over :data:`FRACTIONS`; ``rows`` [E, F + 1]
    of readings that each found it there or not. ``known`` [E] is the chance that it was there at a
    reading, where that is known whatever the share is, else not-a-number."""
    unknown = np.isnan(known) if known is not None else np.ones(len(rows), dtype=np.bool_)
    open_ = rows[unknown]
    each = mixed(open_[None], open_[None, :, :1], FRACTIONS[:, None, None]).sum(axis=1)
    if known is not None:
        rest = rows[~unknown]
        each = each + mixed(rest, rest[:, :1], known[~unknown, None]).sum(axis=0)
    top = each.max(axis=0)
    weights = np.exp2(each - top)
    total = weights.sum(axis=0)
    return Share(
        weight=top + np.log2(total / len(FRACTIONS)),
        fraction=(FRACTIONS[:, None] * weights).sum(axis=0) / total,
    )
