"""Where a board stays after each solve of a walk through the steps of a state."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from halfsplit.build.clocking import Bits
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["Settled", "Walk"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]


@dataclass(slots=True)
class Settled:
    """``v`` [N, B] where the board stays; ``restless`` [B]: it may oscillate, ``v`` an average."""

    v: Array
    resolved: Mask
    restless: Mask

    def replace(self, columns: Index, new: Settled) -> None:
        """Put the columns of ``new`` in place of some of this one's."""
        self.v = self.v.copy()
        self.v[:, columns] = new.v
        self.resolved[columns] &= new.resolved
        self.restless[columns] = new.restless


@dataclass(slots=True)
class Walk:
    """Solutions after each solve of a walk, ``v[step][turn]`` [N, B], and the last parameters.

    ``last`` is the last solve.
    """

    v: list[list[Array]]
    resolved: Mask
    last: Settled
    bits: Bits
    params: list[Array]
