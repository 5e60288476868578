"""Wires: in each gap between columns every net has one upright, and level lines to its ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.draw.columns import Column
from halfsplit.draw.tracks import Ends, tracks_of
from halfsplit.frozen import dataclass

__all__ = ["Line", "Wire", "wires_of"]

TRACK = 10
"""Units between uprights."""
LEAST = 20
"""Units between columns."""
_TURNS = 12
Line = tuple[int, int, int, int]
Line3 = tuple[int, int, int]
Tap = tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A net as drawn: ``lines`` (x1, y1, x2, y2), and ``dots`` (x, y) where three meet."""

    net: str
    lines: tuple[Line, ...]
    dots: tuple[tuple[int, int], ...]

    def moved(self, right: int, down: int) -> Wire:
        """The same elsewhere."""
        return replace(
            self,
            lines=tuple((a + right, b + down, c + right, d + down) for a, b, c, d in self.lines),
            dots=tuple((x + right, y + down) for x, y in self.dots),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Gap:
    """Ends in one gap: net -> its heights on each side, and which track its upright has."""

    ends: dict[str, Ends]
    tracks: dict[str, int]

    @property
    def width(self) -> int:
        return max(LEAST, TRACK * (max(self.tracks.values(), default=0) + 2))


def wires_of(columns: Sequence[Column]) -> tuple[list[Wire], list[int]]:
    """The wires, and the left edge of each column; columns may be lowered by five."""
    gaps = _gaps(columns)
    edges, starts = [], []
    x = 0
    for at, gap in enumerate(gaps):
        starts.append(x)
        x += gap.width if gap.ends or 0 < at < len(columns) else 0
        if at < len(columns):
            edges.append(x)
            x += columns[at].width
    lines: dict[str, list[Line]] = {}
    for start, gap in zip(starts, gaps, strict=True):
        for net, ends in gap.ends.items():
            lines.setdefault(net, []).extend(_in_gap(ends, gap.tracks.get(net), start, gap.width))
    taps: dict[str, list[Tap]] = {}
    for column, edge in zip(columns, edges, strict=True):
        for item, top in zip(column.items, column.tops, strict=True):
            if item.net:
                x, y = edge + column.inset(item), top + item.level
                reach = [x + at for at in (*(tap for tap, _ in item.taps),
                                           *(end.x for end in item.ends))]  # fmt: skip
                lines.setdefault(item.net, []).append((min(reach), y, max(reach), y))
                taps.setdefault(item.net, []).extend((x + tap, y, n) for tap, n in item.taps)
    return [_wire(net, of, taps.get(net, ())) for net, of in lines.items()], edges


def _gaps(columns: Sequence[Column]) -> list[_Gap]:
    """All gaps. Where the order of uprights would be circular an item is lowered by five, so that
    no end of it has the height of one on the other side; at last the whole column is."""
    gaps = []
    for at in range(len(columns) + 1):
        for turn in range(_TURNS + 1):
            ends = _ends(columns, at)
            tracks, clash = tracks_of(ends)
            if clash is None:
                break
            _lower(columns, at, clash if turn < _TURNS else None)
        gaps.append(_Gap(ends=ends, tracks=tracks))
    return gaps


def _lower(columns: Sequence[Column], at: int, height: int | None) -> None:
    """Lower by five what has an end on the left of a column at a height, and what is wired to it
    in a straight line; ``None`` lowers all of the column."""
    moved: set[tuple[str, int]] = set()
    for number, column in enumerate(columns[at:]):
        after: set[tuple[str, int]] = set()
        for place, (item, top) in enumerate(zip(column.items, column.tops, strict=True)):
            left = {(end.net, top + end.y) for end in item.ends if not end.right}
            hit = not number and (height is None or any(y == height for _, y in left))
            if (hit or left & moved) and top % 10 == 0:
                column.tops[place] = top + 5
                after |= {(end.net, top + end.y) for end in item.ends if end.right}
        moved = after


def _ends(columns: Sequence[Column], at: int) -> dict[str, Ends]:
    found: dict[str, Ends] = {}
    for near, right in ((at - 1, True), (at, False)):
        if not 0 <= near < len(columns):
            continue
        column = columns[near]
        for item, top in zip(column.items, column.tops, strict=True):
            own = column.inset(item)
            for end in item.ends:
                if end.right == right:
                    ends = found.setdefault(end.net, Ends())
                    inset = column.width - own - end.x if right else own + end.x
                    (ends.left if right else ends.right)[top + end.y] = inset
    return found


def _in_gap(ends: Ends, track: int | None, start: int, width: int) -> list[Line]:
    if track is None:
        ((y, left),), ((_, right),) = ends.left.items(), ends.right.items()
        return [(start - left, y, start + width + right, y)]
    trunk = start + TRACK * (track + 1)
    found = [(start - inset, y, trunk, y) for y, inset in ends.left.items()]
    found += [(trunk, y, start + width + inset, y) for y, inset in ends.right.items()]
    low, high = ends.span
    return found if low == high else [*found, (trunk, low, trunk, high)]


def _wire(net: str, lines: Sequence[Line], taps: Sequence[Tap]) -> Wire:
    level = _merged([(y, min(a, b), max(a, b)) for a, y, b, other in lines if y == other])
    upright = _merged([(x, min(a, b), max(a, b)) for x, a, other, b in lines if x == other])
    joints = {(x, y): count for x, y, count in taps}
    for x, top, bottom in upright:
        for y, left, right in level:
            if left <= x <= right and top <= y <= bottom:
                joints[x, y] = joints.get((x, y), 0) + (top < y) + (y < bottom)
    dots = [
        (x, y)
        for (x, y), count in joints.items()
        if count + sum((a < x) + (x < b) for at, a, b in level if at == y and a <= x <= b) > 2
    ]
    return Wire(
        net=net,
        lines=(*((a, y, b, y) for y, a, b in level), *((x, a, x, b) for x, a, b in upright)),
        dots=tuple(sorted(dots)),
    )


def _merged(pieces: Sequence[Line3]) -> list[Line3]:
    """(at, from, to) with those that touch joined; a piece of no length goes into its neighbour."""
    found: list[Line3] = []
    for at, low, high in sorted(pieces):
        if found and found[-1][0] == at and low <= found[-1][2]:
            found[-1] = (at, found[-1][1], max(high, found[-1][2]))
        else:
            found.append((at, low, high))
    return found
