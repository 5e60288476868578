"""Which column each box goes into: signal flows from left to right."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from halfsplit.draw.symbol import OUTPUTS

__all__ = ["LOADED", "THROUGH", "Node", "ranks"]

THROUGH = "through"
"""Role of what hangs on a net: right of what drives the net, left of what it drives."""
LOADED = "loaded"
"""The same, when nothing of it feeds the net."""
Node = Sequence[tuple[str, str]]
"""The wired nets of a box, each with the role of its pin."""
Edges = list[set[int]]
ONE_WAY = OUTPUTS | {"in"}
"""Two pins of one such role on a net say nothing about which box stands left."""
_ROUNDS = 8


def ranks(nodes: Sequence[Node]) -> list[int]:
    """Column of each node, from 0. Those that drive stand left of those they drive; a node that
    neither drives nor is driven takes its direction from where the signal comes to it."""
    after = _broken(_directed(nodes))
    before: Edges = [set() for _ in nodes]
    for at, followers in enumerate(after):
        for follower in followers:
            before[follower].add(at)
    rank = _longest(after, before)
    _tighten(rank, after, before)
    least = min(rank, default=0)
    used = sorted({value - least for value in rank})
    return [used.index(value - least) for value in rank]


def _tighten(rank: list[int], after: Edges, before: Edges) -> None:
    """Move each node to where its edges are shortest; with as many on both sides it stays."""
    for turn in range(_ROUNDS):
        moved = False
        for at in sorted(range(len(rank)), key=lambda at: rank[at], reverse=turn % 2 == 0):
            pull = len(after[at]) - len(before[at])
            if pull > 0:
                to = min(rank[other] for other in after[at]) - 1
            elif pull < 0:
                to = max(rank[other] for other in before[at]) + 1
            else:
                continue
            moved |= to != rank[at]
            rank[at] = to
        if not moved:
            return


def _directed(nodes: Sequence[Node]) -> Edges:
    by_net: dict[str, list[tuple[int, str]]] = {}
    for at, node in enumerate(nodes):
        for net, role in node:
            by_net.setdefault(net, []).append((at, role))
    after: Edges = [set() for _ in nodes]
    beside: Edges = [set() for _ in nodes]
    later: set[int] = set()
    for pins in by_net.values():
        sources = [at for at, role in pins if role in OUTPUTS]
        sinks = [at for at, role in pins if role == "in"]
        through = [at for at, role in pins if role in (THROUGH, LOADED)]
        if not sources and any(role == "passive" for _, role in pins):
            later.update(sinks, through)
        for source in sources:
            after[source].update((*through, *sinks))
        for at in through:
            after[at].update(sinks)
        for at, role in pins:
            alike = {other for other, own in pins if own == role and role in ONE_WAY}
            beside[at].update({other for other, _ in pins} - alike - {at})
    idle = {at for at, node in enumerate(nodes) if any(role == LOADED for _, role in node)}
    drivers = {at for at, node in enumerate(nodes) if any(role in OUTPUTS for _, role in node)}
    _follow(after, beside, drivers - idle, idle, later)
    return [followers - {at} for at, followers in enumerate(after)]


def _follow(
    after: Edges, beside: Edges, drivers: set[int], idle: set[int], later: set[int]
) -> None:
    """Give nodes that no output concerns a direction, in the order in which a walk from the
    drivers comes to them. What stands on a net that is driven through a resistor or the like
    begins where no driver leads."""
    fixed = {at for at, followers in enumerate(after) if followers}
    fixed |= {follower for followers in after for follower in followers}
    driven = {follower for followers in after for follower in followers}
    ends = sorted((fixed - idle | drivers) - driven)
    starts = [at for at in ends if at not in later] or ends or ([0] if after else [])
    seen = dict.fromkeys(starts, 0)
    queue, rest = deque(starts), deque((*ends, *range(len(after))))
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
