"""What the gates and comparators of a batch say to the volts at their inputs.

The inputs of all gates, whatever their law, are looked at together: a batch that is asked again
and again waits for a dozen operations, not for a dozen of each law.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.solve import expression
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.analog import Comparator
from halfsplit.solve.laws.logic import LogicOutput, switched
from halfsplit.solve.smooth import sigmoid

__all__ = ["Gates", "Signal", "signals_of"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Signal:
    """A level of every element of one group: rows of its parameters for offset and weight."""

    group: int
    offset: int
    weight: int
    enable: bool


def signals_of(circuit: Circuit) -> list[Signal]:
    """Outputs of gates, enables of those that have one, comparators."""
    found = []
    for k, group in enumerate(circuit.groups):
        if isinstance(group.law, LogicOutput | Comparator):
            at = group.law.parameters.index
            found.append(Signal(k, at("a0"), at("a1"), False))
            if isinstance(group.law, LogicOutput) and group.law.enable:
                found.append(Signal(k, at("e0"), at("e1"), True))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Gates:
    """The signals of one batch.

    ``nodes`` [3, Q] of all inputs of gates: the pin, supply and ground; ``views`` [5, Q, B] how
    they are looked at (:meth:`LogicOutput.views`); ``first`` for each group of gates the number of
    its first input; ``params`` those of the groups with signals.
    """

    circuit: Circuit
    signals: Sequence[Signal]
    params: dict[int, Array]
    nodes: Index
    views: Array
    first: dict[int, int]

    @classmethod
    def of(
        cls, circuit: Circuit, signals: Sequence[Signal], params: Sequence[Array], width: int
    ) -> Gates:
        """``params`` for each group [P, M, B] or [P, M, 1]; ``width`` is B."""
        nodes, views, first, count = [], [], {}, 0
        for k in dict.fromkeys(signal.group for signal in signals):
            group = circuit.groups[k]
            if isinstance(group.law, LogicOutput):
                seen, inputs = group.law.views(params[k]), group.nodes[3:]
                power = (np.broadcast_to(group.nodes[row], inputs.shape) for row in (1, 2))
                nodes.append(np.stack((inputs, *power)).reshape(3, -1))
                views.append(np.broadcast_to(seen, (*seen.shape[:3], width)).reshape(5, -1, width))
                first[k], count = count, count + inputs.size
        return cls(
            circuit=circuit,
            signals=signals,
            params={signal.group: params[signal.group] for signal in signals},
            nodes=np.concatenate(nodes, axis=1) if nodes else np.zeros((3, 0), dtype=np.intp),
            views=np.concatenate(views, axis=1) if views else np.zeros((5, 0, width)),
            first=first,
        )

    def some(self, columns: Mask) -> Gates:
        """Those of some columns of the batch."""
        kept = np.flatnonzero(columns)
        return Gates(
            circuit=self.circuit,
            signals=self.signals,
            params={
                k: p if p.shape[2] == 1 else np.take(p, kept, axis=2)
                for k, p in self.params.items()
            },
            nodes=self.nodes,
            views=np.take(self.views, kept, axis=2),
            first=self.first,
        )

    def levels(self, v: Array) -> Array:
        """[H, B] the levels of all signals at the volts ``v`` [N, B]."""
        padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
        pin, supply, ground = padded[self.nodes]
        middle, rel, steep, offset, weight = self.views
        threshold = middle * (1.0 - rel + rel * (supply - ground))
        seen = offset + weight * sigmoid(steep * (pin - ground - threshold))[0]
        rows = [self._level(signal, seen, padded) for signal in self.signals]
        return np.concatenate(rows) if rows else np.zeros((0, v.shape[1]))

    def held(self, params: Sequence[Array], levels: Array) -> list[Array]:
        """Parameters with every level held at ``levels`` [H, B]."""
        found = list(params)
        for k, p in self.params.items():
            found[k] = np.broadcast_to(p, (*p.shape[:2], levels.shape[1])).copy()
        for signal in self.signals:
            found[signal.group][signal.weight] = 0.0
        self.hold(found, levels)
        return found

    def hold(self, held: Sequence[Array], levels: Array) -> None:
        """Hold the levels of :meth:`held` at others, in place."""
        row = 0
        for signal in self.signals:
            count = held[signal.group].shape[1]
            held[signal.group][signal.offset] = levels[row : row + count]
            row += count

    def _level(self, signal: Signal, seen: Array, padded: Array) -> Array:
        group, p = self.circuit.groups[signal.group], self.params[signal.group]
        law, members = group.law, group.nodes.shape[1]
        if isinstance(law, LogicOutput):
            start = self.first[signal.group]
            told = seen[start : start + len(law.inputs) * members]
            inputs = told.reshape(len(law.inputs), members, padded.shape[1])
            levels = {
                "q": p[law.parameters.index("bit")],
                **dict(zip(law.inputs, inputs, strict=True)),
            }
            value = expression.evaluate(law.enable if signal.enable else law.level, levels)
            if signal.enable:
                value = switched(value)[0]
        else:
            names, here = law.parameters, padded[group.nodes]
            difference = here[3] - here[4] + p[names.index("vos")]
            value = sigmoid(p[names.index("steep")] * difference)[0]
        level = p[signal.offset] + p[signal.weight] * value
        return np.broadcast_to(level, (members, padded.shape[1]))
