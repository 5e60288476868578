"""Summaries of long rows, so that any stretch of them is drawn from a few thousand numbers.

Level 1 sums up every 16 elements of a row, each further level 8 of the level below, with one
operation: least, largest, or bits seen. Together they are a seventh of the row's length.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["FIRST", "UP", "SparseIndex", "build", "level_sizes", "reduced"]

FIRST, UP = 16, 8
_SMALLEST = 1024
_FINE = 4
"""Elements of a level for one column, at the least: its ends are right to an eighth of it."""
_CHUNK = 1 << 22
_SPARSE = 64


def level_sizes(size: int) -> list[int]:
    """Elements of each level over a row of ``size`` elements."""
    sizes, step = [], FIRST
    while size > _SMALLEST:
        size = -(-size // step)
        sizes.append(size)
        step = UP
    return sizes


def build(row: NDArray[Any], operation: np.ufunc) -> list[NDArray[Any]]:
    """The levels over ``row`` [K], read a few megabytes at a time."""
    levels, step = [], FIRST
    for size in level_sizes(row.size):
        level = np.empty(size, dtype=row.dtype)
        for first in range(0, row.size, _CHUNK):
            piece = row[first : first + _CHUNK]
            part = operation.reduceat(piece, np.arange(0, piece.size, step))
            level[first // step : first // step + part.size] = part
        levels.append(level)
        row, step = level, UP
    return levels


def reduced(
    row: NDArray[Any],
    levels: Sequence[NDArray[Any]],
    operation: np.ufunc,
    bounds: NDArray[np.int64],
) -> NDArray[Any]:
    """The operation over elements bounds[w] to bounds[w + 1] of ``row``, for W columns.

    Where a column has many elements the bounds are rounded to whole elements of a level. A column
    of none has whatever stands there; the caller knows which those are.
    """
    wide = (bounds[-1] - bounds[0]) / max(1, bounds.size - 1)
    block, step = 1, FIRST
    for level in levels:
        if wide < _FINE * block * step:
            break
        row, block, step = level, block * step, UP
    if row.size == 0:
        return np.zeros(bounds.size - 1, dtype=row.dtype)
    at = np.minimum((bounds + block // 2) // block, row.size)
    base, stop = int(at[0]), max(int(at[-1]), int(at[0]) + 1)
    if base >= row.size:
        base, stop = row.size - 1, row.size
    piece = row[base:stop]
    return operation.reduceat(piece, np.clip(at[:-1] - base, 0, piece.size - 1))


class SparseIndex:
    """Looks up many places at once in a long ascending row that is on the disk.

    ``tops`` are every 64th element, every 64th of these, and so on: few enough to stay in the
    cache, so that one look-up touches two pages of the row.
    """

    def __init__(self, row: NDArray[Any]) -> None:
        self.rows = [row]
        while self.rows[-1].size > _SPARSE * _SPARSE:
            self.rows.append(np.ascontiguousarray(self.rows[-1][::_SPARSE]))

    def find(self, values: NDArray[Any], side: str = "left") -> NDArray[np.int64]:
        """As ``numpy.searchsorted`` of the row."""
        right = side == "right"
        found = np.searchsorted(self.rows[-1], values, side="right" if right else "left")
        for row in reversed(self.rows[:-1]):
            # Between the last sparse element before the value and the next one.
            low = np.maximum(found - 1, 0) * _SPARSE
            high = np.minimum(found * _SPARSE, row.size)
            for _ in range(_SPARSE.bit_length()):
                middle = np.minimum((low + high) >> 1, row.size - 1)
                below = row[middle] <= values if right else row[middle] < values
                below &= low < high
                high = np.where(below, high, np.maximum(low, middle))
                low = np.where(below, middle + 1, low)
            found = low
        return found.astype(np.int64)
