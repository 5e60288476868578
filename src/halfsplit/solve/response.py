"""How a solution moves when parameters do: source resistances and first-order responses.

One factorisation of the Jacobian at the solution serves both: the diagonal of its inverse is
what a meter sees as source resistance, and one substitution for each set of varied parameters
gives the change of every node to first order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from halfsplit.solve.circuit import LEAK, Circuit
from halfsplit.solve.elimination import back, diagonal_of_inverse, factor, forward
from halfsplit.solve.law import Array
from halfsplit.solve.stamping import stamp, widen

__all__ = ["Linear"]


@dataclass(slots=True)
class Linear:
    """The circuit made linear at solutions ``v`` [N, B] with ``params`` (each [P, M, B])."""

    circuit: Circuit
    v: Array
    params: Sequence[Array]
    factors: Array
    currents: list[Array]

    @classmethod
    def at(cls, circuit: Circuit, v: Array, params: Sequence[Array]) -> Linear:
        """Evaluate and factor. Columns of ``v`` must be finite."""
        width = v.shape[1]
        padded = np.concatenate((v, np.zeros((1, width))))
        pattern = circuit.pattern
        a = np.zeros((pattern.slots, width))
        a[circuit.diagonal] += LEAK
        currents = []
        with np.errstate(all="ignore"):
            for group, p in zip(circuit.groups, params, strict=True):
                i, g = group.law.evaluate(padded[group.nodes], widen(p, width), False)
                stamp(group, g, a, 0)
                currents.append(i)
            factor(a, pattern.static)
            factor(a[pattern.static_slots :], pattern.dynamic)
        return cls(circuit, padded, params, a, currents)

    def ohms(self) -> Array:
        """Source resistance of each node [N, B], ohm."""
        with np.errstate(all="ignore"):
            return diagonal_of_inverse(self.factors, self.circuit.pattern)

    def response(self, varied: Sequence[Array]) -> Array:
        """Change of every node [N, B], volt, when the parameters become ``varied``."""
        circuit, width = self.circuit, self.v.shape[1]
        rhs = np.zeros((circuit.size, width))
        with np.errstate(all="ignore"):
            for group, p, before in zip(circuit.groups, varied, self.currents, strict=True):
                i, _ = group.law.evaluate(self.v[group.nodes], widen(p, width), False)
                rows = (before - i)[list(group.carrying)].reshape(-1, width)[group.inject_rows]
                for turn in group.inject:
                    rhs[turn.target] += rows[turn.source]
            a, dynamic = self.factors, self.factors[circuit.pattern.static_slots :]
            forward(a, rhs, circuit.pattern.static)
            forward(dynamic, rhs, circuit.pattern.dynamic)
            back(dynamic, rhs, circuit.pattern.dynamic)
            back(a, rhs, circuit.pattern.static)
        return rhs
