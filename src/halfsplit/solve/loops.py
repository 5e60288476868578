"""Loops through gates: is a solution one that a board would stay in, and if not, where does it go?

Newton's iteration finds the point where a latch of two gates balances on its edge as readily as
the two states it stays in. Each gate level h follows what its inputs say, f, with the rest of the
circuit at rest at every moment. A solution is kept when every eigenvalue of df/dh is below 1 in
size: levels that follow after a delay stay there (linearised map, A. M. Lyapunov's first method).
Else the levels are let go from beside it, dh/dt = f - h, until they rest. What never rests, or
comes back to the edge, is a ring: it may oscillate.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.solve import expression
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.engine import solve
from halfsplit.solve.law import Array
from halfsplit.solve.laws.logic import LogicOutput
from halfsplit.solve.levels import Gates, Signal, signals_of

__all__ = ["Fallen", "gate_loops", "let_fall", "turned"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]

_MIDDLE = 0.02
"""A level closer to 0 or 1 than this is settled."""
_PUSH = 1e-3
_PACE = 0.1
"""Share of the way that levels go in one step: steps of gates with a gain of 18 still calm down."""
_STEPS, _AVERAGED = 80, 40
_AT_REST = 2e-3
_NEAR = 0.3
"""Solutions closer than this are one, V."""


@dataclass(frozen=True, slots=True)
class Fallen:
    """``columns`` [K] of the batch that were on an edge; ``v`` [N, K] where they end; ``rings``
    [K] those that may oscillate, with averages in ``v``."""

    columns: Index
    v: Array
    rings: Mask


def let_fall(
    circuit: Circuit,
    params: Sequence[Array],
    v: Array,
    before: Array | None = None,
    side: float = 1.0,
) -> Fallen:
    """Find the columns of ``v`` [N, B] that stand on an edge, and let them fall.

    ``params`` for each group [P, M, B]; ``before`` [N, B]: the volts before the inputs changed,
    which decide to which side a latch falls; without it ``side`` does, 1 or -1.
    """
    signals = signals_of(circuit)
    columns = _on_edge(circuit, signals, params, v)
    if not columns.size:
        return Fallen(columns, np.zeros((circuit.size, 0)), np.zeros(0, dtype=bool))
    taken = _columns(params, columns)
    gates = Gates.of(circuit, signals, taken, columns.size)
    at = v[:, columns]
    if before is None:
        start = gates.levels(at)
        push = np.random.default_rng(1977).uniform(-0.3, 0.3, (start.shape[0], 1))
        start = np.clip(start + side * push, 0.0, 1.0)
    else:
        start = gates.levels(np.nan_to_num(before[:, columns]))
    end, rings = _run(circuit, gates, taken, at, start)
    return Fallen(columns, end, rings)


def turned(circuit: Circuit, params: Sequence[Array], v: Array) -> Array:
    """Volts [N, B] when every gate is held at the other level than at ``v`` [N, B]: a start from
    which a latch comes to its other state."""
    signals = signals_of(circuit)
    gates = Gates.of(circuit, signals, params, v.shape[1])
    levels = gates.levels(v)
    counts = [circuit.groups[signal.group].nodes.shape[1] for signal in signals]
    enables = np.repeat([signal.enable for signal in signals], counts)
    levels[~enables] = 1.0 - levels[~enables]
    return np.nan_to_num(solve(circuit, gates.held(params, levels), v).v)


def gate_loops(circuit: Circuit) -> bool:
    """Whether gates are wired in a loop, by good joints alone."""
    root = list(range(circuit.size + 1))

    def find(node: int) -> int:
        while root[node] != node:
            root[node] = root[root[node]]
            node = root[node]
        return node

    for group in circuit.groups:
        names = group.law.parameters
        if group.law.linear and names == ("g",):
            for member in np.flatnonzero(group.base[0] > 1.0):
                a, b = (find(int(n)) for n in group.nodes[:, member])
                root[a] = b
    follows: dict[int, set[int]] = {}
    for group in circuit.groups:
        if isinstance(group.law, LogicOutput):
            law = group.law
            at_once = {*expression.names(law.level), *expression.names(law.enable or "0")}
            acting = [3 + k for k, name in enumerate(law.inputs) if name in at_once]
            for nodes in group.nodes.T:
                for node in nodes[acting]:  # what only a clock lets in closes no loop
                    follows.setdefault(find(int(node)), set()).add(find(int(nodes[0])))
    left = {node: len(after) for node, after in follows.items()}
    while left:  # take out what leads nowhere; what stays leads round
        ends = [n for n in left if not any(after in left for after in follows[n])]
        if not ends:
            return True
        for node in ends:
            del left[node]
    return False


def _on_edge(
    circuit: Circuit, signals: Sequence[Signal], params: Sequence[Array], v: Array
) -> Index:
    """Columns whose levels run away from the solution."""
    good = np.isfinite(v).all(axis=0)
    levels = Gates.of(circuit, signals, params, v.shape[1]).levels(np.nan_to_num(v))
    middle = (levels > _MIDDLE) & (levels < 1.0 - _MIDDLE) & good
    which, column = np.nonzero(middle)
    if not column.size:
        return np.zeros(0, dtype=np.intp)
    taken = _columns(params, column)
    pushed = levels[:, column]
    pushed[which, np.arange(column.size)] += _PUSH
    gates = Gates.of(circuit, signals, taken, column.size)
    there = solve(circuit, gates.held(taken, pushed), v[:, column])
    answer = gates.levels(np.nan_to_num(there.v))
    slopes = (answer - levels[:, column]) / _PUSH
    found = []
    for k in sorted(set(column.tolist())):
        mine = column == k
        matrix = slopes[np.ix_(which[mine], np.flatnonzero(mine))]
        if np.abs(np.linalg.eigvals(matrix)).max() > 1.0:
            found.append(k)
    return np.asarray(found, dtype=np.intp)


def _run(
    circuit: Circuit, gates: Gates, params: Sequence[Array], v: Array, levels: Array
) -> tuple[Array, Mask]:
    """Volts [N, B] where the levels come to rest from ``levels``, or their average, and which
    columns may oscillate; ``v`` is the edge."""
    end, total = v.copy(), np.zeros_like(v)
    left = np.arange(v.shape[1])
    now, held = v, gates.held(params, levels)
    for step in range(_STEPS):
        gates.hold(held, levels)
        now = np.nan_to_num(solve(circuit, held, now).v)
        change = gates.levels(now) - levels
        moving: Mask = np.abs(change).max(axis=0) > _AT_REST
        if not moving.all():
            end[:, left[~moving]] = now[:, ~moving]
            left = left[moving]
            now, levels, change = (x[:, moving] for x in (now, levels, change))
            held, gates = _columns(held, np.flatnonzero(moving)), gates.some(moving)
        if not left.size:
            break
        levels = levels + _PACE * change
        if step >= _STEPS - _AVERAGED:
            total[:, left] += now
    done = solve(circuit, params, end)
    stays = done.resolved & (np.abs(done.v - end).max(axis=0) < _NEAR)
    end = np.where(stays, done.v, end)
    end[:, left] = total[:, left] / _AVERAGED
    rings = np.abs(end - v).max(axis=0) < _NEAR
    rings[left] = True
    return end, rings


def _columns(params: Sequence[Array], columns: Index) -> list[Array]:
    return [p if p.shape[2] == 1 else np.take(p, columns, axis=2) for p in params]
