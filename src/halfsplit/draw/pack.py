"""Rectangles side by side in rows."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

__all__ = ["packed"]

SPACE = 30
"""Units between them."""
ASPECT = 1.7
"""Wanted width for a height."""


def packed(
    sizes: Sequence[tuple[int, int]], least: int = 0
) -> tuple[list[tuple[int, int]], int, int]:
    """Corner of each rectangle (width, height), and the width and height of all: each goes where
    its lower edge is highest, tall ones first, within a width of ``least`` or that looks well."""
    area = sum((width + SPACE) * (height + SPACE) for width, height in sizes)
    room = max([least, int(sqrt(ASPECT * area)), *(width for width, _ in sizes)], default=0)
    skyline = [(0, room + SPACE, 0)]
    spots: dict[int, tuple[int, int]] = {}
    for at in sorted(range(len(sizes)), key=lambda at: (-sizes[at][1], at)):
        wide, high = sizes[at][0] + SPACE, sizes[at][1] + SPACE
        y, x = min(
            (max(top for a, b, top in skyline if a < x + wide and x < b), x)
            for x, _, _ in skyline
            if x + wide <= room + SPACE
        )
        spots[at] = (x, y)
        skyline = _raised(skyline, x, x + wide, y + high)
    width = max((spots[at][0] + sizes[at][0] for at in spots), default=0)
    height = max((spots[at][1] + sizes[at][1] for at in spots), default=0)
    return [spots[at] for at in range(len(sizes))], width, height


def _raised(
    skyline: Sequence[tuple[int, int, int]], left: int, right: int, top: int
) -> list[tuple[int, int, int]]:
    found = [(left, right, top)]
    for a, b, y in skyline:
        if a < left:
            found.append((a, min(b, left), y))
        if b > right:
            found.append((max(a, right), b, y))
    return sorted(found)
