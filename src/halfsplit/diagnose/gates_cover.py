"""How many of the stuck-at faults of a logic card tests can show at its outputs."""

from __future__ import annotations

import numpy as np

from halfsplit.build.gates import NamedGates
from halfsplit.frozen import dataclass
from halfsplit.solve.gates import Bits
from halfsplit.solve.gates_faults import stuck_faults
from halfsplit.solve.gates_simulate import shown_by

__all__ = ["ALL_INPUTS", "Cover", "cover"]

ALL_INPUTS = 12
"""Up to so many inputs every vector is tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """``faults`` in ``classes`` of which ``shown`` were seen with so many ``vectors``; with
    ``all_vectors`` the others can never be seen."""

    faults: int
    classes: int
    shown: int
    vectors: int
    all_vectors: bool

    @property
    def sentence(self) -> str:
        """All of it in words."""
        rest = self.classes - self.shown
        how = f"all {self.vectors}" if self.all_vectors else f"{self.vectors} random"
        left = (
            f"{rest} can never be seen"
            if self.all_vectors
            else f"{rest} were not seen, of which some may never be"
        )
        return (
            f"{self.faults} stuck-at faults in {self.classes} classes that differ; {how} vectors "
            f"show {self.shown} of them, {left if rest else 'which is all'}."
        )


def cover(named: NamedGates, vectors: int, *, seed: int = 1) -> Cover:
    """Try every vector where there are few inputs, else so many random ones."""
    network = named.network
    stuck = stuck_faults(network)
    outer = named.lines(stuck)
    _, first = np.unique(stuck.kin[outer], return_index=True)
    faults = outer[first]
    all_vectors = len(network.inputs) <= ALL_INPUTS
    given = (
        _all(len(network.inputs)) if all_vectors else _random(network.inputs.size, vectors, seed)
    )
    shown = int(shown_by(network, stuck, faults, given).any(axis=1).sum())
    return Cover(
        faults=len(outer),
        classes=len(faults),
        shown=shown,
        vectors=given.shape[1],
        all_vectors=all_vectors,
    )


def _all(inputs: int) -> Bits:
    return np.asarray(np.arange(1 << inputs) >> np.arange(inputs)[:, None] & 1, dtype=np.bool_)


def _random(inputs: int, vectors: int, seed: int) -> Bits:
    return np.random.default_rng(seed).random((inputs, vectors)) < 0.5
