"""Which column each box goes into: signal flows from left to right."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from halfsplit.draw.model import Box, Sheet
from halfsplit.draw.symbols import OUTPUTS

__all__ = ["ranks"]

Edges = list[set[int]]


def ranks(boxes: Sequence[Box], sheet: Sheet) -> list[int]:
    """Column of each box, from 0. Boxes that drive stand left of those they drive; a box that
    neither drives nor is driven takes its direction from where the signal comes to it."""
    after = _broken(_directed(boxes, sheet))
    before: Edges = [set() for _ in boxes]
    for at, followers in enumerate(after):
        for follower in followers:
            before[follower].add(at)
    rank = _longest(after, before)
    for at in sorted(range(len(boxes)), key=lambda at: -rank[at]):
        if not before[at] and after[at]:
            rank[at] = min(rank[follower] for follower in after[at]) - 1
    least = min(rank, default=0)
    used = sorted({value - least for value in rank})
    return [used.index(value - least) for value in rank]


def _directed(boxes: Sequence[Box], sheet: Sheet) -> Edges:
    by_net: dict[str, list[tuple[int, str]]] = {}
    for at, box in enumerate(boxes):
        for pin in box.pins:
            if not sheet.labelled(pin.net):
                by_net.setdefault(pin.net, []).append((at, pin.role))
    after: Edges = [set() for _ in boxes]
    beside: Edges = [set() for _ in boxes]
    for pins in by_net.values():
        sources = [at for at, role in pins if role in OUTPUTS]
        sinks = [at for at, role in pins if role == "in"]
        others = [at for at, role in pins if role not in OUTPUTS and role != "in"]
        for source in sources:
            after[source].update(sinks)
        for a in {*sources, *sinks, *others}:
            beside[a].update({*sources, *sinks, *others} - {a})
    _follow(after, beside, boxes)
    return [followers - {at} for at, followers in enumerate(after)]


def _follow(after: Edges, beside: Edges, boxes: Sequence[Box]) -> None:
    """Give boxes that no output concerns a direction, in the order in which a walk from the
    drivers comes to them."""
    fixed = {at for at, followers in enumerate(after) if followers}
    fixed |= {follower for followers in after for follower in followers}
    driven = {follower for followers in after for follower in followers}
    starts = sorted(fixed - driven) or ([0] if boxes else [])
    seen = dict.fromkeys(starts, 0)
    queue, rest = deque(starts), deque(range(len(boxes)))
    while queue or rest:
        if not queue:
            at = rest.popleft()
            if at in seen:
                continue
            seen[at] = 0
            queue.append(at)
        at = queue.popleft()
        for other in sorted(after[at] | beside[at]):
            if other not in seen:
                seen[other] = seen[at] + 1
                queue.append(other)
    for at, others in enumerate(beside):
        for other in others:
            if seen[at] < seen[other] and not (at in fixed and other in fixed):
                after[at].add(other)


def _broken(after: Edges) -> Edges:
    """Without the edges that lead back on a walk, so that no cycle is left."""
    state = [0] * len(after)
    kept: Edges = [set() for _ in after]

    def visit(at: int) -> None:
        state[at] = 1
        for follower in sorted(after[at]):
            if state[follower] == 1:
                continue
            kept[at].add(follower)
            if state[follower] == 0:
                visit(follower)
        state[at] = 2

    driven = [sum(at in followers for followers in after) for at in range(len(after))]
    for at in sorted(
        range(len(after)), key=lambda at: (driven[at] > 0, driven[at] - len(after[at]), at)
    ):
        if state[at] == 0:
            visit(at)
    return kept


def _longest(after: Edges, before: Edges) -> list[int]:
    rank = [0] * len(after)
    waiting = [len(one) for one in before]
    queue = deque(at for at, count in enumerate(waiting) if count == 0)
    while queue:
        at = queue.popleft()
        for follower in sorted(after[at]):
            rank[follower] = max(rank[follower], rank[at] + 1)
            waiting[follower] -= 1
            if waiting[follower] == 0:
                queue.append(follower)
    return rank
