"""The row for "something else": a fault that the list does not hold.

It may leave a reading as on a good board, or do anything: a mixture of the healthy row and the
background. How much of each is judgement (common practice, no source); the trials decide.
"""

from __future__ import annotations

import numpy as np

from halfsplit.solve.law import Array

__all__ = ["ANYTHING", "AT_ONE_PART", "FLOOR", "else_row", "with_else"]

ANYTHING = 0.4
"""Weight of "anything" for readings of the board."""

AT_ONE_PART = 0.05
"""The same for an action at one part: an unlisted fault rarely sits just there."""

FLOOR = 0.02
"""Part of every predicted row that is spread evenly: the model may be wrong."""


def else_row(healthy: Array, background: Array, share: float = ANYTHING) -> Array:
    """Row for something else from the healthy row and the background, of one shape."""
    result: Array = (1.0 - share) * healthy + share * background
    return result


def with_else(p: Array, background: Array, share: float = ANYTHING) -> Array:
    """[F + 1, O] of [F, O]: the row for something else put last."""
    return np.vstack([p, else_row(p[0], background, share)])
