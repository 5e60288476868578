"""Sparse elimination as a program of row operations, made once for a circuit.

The topology of a board never changes (a fault is a parameter), so the order of elimination and
every entry that can become non-zero are found once. The numeric work then runs over all cases
at once, batch axis last. No pivoting: nodal matrices with a path to ground at every node keep
their diagonal.

Order: minimum degree (W. F. Tinney and J. W. Walker, Proc. IEEE 55, 1967), in two parts. The
*static* part holds nodes that only linear elements touch; it is eliminated once per case and not
again in each iteration.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass

__all__ = ["Pattern", "Round", "Step", "make_pattern", "rounds"]

Index = npt.NDArray[np.intp]

_STATIC_FILL = 6
"""A linear-only node with more neighbours than this is left to the dynamic part."""


@dataclass(frozen=True, slots=True)
class Round:
    """Rows ``source`` of a stack added into rows ``target`` (all different) of another."""

    target: Index
    source: Index


@dataclass(frozen=True, slots=True)
class Step:
    """Pivots that can be eliminated together.

    ``diagonal`` slots of their pivots [k]; ``lower``: slots of the entries below them, with
    ``lower_pivot`` the index into ``diagonal``; ``left``/``right``: for every product, the index
    into ``lower`` and the slot of the entry on the pivot's row; ``updates`` the slots the
    products are taken from, in rounds. ``rows``: nodes of the lower entries, ``nodes``: the
    pivots' nodes; ``forward`` rounds add ``lower`` x rhs[pivot] into rhs rows. ``upper``: slots
    right of the pivots with ``upper_pivot`` and ``upper_node``; ``back`` rounds into pivots.
    """

    diagonal: Index
    nodes: Index
    lower: Index
    lower_pivot: Index
    left: Index
    right: Index
    updates: tuple[Round, ...]
    forward: tuple[Round, ...]
    upper: Index
    upper_pivot: Index
    upper_node: Index
    back: tuple[Round, ...]


@dataclass(frozen=True, slots=True)
class Pattern:
    """Entries and elimination program of an N-node circuit.

    ``slot`` maps (row, column) to a row of the value array [slots, B]; ``static`` and
    ``dynamic`` are the two parts of the program, ``order`` the nodes in order of elimination.
    The first ``static_slots`` entries touch a static node; the program of the dynamic part
    counts its slots from there.
    """

    size: int
    slot: dict[tuple[int, int], int]
    static_slots: int
    order: tuple[int, ...]
    static: tuple[Step, ...]
    dynamic: tuple[Step, ...]

    @property
    def slots(self) -> int:
        """Number of entries, fill included."""
        return len(self.slot)


def make_pattern(
    size: int, cliques: Iterable[Sequence[int]], dynamic_nodes: frozenset[int]
) -> Pattern:
    """Find the order and the program for nodes 0..size-1.

    ``cliques`` are the node sets of the elements; ``dynamic_nodes`` those that a non-linear
    element touches.
    """
    neighbours: list[set[int]] = [set() for _ in range(size)]
    for clique in cliques:
        members = {node for node in clique if 0 <= node < size}
        for node in members:
            neighbours[node] |= members - {node}
    below: list[tuple[int, frozenset[int]]] = []
    static_candidates = set(range(size)) - dynamic_nodes
    static_count = _eliminate(neighbours, static_candidates, below, limit=_STATIC_FILL)
    _eliminate(neighbours, set(range(size)) - {node for node, _ in below}, below, limit=size)

    slot: dict[tuple[int, int], int] = {}
    static_slots = 0
    for count, (node, later) in enumerate(below):
        if count == static_count:
            static_slots = len(slot)
        slot.setdefault((node, node), len(slot))
        for other in sorted(later):
            slot.setdefault((other, node), len(slot))
            slot.setdefault((node, other), len(slot))
    if static_count == len(below):
        static_slots = len(slot)
    steps_static = _steps(below[:static_count], slot)
    shifted = {entry: number - static_slots for entry, number in slot.items()}
    steps_dynamic = _steps(below[static_count:], shifted)
    return Pattern(
        size=size,
        slot=slot,
        static_slots=static_slots,
        order=tuple(node for node, _ in below),
        static=steps_static,
        dynamic=steps_dynamic,
    )


def rounds(targets: Sequence[int] | Index) -> tuple[Round, ...]:
    """Split rows into rounds in which no target occurs twice."""
    groups: dict[int, list[int]] = defaultdict(list)
    seen: dict[int, int] = defaultdict(int)
    for row, target in enumerate(targets):
        groups[seen[int(target)]].append(row)
        seen[int(target)] += 1
    table = np.asarray(targets, dtype=np.intp)
    return tuple(
        Round(table[np.asarray(rows, dtype=np.intp)], np.asarray(rows, dtype=np.intp))
        for rows in groups.values()
    )


def _eliminate(
    neighbours: list[set[int]],
    candidates: set[int],
    below: list[tuple[int, frozenset[int]]],
    limit: int,
) -> int:
    """Take nodes out by least degree until none with at most ``limit`` neighbours is left."""
    left = set(candidates)
    while left:
        node = min(left, key=lambda n: (len(neighbours[n]), n))
        if len(neighbours[node]) > limit:
            break
        left.discard(node)
        around = neighbours[node]
        below.append((node, frozenset(around)))
        for other in around:
            neighbours[other] |= around
            neighbours[other] -= {other, node}
        neighbours[node] = set()
    return len(below)


def _steps(
    below: Sequence[tuple[int, frozenset[int]]], slot: dict[tuple[int, int], int]
) -> tuple[Step, ...]:
    """Group pivots into levels: a pivot's level is above that of every earlier one it hears of."""
    level: dict[int, int] = {}
    grouped: dict[int, list[tuple[int, list[int]]]] = defaultdict(list)
    for node, later in below:
        mine = level.get(node, 0)
        grouped[mine].append((node, sorted(later)))
        for other in later:
            level[other] = max(level.get(other, 0), mine + 1)
    return tuple(_step(grouped[k], slot) for k in sorted(grouped))


def _step(pivots: Sequence[tuple[int, list[int]]], slot: dict[tuple[int, int], int]) -> Step:
    diagonal: list[int] = []
    nodes: list[int] = []
    lower: list[int] = []
    lower_pivot: list[int] = []
    lower_row: list[int] = []
    left, right, targets = [], [], []
    upper, upper_pivot, upper_node = [], [], []
    for index, (node, later) in enumerate(pivots):
        diagonal.append(slot[node, node])
        nodes.append(node)
        for row in later:
            for column in later:
                left.append(len(lower))
                right.append(slot[node, column])
                targets.append(slot[row, column])
            lower.append(slot[row, node])
            lower_pivot.append(index)
            lower_row.append(row)
            upper.append(slot[node, row])
            upper_pivot.append(index)
            upper_node.append(row)
    return Step(
        diagonal=_index(diagonal),
        nodes=_index(nodes),
        lower=_index(lower),
        lower_pivot=_index(lower_pivot),
        left=_index(left),
        right=_index(right),
        updates=rounds(targets),
        forward=rounds(lower_row),
        upper=_index(upper),
        upper_pivot=_index(upper_pivot),
        upper_node=_index(upper_node),
        back=rounds(upper_pivot),
    )


def _index(values: Sequence[int]) -> Index:
    return np.asarray(values, dtype=np.intp)
