"""Currents of the elements that a board's outputs are told by."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array

__all__ = ["Watched"]


@dataclass(frozen=True, slots=True)
class Watched:
    """K elements ``at`` (group, member) of a circuit."""

    circuit: Circuit
    at: Sequence[tuple[int, int]]

    def currents(self, v: Array, params: Sequence[Array]) -> Array:
        """[K, B] into the first terminal of each, ampere, at the volts ``v`` [N, B]."""
        padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
        found = np.empty((len(self.at), v.shape[1]))
        for k, (group, member) in enumerate(self.at):
            at = self.circuit.groups[group]
            here = padded[at.nodes[:, member]][:, None, :]
            found[k] = at.law.evaluate(here, params[group][:, member][:, None, :], False)[0][0, 0]
        return found
