"""Which upright stands where in a gap: as few crossings as a search finds, and no two nets along
each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

from halfsplit.frozen import dataclass

__all__ = ["Ends", "tracks_of"]

NEVER = 1000
"""Cost of an order in which two level lines would lie on each other."""
ROUNDS = 3


@dataclass(frozen=True, slots=True)
class Ends:
    """Heights at which a net comes into a gap from the left and from the right, each with the
    distance of its pin from the gap."""

    left: dict[int, int] = field(default_factory=dict)
    right: dict[int, int] = field(default_factory=dict)

    @property
    def span(self) -> tuple[int, int]:
        heights = [*self.left, *self.right]
        return min(heights), max(heights)

    @property
    def straight(self) -> bool:
        return len(self.left) == len(self.right) == 1 and self.left.keys() == self.right.keys()


def tracks_of(ends: Mapping[str, Ends]) -> tuple[dict[str, int], int | None]:
    """Net -> number of its upright from the left, straight nets left out; and a height at which
    two level lines lie on each other, ``None`` when all are apart."""
    nets = sorted((net for net in ends if not ends[net].straight), key=lambda net: ends[net].span)
    cost = [[_cost(ends[a], ends[b]) for b in nets] for a in nets]
    order = _ordered(cost)
    clash = [
        min(ends[nets[a]].right.keys() & ends[nets[b]].left.keys())
        for at, a in enumerate(order)
        for b in order[at + 1 :]
        if cost[a][b] >= NEVER
    ]
    tracks: dict[str, int] = {}
    for at, a in enumerate(order):
        before = [tracks[nets[b]] for b in order[:at] if _meet(ends[nets[a]], ends[nets[b]])]
        tracks[nets[a]] = max(before, default=-1) + 1
    return tracks, min(clash, default=None)


def _ordered(cost: Sequence[Sequence[int]]) -> list[int]:
    """An order with a small sum of ``cost[a][b]`` over a before b: each is put where it costs
    least, several times."""
    order: list[int] = []
    for one in range(len(cost)):
        _put(order, one, cost)
    for _ in range(ROUNDS):
        for one in range(len(cost)):
            order.remove(one)
            _put(order, one, cost)
    return order


def _put(order: list[int], one: int, cost: Sequence[Sequence[int]]) -> None:
    now = sum(cost[one][other] for other in order)
    best, place = now, 0
    for at, other in enumerate(order):
        now += cost[other][one] - cost[one][other]
        if now < best:
            best, place = now, at + 1
    order.insert(place, one)


def _cost(a: Ends, b: Ends) -> int:
    """Crossings of two nets when a's upright is left of b's."""
    (a_low, a_high), (b_low, b_high) = a.span, b.span
    across = sum(b_low < y < b_high for y in a.right) + sum(a_low < y < a_high for y in b.left)
    return across + NEVER * len(a.right.keys() & b.left.keys())


def _meet(a: Ends, b: Ends) -> bool:
    (a_low, a_high), (b_low, b_high) = a.span, b.span
    return a_low <= b_high and b_low <= a_high
