"""A circuit ready for the solver: elements grouped by law, with where each entry goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.errors import SolveError
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array, Law
from halfsplit.solve.pattern import Pattern, Round, make_pattern, rounds

__all__ = ["LEAK", "Circuit", "Group", "Placed", "make_circuit"]

Index = npt.NDArray[np.intp]

LEAK = 1e-9
"""Conductance from every node to ground, S: the leak of a board's surface (1 gigaohm, assumed)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """An element at its nodes (-1 is ground)."""

    key: tuple[str, str]
    law: Law
    nodes: tuple[int, ...]
    params: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Group:
    """The M elements of one law.

    ``nodes`` [E, M] with N for ground; ``base`` [P, M] parameters; ``carrying`` the terminals
    that carry current; ``stamp`` rounds from rows (carrying x E x M) into slots, ``inject``
    rounds from rows (carrying x M) into nodes.
    """

    law: Law
    nodes: Index
    base: Array
    carrying: tuple[int, ...]
    stamp_rows: Index
    stamp: tuple[Round, ...]
    inject_rows: Index
    inject: tuple[Round, ...]


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Circuit:
    """N nodes, groups of elements, elimination pattern.

    ``where`` maps an element's key to (group index, member index).
    """

    size: int
    groups: tuple[Group, ...]
    pattern: Pattern
    where: Mapping[tuple[str, str], tuple[int, int]]
    diagonal: Index
    nodes_dynamic: Index
    diagonal_dynamic: Index

    def locate(self, key: tuple[str, str], param: str) -> tuple[int, int, int]:
        """(group, parameter row, member) of one parameter. Raises :class:`SolveError`."""
        if key not in self.where:
            raise SolveError(f"no element {key[0]}:{key[1]} in this circuit")
        group, member = self.where[key]
        names = self.groups[group].law.parameters
        if param not in names:
            raise SolveError(
                f"element {key[0]}:{key[1]} has no parameter {param!r} (it has {', '.join(names)})"
            )
        return group, names.index(param), member


def make_circuit(
    size: int, elements: Sequence[Placed], meter_pairs: Sequence[tuple[int, int]] = ()
) -> Circuit:
    """Group, order and lay out a circuit of ``size`` nodes. Raises :class:`SolveError`.

    ``meter_pairs`` are pairs of nodes between which a meter may be put with a conductance.
    """
    by_law: dict[Law, list[Placed]] = {}
    for element in elements:
        if len(element.nodes) != element.law.terminals:
            raise SolveError(
                f"element {element.key[0]}:{element.key[1]} has {len(element.nodes)} terminals, "
                f"its law {element.law.name} takes {element.law.terminals}"
            )
        by_law.setdefault(element.law, []).append(element)

    cliques: list[Sequence[int]] = [*meter_pairs]
    dynamic: set[int] = set()
    shapes: dict[Law, tuple[tuple[int, ...], tuple[tuple[int, int], ...]]] = {}
    for law, members in by_law.items():
        shapes[law] = _shape(law)
        for element in members:
            pairs = shapes[law][1]
            if law.terminals == 2:
                cliques.append(element.nodes)
            else:
                cliques.extend((element.nodes[e], element.nodes[f]) for e, f in pairs)
            if not law.linear:
                dynamic.update(node for node in element.nodes if node >= 0)
    pattern = make_pattern(size, cliques, frozenset(dynamic))

    groups: list[Group] = []
    where: dict[tuple[str, str], tuple[int, int]] = {}
    for law, members in by_law.items():
        carrying, pairs = shapes[law]
        for member, element in enumerate(members):
            where[element.key] = (len(groups), member)
        groups.append(_group(law, members, carrying, pairs, pattern))
    diagonal = np.asarray([pattern.slot[node, node] for node in range(size)], dtype=np.intp)
    late = [int(node) for step in pattern.dynamic for node in step.nodes]
    nodes_dynamic = np.asarray(sorted(late), dtype=np.intp)
    return Circuit(
        size=size,
        groups=tuple(groups),
        pattern=pattern,
        where=where,
        diagonal=diagonal,
        nodes_dynamic=nodes_dynamic,
        diagonal_dynamic=diagonal[nodes_dynamic],
    )


def _group(
    law: Law,
    members: Sequence[Placed],
    carrying: tuple[int, ...],
    pairs: tuple[tuple[int, int], ...],
    pattern: Pattern,
) -> Group:
    count, size = len(members), pattern.size
    nodes = np.asarray([element.nodes for element in members], dtype=np.intp).T.copy()
    nodes[nodes < 0] = size
    try:
        base = np.asarray(
            [[element.params[name] for element in members] for name in law.parameters], dtype=float
        )
    except KeyError as error:
        raise SolveError(f"an element of law {law.name} lacks parameter {error}") from error
    stamp_rows, slots = [], []
    for e, f in pairs:
        row = carrying.index(e)
        for member in range(count):
            i, j = nodes[e, member], nodes[f, member]
            if i < size and j < size:
                stamp_rows.append((row * law.terminals + f) * count + member)
                slots.append(pattern.slot[int(i), int(j)])
    inject_rows, targets = [], []
    for row, e in enumerate(carrying):
        for member in range(count):
            if nodes[e, member] < size:
                inject_rows.append(row * count + member)
                targets.append(int(nodes[e, member]))
    return Group(
        law=law,
        nodes=nodes,
        base=base,
        carrying=carrying,
        stamp_rows=np.asarray(stamp_rows, dtype=np.intp),
        stamp=rounds(slots),
        inject_rows=np.asarray(inject_rows, dtype=np.intp),
        inject=rounds(targets),
    )


def _shape(law: Law) -> tuple[tuple[int, ...], tuple[tuple[int, int], ...]]:
    """Terminals that carry current and the pairs (e, f) where dI_e/dV_f can be non-zero, found
    by evaluating the law at voltages and parameters spread over their ranges."""
    even = _even(1 + law.terminals + len(law.parameters), 24)[:, None, :]
    scale = 0.05 + 0.55 * even[:1]
    v = (2.0 * even[1 : 1 + law.terminals] - 1.0) * scale * 8.0
    p = 0.2 + 0.7 * even[1 + law.terminals :]
    currents, slopes = law.evaluate(v, p, False)
    seen = np.abs(slopes).max(axis=(2, 3)) > 0.0
    carrying = tuple(e for e in range(currents.shape[0]) if seen[e].any())
    pairs = tuple((e, f) for e in carrying for f in range(law.terminals) if seen[e, f] or e == f)
    return carrying, pairs


def _even(rows: int, draws: int) -> Array:
    """[rows, draws] between 0 and 1, evenly spread and the same every time: multiples of an
    irrational number of each row (H. Weyl, Mathematische Annalen 77, 1916)."""
    found: Array = np.sqrt(np.arange(rows) + 0.5)[:, None] * np.arange(1, 1 + draws) % 1.0
    return found
