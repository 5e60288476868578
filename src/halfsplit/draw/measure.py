"""How good a drawing is, in numbers that can be compared."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from halfsplit.draw.layout import Drawing, Placed
from halfsplit.frozen import dataclass

__all__ = ["Quality", "quality"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Quality:
    """``crossings`` of wires of two nets, ``overlaps`` of parts with all that is written at them,
    ``through``: wires that run through a part's symbol; ``length`` of all wires in units, and their
    ``bends``."""

    crossings: int
    overlaps: int
    through: int
    length: int
    bends: int
    width: int
    height: int


def quality(drawing: Drawing) -> Quality:
    """Measured on the lines as drawn."""
    flat = [
        (at, *line)
        for at, wire in enumerate(drawing.wires)
        for line in wire.lines
    ]  # fmt: skip
    lines = np.array(flat, dtype=np.int64).reshape(len(flat), 5)
    level, upright = lines[lines[:, 2] == lines[:, 4]], lines[lines[:, 1] == lines[:, 3]]
    low_x, high_x = level[:, [1, 3]].min(axis=1), level[:, [1, 3]].max(axis=1)
    low_y, high_y = upright[:, [2, 4]].min(axis=1), upright[:, [2, 4]].max(axis=1)
    x, y = upright[:, 1], level[:, 2]
    met = (
        (low_x[:, None] <= x) & (x <= high_x[:, None])
        & (low_y <= y[:, None]) & (y[:, None] <= high_y)
    )  # fmt: skip
    own = level[:, 0][:, None] == upright[:, 0]
    return Quality(
        crossings=int((met & ~own).sum()),
        overlaps=sum(_apart(a, b) is False for a, b in combinations(drawing.boxes, 2)),
        through=_through(lines, drawing),
        length=int(np.abs(lines[:, 1:3] - lines[:, 3:5]).sum()),
        bends=int((met & own).sum()),
        width=drawing.width,
        height=drawing.height,
    )


def _apart(one: Placed, other: Placed) -> bool:
    a, b = one.room, other.room
    return a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def _through(lines: np.ndarray[tuple[int, ...], np.dtype[np.int64]], drawing: Drawing) -> int:
    """Lines that come into the inside of a symbol, its pins' ends left out."""
    low, high = np.minimum(lines[:, 1:3], lines[:, 3:5]), np.maximum(lines[:, 1:3], lines[:, 3:5])
    total = 0
    for one in drawing.boxes:
        corner = np.array([one.x, one.y + 20 * (one.symbol.name[1] == 13)]) + 1
        other = np.array([one.x + one.symbol.width, one.y + one.symbol.height]) - 1
        total += int(((low < other) & (high > corner)).all(axis=1).sum())
    return total
