"""Low, between, high: readings that are only told apart by two thresholds."""

from __future__ import annotations

import numpy as np

from halfsplit.build.world import Numbers
from halfsplit.checks._normal import quick_cdf
from halfsplit.solve.law import Array

__all__ = ["three_way"]


def three_way(
    numbers: Numbers, low: Array, high: Array, floating: Array, stays: float = 0.0
) -> Array:
    """[C, F, 3] probabilities of being below ``low`` [C], between, and above ``high`` [C].

    The spreads of ``numbers`` have all errors in them; ``floating`` [3] is the row where nothing
    holds the place, and ``stays`` the chance that it is found where its leaks have it all the
    same; unresolved is even.
    """
    mean = np.where(np.isfinite(numbers.mean), numbers.mean, 0.0)
    p = _split(mean, _usable(numbers.spread), low, high)
    two = np.isfinite(numbers.other)
    if two.any():
        other = np.where(two, numbers.other, mean)
        second = _split(other, _usable(numbers.other_spread), low, high)
        p = np.where(two[..., None], 0.5 * (p + second), p)
    p[numbers.floating] = stays * p[numbers.floating] + (1.0 - stays) * floating
    p[numbers.unresolved | np.isnan(numbers.mean)] = 1.0 / 3.0
    return np.ascontiguousarray(np.moveaxis(p, 1, 0))


def _usable(spread: Array) -> Array:
    return np.where(np.isfinite(spread) & (spread > 0.0), spread, 1e-6)


def _split(mean: Array, sigma: Array, low: Array, high: Array) -> Array:
    below = quick_cdf(((low - mean) / sigma).astype(np.float32)).astype(np.float64)
    above = quick_cdf(((mean - high) / sigma).astype(np.float32)).astype(np.float64)
    between = np.maximum(1.0 - below - above, 0.0)
    total = below + between + above
    return np.stack([below / total, between / total, above / total], axis=-1)
