"""How high items stand in their columns: wires as straight as the others let them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from halfsplit.draw.columns import Column, Item
from halfsplit.frozen import dataclass

__all__ = ["stand"]

ROUNDS = 10
GAP = 20
"""Units between boxes at least; a passing wire needs half."""
_FAR = 300.0
"""A wire so long costs as much as a straight one is worth."""
_PASSING = 3.0
"""A wire that passes is straight before a part stands well."""


def stand(columns: Sequence[Column]) -> None:
    """Give each column its ``tops``, at whole tens."""
    for column in columns:
        column.tops = _packed(column, [0.0] * len(column.items))
    for turn in range(ROUNDS):
        path = range(len(columns)) if turn % 2 == 0 else range(len(columns) - 1, -1, -1)
        for at in path:
            _settle(columns, at, both=turn >= ROUNDS // 2, forward=turn % 2 == 0)
    for at in range(len(columns)):
        _settle(columns, at, both=False, forward=True)


def _settle(columns: Sequence[Column], at: int, both: bool, forward: bool) -> None:
    column = columns[at]
    heights = {
        other > at: _heights(columns[other], right=other < at)
        for other in (at - 1, at + 1)
        if 0 <= other < len(columns)
    }
    wishes, weights = [], []
    for item, top in zip(column.items, column.tops, strict=True):
        sides = {
            right: [
                (pull.y - end.y, pull.weight * (1 if item.held else _PASSING))
                for end in item.ends
                if end.right == right
                for pull in found.get(end.net, ())
            ]
            for right, found in heights.items()
        }
        first = sides.get(not forward, [])
        pulls = sorted(first if first and not both else [*first, *sides.get(forward, [])])
        wishes.append(_best(pulls) if pulls else float(top))
        weights.append(sum(weight for _, weight in pulls) or 0.05)
    column.tops = _packed(column, wishes, weights)


@dataclass(frozen=True, slots=True)
class _Pull:
    """An end in the next column: the more ends its net or its item has there, the weaker."""

    y: float
    weight: float


def _best(pulls: Sequence[tuple[float, float]]) -> float:
    """The pull that makes most wires straight, and the others short."""

    def merit(at: float) -> float:
        return sum(
            weight * ((abs(y - at) < 1.0) - abs(y - at) / _FAR) for y, weight in pulls
        )  # fmt: skip

    return max((y for y, _ in pulls), key=merit)


def _heights(column: Column, *, right: bool) -> dict[str, list[_Pull]]:
    found: dict[str, list[_Pull]] = {}
    for item, top in zip(column.items, column.tops, strict=True):
        own = [end for end in item.ends if end.right == right]
        weight = (1.0 if item.held else _PASSING) / max(len(own), 1) ** 0.5
        for end in own:
            found.setdefault(end.net, []).append(_Pull(float(top + end.y), weight))
    return {
        net: [_Pull(pull.y, pull.weight / len(pulls)) for pull in pulls]
        for net, pulls in found.items()
    }


def _packed(
    column: Column, wishes: Sequence[float], weights: Sequence[float] | None = None
) -> list[int]:
    """Tops in order and without overlap, with the least sum of weighted distances from the
    wishes (pool adjacent violators, with medians), at whole tens."""
    items = column.items
    offsets = [0.0]
    for above, below in pairwise(items):
        offsets.append(offsets[-1] + 10 * -(-(above.height + _gap(above, below)) // 10))
    blocks: list[tuple[float, list[tuple[float, float]]]] = []
    for at, (wish, offset) in enumerate(zip(wishes, offsets, strict=False)):
        own = [(wish - offset, weights[at] if weights else 1.0)]
        place = own[0][0]
        while blocks and blocks[-1][0] > place:
            own = blocks.pop()[1] + own
            place = _median(own)
        blocks.append((place, own))
    flat = [place for place, own in blocks for _ in own]
    return [10 * round(mean / 10.0) + int(at) for mean, at in zip(flat, offsets, strict=False)]


def _median(values: Sequence[tuple[float, float]]) -> float:
    """Of (value, weight): one of the values, so that one item at least stands where it wants."""
    half = sum(weight for _, weight in values) / 2.0
    ordered = sorted(values)
    sums = accumulate(weight for _, weight in ordered)
    return next(
        value for (value, _), done in zip(ordered, sums, strict=True) if done >= half - 1e-9
    )


def _gap(above: Item, below: Item) -> int:
    if not above.held and not below.held:
        return 10
    return GAP if above.held and below.held else 10
