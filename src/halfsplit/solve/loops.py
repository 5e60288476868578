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
from halfsplit.solve.laws.analog import Comparator
from halfsplit.solve.laws.logic import LogicOutput
from halfsplit.solve.smooth import sigmoid

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


@dataclass(frozen=True, slots=True)
class _Signal:
    """A level of every element of one group: rows of its parameters for offset and weight."""

    group: int
    offset: int
    weight: int
    enable: bool


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
    signals = _signals(circuit)
    columns = _on_edge(circuit, signals, params, v)
    if not columns.size:
        return Fallen(columns, np.zeros((circuit.size, 0)), np.zeros(0, dtype=bool))
    taken = [np.take(p, columns, axis=2) if p.shape[2] > 1 else p for p in params]
    at = v[:, columns]
    if before is None:
        start = _levels(circuit, signals, taken, at)
        push = np.random.default_rng(1977).uniform(-0.3, 0.3, (start.shape[0], 1))
        start = np.clip(start + side * push, 0.0, 1.0)
    else:
        start = _levels(circuit, signals, taken, np.nan_to_num(before[:, columns]))
    end, rings = _run(circuit, signals, taken, at, start)
    return Fallen(columns, end, rings)


def turned(circuit: Circuit, params: Sequence[Array], v: Array) -> Array:
    """Volts [N, B] when every gate is held at the other level than at ``v`` [N, B]: a start from
    which a latch comes to its other state."""
    signals = _signals(circuit)
    levels = _levels(circuit, signals, params, v)
    counts = [circuit.groups[signal.group].nodes.shape[1] for signal in signals]
    enables = np.repeat([signal.enable for signal in signals], counts)
    levels[~enables] = 1.0 - levels[~enables]
    return np.nan_to_num(solve(circuit, _held(signals, params, levels), v).v)


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


def _signals(circuit: Circuit) -> list[_Signal]:
    found = []
    for k, group in enumerate(circuit.groups):
        if isinstance(group.law, LogicOutput | Comparator):
            at = group.law.parameters.index
            found.append(_Signal(k, at("a0"), at("a1"), False))
            if isinstance(group.law, LogicOutput) and group.law.enable:
                found.append(_Signal(k, at("e0"), at("e1"), True))
    return found


def _levels(
    circuit: Circuit, signals: Sequence[_Signal], params: Sequence[Array], v: Array
) -> Array:
    """[H, B] the levels of all signals as their inputs say."""
    padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
    rows = []
    for signal in signals:
        group, p = circuit.groups[signal.group], params[signal.group]
        here = padded[group.nodes]
        if isinstance(group.law, LogicOutput):
            seen, _ = group.law.logic(here, p)
            value = expression.evaluate(
                group.law.enable if signal.enable else group.law.level, seen
            )
        else:
            names = group.law.parameters
            difference = here[3] - here[4] + p[names.index("vos")]
            value = sigmoid(p[names.index("steep")] * difference)[0]
        level = p[signal.offset] + p[signal.weight] * value
        rows.append(np.broadcast_to(level, here.shape[1:]))
    return np.concatenate(rows) if rows else np.zeros((0, v.shape[1]))


def _held(signals: Sequence[_Signal], params: Sequence[Array], levels: Array) -> list[Array]:
    """Parameters with every level held at ``levels`` [H, B]."""
    width = levels.shape[1]
    held = [np.broadcast_to(p, (*p.shape[:2], width)) for p in params]
    for k in {signal.group for signal in signals}:
        held[k] = held[k].copy()
    row = 0
    for signal in signals:
        count = held[signal.group].shape[1]
        held[signal.group][signal.offset] = levels[row : row + count]
        held[signal.group][signal.weight] = 0.0
        row += count
    return held


def _on_edge(
    circuit: Circuit, signals: Sequence[_Signal], params: Sequence[Array], v: Array
) -> Index:
    """Columns whose levels run away from the solution."""
    good = np.isfinite(v).all(axis=0)
    levels = _levels(circuit, signals, params, np.nan_to_num(v))
    middle = (levels > _MIDDLE) & (levels < 1.0 - _MIDDLE) & good
    which, column = np.nonzero(middle)
    if not column.size:
        return np.zeros(0, dtype=np.intp)
    taken = [np.take(p, column, axis=2) if p.shape[2] > 1 else p for p in params]
    pushed = levels[:, column]
    pushed[which, np.arange(column.size)] += _PUSH
    there = solve(circuit, _held(signals, taken, pushed), v[:, column])
    answer = _levels(circuit, signals, taken, np.nan_to_num(there.v))
    slopes = (answer - levels[:, column]) / _PUSH
    found = []
    for k in sorted(set(column.tolist())):
        mine = column == k
        matrix = slopes[np.ix_(which[mine], np.flatnonzero(mine))]
        if np.abs(np.linalg.eigvals(matrix)).max() > 1.0:
            found.append(k)
    return np.asarray(found, dtype=np.intp)


def _run(
    circuit: Circuit, signals: Sequence[_Signal], params: Sequence[Array], v: Array, levels: Array
) -> tuple[Array, Mask]:
    """Volts [N, B] where the levels come to rest from ``levels``, or their average, and which
    columns may oscillate; ``v`` is the edge."""
    end, total = v.copy(), np.zeros_like(v)
    left = np.arange(v.shape[1])
    now, held = v, list(params)
    for step in range(_STEPS):
        now = np.nan_to_num(solve(circuit, _held(signals, held, levels), now).v)
        change = _levels(circuit, signals, held, now) - levels
        moving: Mask = np.abs(change).max(axis=0) > _AT_REST
        if not moving.all():
            end[:, left[~moving]] = now[:, ~moving]
            left = left[moving]
            now, levels, change = (x[:, moving] for x in (now, levels, change))
            held = [p[:, :, moving] if p.shape[2] > 1 else p for p in held]
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
