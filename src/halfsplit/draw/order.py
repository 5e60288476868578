"""The order of items in their columns: few crossings, and like channels in the same order.

Layers are swept by the mean place of neighbours, then neighbours change places while that helps
(K. Sugiyama, S. Tagawa and M. Toda, 1981; E. R. Gansner et al., A technique for drawing directed
graphs, 1993).
"""

from __future__ import annotations

import random
from bisect import bisect_left, insort
from collections.abc import Mapping, Sequence
from itertools import combinations, pairwise

from halfsplit.draw.columns import Column, Item

__all__ = ["arrange", "crossings"]

STARTS, SWEEPS, SWAPS = 6, 6, 8
STAY = 1.25
"""Crossings, times those of the best order, that are borne so that parts keep their places."""
Lines = list[tuple[float, float]]
Order = list[Item]


def arrange(columns: Sequence[Column], before: Mapping[str, int]) -> None:
    """Put the columns' items in the best order found, from several starts that are the same every
    time. The order of ``before``, item -> height in an earlier drawing, stays unless another is
    much better."""
    found: list[tuple[float, list[Order]]] = []
    for start in range(STARTS):
        orders = [_begin(column.items, start) for column in columns]
        for sweep in range(SWEEPS):
            _sweep(orders, forward=sweep % 2 == 0)
        _swap(orders)
        found.append((_cost(orders), orders))
        if found[-1][0] == 0.0:
            break
    cost, orders = min(found, key=lambda one: one[0])
    if before:
        kept = _as_before(columns, before)
        if _cost(kept) <= STAY * cost + 2.0:
            orders = kept
    for column, order in zip(columns, orders, strict=True):
        column.items = order


def crossings(left: Sequence[Item], right: Sequence[Item]) -> int:
    """How many pairs of straight connections between neighbouring columns cross."""
    a, b = _spots(left, right=True), _spots(right, right=False)
    lines = sorted((y, z) for net, ys in a.items() for y in ys for z in b.get(net, ()))
    seen: list[float] = []
    total = 0
    at = 0
    while at < len(lines):
        until = at
        while until < len(lines) and lines[until][0] == lines[at][0]:
            total += len(seen) - bisect_left(seen, lines[until][1] + 1e-9)
            until += 1
        for _, z in lines[at:until]:
            insort(seen, z)
        at = until
    return total


def _begin(items: Sequence[Item], start: int) -> Order:
    order = list(items)
    if start == 1:
        order.reverse()
    elif start > 1:
        random.Random(start).shuffle(order)
    return order


def _as_before(columns: Sequence[Column], before: Mapping[str, int]) -> list[Order]:
    """What is new stands where the nets that it is on stood."""
    nets: dict[str, list[int]] = {}
    for column in columns:
        for item in column.items:
            for end in item.ends:
                if item.id in before:
                    nets.setdefault(end.net, []).append(before[item.id])

    def height(item: Item) -> float:
        if item.id in before:
            return before[item.id]
        near = [y for end in item.ends for y in nets.get(end.net, ())]
        return sum(near) / len(near) if near else 0.0

    return [sorted(column.items, key=height) for column in columns]


def _cost(orders: Sequence[Order]) -> float:
    across = sum(crossings(a, b) for a, b in pairwise(orders))
    return across + 0.75 * sum(_out_of_lane(order) for order in orders)


def _out_of_lane(order: Order) -> int:
    """Pairs of one group of channels that stand in the wrong order."""
    lanes = [item.lane for item in order if item.lane is not None]
    return sum(above[0] == below[0] and above > below for above, below in combinations(lanes, 2))


def _spots(order: Sequence[Item], *, right: bool) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for at, item in enumerate(order):
        for end in item.ends:
            if end.right == right:
                found.setdefault(end.net, []).append(at + end.y / (item.height + 10.0))
    return found


def _sweep(orders: list[Order], *, forward: bool) -> None:
    path = range(len(orders)) if forward else range(len(orders) - 1, -1, -1)
    for at in path:
        near = at - 1 if forward else at + 1
        if not 0 <= near < len(orders):
            continue
        spots = _spots(orders[near], right=forward)
        wish = {}
        for place, item in enumerate(orders[at]):
            ys = [y for end in item.ends if end.right != forward for y in spots.get(end.net, ())]
            wish[id(item)] = sum(ys) / len(ys) if ys else float(place)
        orders[at].sort(key=lambda item: wish[id(item)])


def _swap(orders: list[Order]) -> None:
    """Neighbours change places while crossings, or channels out of order, get fewer."""
    for _ in range(SWAPS):
        better = False
        for at, order in enumerate(orders):
            left = _spots(orders[at - 1], right=True) if at else {}
            right = _spots(orders[at + 1], right=False) if at + 1 < len(orders) else {}
            ends = [(_reach(item, left, False), _reach(item, right, True)) for item in order]
            for place in range(len(order) - 1):
                one, two = ends[place], ends[place + 1]
                gain = sum(
                    _crossed(a, b) - _crossed(b, a) for a, b in zip(one, two, strict=True)
                ) + 0.75 * (_out_of_lane(order[place : place + 2])
                            - _out_of_lane(order[place : place + 2][::-1]))  # fmt: skip
                if gain > 0:
                    order[place], order[place + 1] = order[place + 1], order[place]
                    ends[place], ends[place + 1] = two, one
                    better = True
        if not better:
            return


def _reach(item: Item, spots: Mapping[str, list[float]], right: bool) -> list[float]:
    return sorted(
        y for end in item.ends if end.right == right for y in spots.get(end.net, ())
    )  # fmt: skip


def _crossed(above: Sequence[float], below: Sequence[float]) -> int:
    """Crossings of the lines of two items, one above the other."""
    return sum(bisect_left(below, y) for y in above)
