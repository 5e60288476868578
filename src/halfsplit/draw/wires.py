"""Wires: in each gap between columns every net has one vertical, and horizontals to its ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from halfsplit.draw.columns import Column
from halfsplit.draw.model import Sheet

__all__ = ["Wire", "wires_of"]

TRACK = 10
"""Units between verticals."""
Line = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A net as drawn: ``lines`` (x1, y1, x2, y2), and ``dots`` (x, y) where three meet."""

    net: str
    lines: tuple[Line, ...]
    dots: tuple[tuple[int, int], ...]

    @property
    def heights(self) -> tuple[int, ...]:
        return tuple(y for line in self.lines for y in (line[1], line[3]))

    def lower(self, by: int) -> Wire:
        """The same, further down."""
        return replace(
            self,
            lines=tuple((a, b + by, c, d + by) for a, b, c, d in self.lines),
            dots=tuple((x, y + by) for x, y in self.dots),
        )


@dataclass(slots=True, kw_only=True)
class _Gap:
    """Ends in one gap: net -> (y, x where the end is, True when it comes from the left)."""

    ends: dict[str, list[tuple[int, int, bool]]]
    tracks: dict[str, int]
    count: int


def wires_of(
    columns: Sequence[Column], sheet: Sheet, edge: int
) -> tuple[list[Wire], list[int], int]:
    """The wires, the left edge of each column, and the width of it all."""
    gaps = [_gap(columns, at) for at in range(len(columns) + 1)]
    edges: list[int] = []
    starts: list[int] = []
    x = edge
    for at, gap in enumerate(gaps):
        starts.append(x)
        x += TRACK * (gap.count + 1) if gap.count else (0 if at in (0, len(columns)) else TRACK)
        if at < len(columns):
            edges.append(x)
            x += columns[at].width
    lines: dict[str, list[Line]] = {}
    dots: dict[str, list[tuple[int, int]]] = {}
    for at, gap in enumerate(gaps):
        for net, ends in gap.ends.items():
            trunk = starts[at] + TRACK * (gap.tracks[net] + 1)
            ys = sorted(y for y, _, _ in ends)
            if ys[0] != ys[-1]:
                lines.setdefault(net, []).append((trunk, ys[0], trunk, ys[-1]))
            for y, room, from_left in ends:
                border = edges[at - 1] + columns[at - 1].width if from_left else edges[at]
                out = border - room if from_left else border + room
                lines.setdefault(net, []).append((out, y, trunk, y))
            dots.setdefault(net, []).extend((trunk, y) for y in ys if ys[0] < y < ys[-1])
    for at, column in enumerate(columns):
        for item, top in zip(column.items, column.tops, strict=True):
            if item.box is None:
                line = (edges[at], top, edges[at] + column.width, top)
                lines.setdefault(item.ends[0].net, []).append(line)
    wires = [Wire(net=net, lines=tuple(lines[net]), dots=tuple(dots.get(net, ()))) for net in lines]
    return wires, edges, x + edge


def _gap(columns: Sequence[Column], at: int) -> _Gap:
    ends: dict[str, list[tuple[int, int, bool]]] = {}
    for near, right in ((at - 1, True), (at, False)):
        if not 0 <= near < len(columns):
            continue
        column = columns[near]
        for item, top in zip(column.items, column.tops, strict=True):
            spare = (column.width - item.width) // 2
            for end in item.ends:
                if end.right != right:
                    continue
                room = 0
                if item.box is not None:
                    room = (
                        column.width - spare - item.left - item.symbol.width
                        if right
                        else (spare + item.left)
                    )
                ends.setdefault(end.net, []).append((top + end.y, room, right))
    tracks, count = _tracks(ends)
    return _Gap(ends=ends, tracks=tracks, count=count)


def _tracks(ends: dict[str, list[tuple[int, int, bool]]]) -> tuple[dict[str, int], int]:
    """A vertical for each net, so that no two that overlap share one (left-edge algorithm)."""
    spans = sorted(
        (min(y for y, _, _ in of), max(y for y, _, _ in of), net) for net, of in ends.items()
    )
    reach: list[int] = []
    tracks: dict[str, int] = {}
    for low, high, net in spans:
        free = next((at for at, bottom in enumerate(reach) if bottom < low), len(reach))
        if free == len(reach):
            reach.append(high)
        reach[free] = high
        tracks[net] = free
    return tracks, len(reach)
