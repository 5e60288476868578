"""Belief across repairs: what was wrong to begin with, and what is wrong now.

A repair that should have cured a fault took, or it did not take, or the work did harm of its own.
Which of the three it was is the same for all readings after it, so their likelihoods are multiplied
within each and only then added.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array, Indices, posterior
from halfsplit.belief.shapes import two
from halfsplit.frozen import dataclass

__all__ = ["FAILED", "HARMED", "Mask", "Seconds", "Split", "across_repairs", "seconds"]

Mask = npt.NDArray[np.bool_]

FAILED, HARMED = 0.04, 0.03
"""A repair that did not take (a bad spare, a joint not wetted), and one that made a new fault at
the pins it was done on (judgement, no source)."""


@dataclass(frozen=True, slots=True)
class Split:
    """``cause`` [F + 1] what was wrong to begin with; ``now`` [F + 1] what is wrong now, row 0 the
    share of what was put right."""

    cause: Array
    now: Array


def across_repairs(
    prior: Array,
    epochs: Sequence[Array],
    cured_at: Indices,
    tries: Indices,
    harm: Sequence[Mask],
) -> Split:
    """Belief from readings in the epochs between repairs.

    ``prior`` [F + 1]; ``epochs`` K + 1 joint log2 likelihoods [F + 1] of the readings before the
    first repair, after it, and so on; ``cured_at`` [F + 1] number of the last repair (from 1) that
    should have cured each fault, 0 for none; ``tries`` [F + 1] how many of them should have (all
    before the last must have failed if it was that fault); ``harm`` K masks [F + 1] of faults that
    each repair's work may have made.
    """
    total = np.sum(epochs, axis=0) + np.log2(FAILED) * np.maximum(tries - 1, 0)
    shares: dict[int, tuple[Array, Array, Array]] = {}
    for number in range(1, len(epochs)):
        after = np.sum(epochs[number:], axis=0)
        new = _harm(after, harm[number - 1])
        took = np.full(len(prior), np.log2(1.0 - FAILED - HARMED) + after[0])
        failed = np.log2(FAILED) + after
        harmed = np.full(len(prior), np.log2(HARMED) + (new[0] if new else after[0]))
        whole = np.logaddexp2(np.logaddexp2(took, failed), harmed)
        mine = cured_at == number
        total = np.where(mine, total - after + whole, total)
        if not new:
            took = np.logaddexp2(took, harmed)
        spread = new[1] if new else np.zeros(len(prior))
        shares[number] = (np.exp2(took - whole), np.exp2(failed - whole), spread)
    cause = posterior(prior, total)
    now = np.where(cured_at > 0, 0.0, cause)
    for number, (took, failed, spread) in shares.items():
        mine = np.where(cured_at == number, cause, 0.0)
        now[0] += float(mine @ took)
        now = now + mine * failed
        lost = float(mine @ np.maximum(1.0 - took - failed, 0.0))
        now = now + lost * spread if spread.any() else now
    return Split(cause=cause, now=now / max(float(now.sum()), 1e-300))


@dataclass(frozen=True, slots=True)
class Seconds:
    """For each fault [F + 1] beside one that a repair has put right: ``first`` the row of the
    likeliest such, ``prior`` of it and any of them, ``weight`` log2 of that and of all readings
    under it; minus infinity where there is none."""

    first: Indices
    prior: Array
    weight: Array


def seconds(prior: Array, rows: Array, epoch: Indices, cured_at: Indices) -> Seconds:
    """What else was wrong, if the repairs have put right one fault of two.

    ``prior`` [F + 1]; ``rows`` [E, F + 1] log2 likelihoods as if nothing had been repaired;
    ``epoch`` [E] repairs done before each reading; ``cured_at`` [F + 1] number of the repair that
    put each fault right, 0 for none. Until then both faults were there, from then on the second
    alone, so that beside a repair that took the second is looked for like a single fault.
    """
    with np.errstate(divide="ignore"):
        start = np.log2(prior)
    firsts = np.flatnonzero((cured_at[:-1] > 0) & (prior[:-1] > 0.0))
    none = np.full(len(prior), -np.inf)
    if not len(firsts):
        return Seconds(np.zeros(len(prior), dtype=np.int64), np.zeros(len(prior)), none)
    healthy = rows[:, :1]
    fits = np.stack(
        [
            two(np.where(epoch < cured_at[row], rows[:, row], rows[:, 0])[:, None], rows, healthy)
            .sum(axis=0)
            for row in firsts
        ]
    )  # fmt: skip
    each = start[firsts, None] + fits
    best = each.argmax(axis=0)
    top = each.max(axis=0)
    whole = top + np.log2(np.exp2(each - top).sum(axis=0))
    alone = (cured_at == 0) & (prior > 0.0)
    alone[-1] = False
    fit = fits[best, np.arange(len(prior))]
    return Seconds(
        first=firsts[best],
        prior=np.where(alone, prior * np.exp2(whole - fit), 0.0),
        weight=np.where(alone, start + whole, none),
    )


def _harm(after: Array, mask: Mask) -> tuple[float, Array] | None:
    """Log2 of the mean likelihood of the faults that the work may have made, and how that is
    spread over them [F + 1]; ``None`` when there is none."""
    if not mask.any():
        return None
    weights = np.where(mask, after, -np.inf)
    top = float(weights.max())
    if not np.isfinite(top):
        return None
    spread = np.exp2(weights - top)
    return top + float(np.log2(spread.sum() / mask.sum())), spread / spread.sum()
