"""The order of items in their columns, with few crossings, and how high they stand."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import combinations, pairwise

from halfsplit.draw.columns import Column, Item
from halfsplit.draw.model import Sheet

__all__ = ["arranged", "crossings"]

STARTS, SWEEPS, SETTLE = 8, 6, 6
GAP = 20
"""Units between boxes; a passing wire needs half."""


def arranged(columns: list[Column], sheet: Sheet) -> list[Column]:
    """The columns in the best order found, from several starts that are the same every time."""
    best: tuple[int, list[list[Item]]] | None = None
    for start in range(STARTS):
        chance = random.Random(start)
        orders = [list(column.items) for column in columns]
        if start:
            for order in orders:
                chance.shuffle(order)
        for sweep in range(SWEEPS):
            _sweep(orders, forward=sweep % 2 == 0)
            count = crossings(orders)
            if best is None or count < best[0]:
                best = (count, [list(order) for order in orders])
    if best is not None:
        for column, order in zip(columns, best[1], strict=True):
            column.items = order
    _stand(columns)
    return columns


def crossings(orders: Sequence[Sequence[Item]]) -> int:
    """How many pairs of straight connections between neighbouring columns cross."""
    total = 0
    for left, right in pairwise(orders):
        a, b = _spots(left, right=True), _spots(right, right=False)
        lines = [(y, z) for net, ys in a.items() for y in ys for z in b.get(net, ())]
        total += sum((p[0] - q[0]) * (p[1] - q[1]) < 0 for p, q in combinations(lines, 2))
    return total


def _spots(order: Sequence[Item], *, right: bool) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for at, item in enumerate(order):
        for end in item.ends:
            if end.right == right:
                found.setdefault(end.net, []).append(at + end.y / (item.height + 10.0))
    return found


def _sweep(orders: list[list[Item]], *, forward: bool) -> None:
    path = range(len(orders)) if forward else range(len(orders) - 1, -1, -1)
    for at in path:
        spots: dict[str, list[float]] = {}
        near = at - 1 if forward else at + 1
        for other, right in ((near, forward), (at, not forward)):
            if 0 <= other < len(orders) and other != at:
                spots = _spots(orders[other], right=right)
        order = orders[at]
        wish = {}
        for place, item in enumerate(order):
            ys = [y for end in item.ends for y in spots.get(end.net, ())]
            wish[id(item)] = sum(ys) / len(ys) if ys else float(place)
        order.sort(key=lambda item: wish[id(item)])


def _stand(columns: list[Column]) -> None:
    """Heights: each item as near to those it is wired to as the others let it."""
    for column in columns:
        column.tops = _pack(column, [0.0] * len(column.items))
    for sweep in range(SETTLE):
        path = range(len(columns)) if sweep % 2 == 0 else range(len(columns) - 1, -1, -1)
        for at in path:
            column = columns[at]
            heights: dict[str, list[float]] = {}
            for near in (at - 1, at + 1):
                if 0 <= near < len(columns):
                    for net, ys in _heights(columns[near], right=near < at).items():
                        heights.setdefault(net, []).extend(ys)
            wishes = []
            for item, top in zip(column.items, column.tops, strict=True):
                pulls = sorted(y - end.y for end in item.ends for y in heights.get(end.net, ()))
                wishes.append(pulls[len(pulls) // 2] if pulls else float(top))
            column.tops = _pack(column, wishes)


def _heights(column: Column, *, right: bool) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for item, top in zip(column.items, column.tops, strict=True):
        for end in item.ends:
            if end.right == right:
                found.setdefault(end.net, []).append(float(top + end.y))
    return found


def _pack(column: Column, wishes: Sequence[float]) -> list[int]:
    """Tops in order and without overlap, nearest to the wishes in the sense of least squares
    (pool adjacent violators), then on the grid of the column."""
    offsets = [0.0]
    for above, below in zip(column.items, column.items[1:], strict=False):
        offsets.append(offsets[-1] + above.height + _gap(above, below))
    blocks: list[tuple[float, int]] = []
    for wish, offset in zip(wishes, offsets, strict=False):
        mean, count = wish - offset, 1
        while blocks and blocks[-1][0] > mean:
            before, number = blocks.pop()
            mean = (before * number + mean * count) / (number + count)
            count += number
        blocks.append((mean, count))
    flat = [mean for mean, count in blocks for _ in range(count)]
    shift = 5 if column.odd else 0
    return [
        10 * round(mean / 10.0) + int(offset) + shift
        for mean, offset in zip(flat, offsets, strict=False)
    ]


def _gap(above: Item, below: Item) -> int:
    if above.box is None and below.box is None:
        return 10
    return GAP if above.box is not None and below.box is not None else 10
