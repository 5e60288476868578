"""How much a reading of one of two levels is expected to tell, for thousands of faults and nets.

The tables of :mod:`~halfsplit.belief.gain` hold a chance for each outcome; here a fault says high
or low, so a bit does, and a slip of the hand or the meter is the same for all.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array, believed
from halfsplit.belief.tables import xlog2x

__all__ = ["likelihood", "split_gains"]

_BLOCK = 256
"""Nets at a time, to bound memory."""


def split_gains(p: Array, high: npt.NDArray[np.uint64], slip: float = 0.0) -> Array:
    """[N] bits expected about which row of ``p`` [F + 1] it is.

    Bit f of ``high`` [N, W] (bit k of word w is fault 64 w + k) says that the net is high under
    fault f; the last row of ``p``, something else, says nothing. ``slip``: chance that a reading is
    the wrong one of the two.
    """
    rows = believed(p)
    rows = rows[rows < len(p) - 1]
    weights = p[rows].astype(np.float32)
    word, bit = rows >> 6, (rows & 63).astype(np.uint64)
    share = np.empty(len(high))
    for start in range(0, len(high), _BLOCK):
        ones = high[start : start + _BLOCK, word] >> bit & np.uint64(1)
        share[start : start + _BLOCK] = ones.astype(np.float32) @ weights
    known = float(weights.sum())
    heard = share * (1.0 - slip) + (known - share) * slip + 0.5 * (1.0 - known)
    inner = known * _binary(np.array([slip])) + (1.0 - known)
    return np.maximum(_binary(np.clip(heard, 0.0, 1.0)) - inner, 0.0)


def likelihood(high: npt.NDArray[np.bool_], highs: int, lows: int = 0, slip: float = 0.0) -> Array:
    """[F + 1] how well each fault explains so many high and low readings of one net, which is
    ``high`` [F] under it. Something else holds it at one level or the other, as likely."""
    if_high = (1.0 - slip) ** highs * slip**lows
    if_low = slip**highs * (1.0 - slip) ** lows
    return np.append(np.where(high, if_high, if_low), 0.5 * (if_high + if_low))


def _binary(share: Array) -> Array:
    """Entropy of one of two, bits."""
    both = np.stack([share, 1.0 - share]).astype(np.float32)
    return np.asarray(-xlog2x(both).sum(axis=0), dtype=np.float64)
