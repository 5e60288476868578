"""Capacitors and coils for one step of time: a conductance and a source in place of each.

In a stage that reaches over ``gh`` seconds a capacitor C behind R is a conductance
1/(R + gh/C) to its voltage at the start; a coil L with its copper R one of 1/(R + L/gh) to a
source -(L/gh) i, less what motion induces in it (companion models: L. W. Nagel, SPICE2, memo
ERL-M520, 1975). Both are members of the circuit's group of sources, so a store costs no node.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array

__all__ = ["AT_REST", "Stores"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]

AT_REST = np.inf
"""As ``gh``: time enough for everything to settle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stores:
    """K stores in B cases.

    ``group`` and ``members`` [K] say which sources of the circuit stand for them; ``coil`` [K, 1]
    which are coils. ``value`` [K, B] farad or henry, ``ohms`` [K, B] in series. What they hold,
    x [K, B], is volts of a capacitor (behind its resistance), amperes of a coil.
    """

    circuit: Circuit
    group: int
    members: Index
    coil: Mask
    value: Array
    ohms: Array

    def take(self, columns: Index) -> Stores:
        """The cases ``columns``."""
        return Stores(
            circuit=self.circuit, group=self.group, members=self.members, coil=self.coil,
            value=np.ascontiguousarray(self.value[:, columns]),
            ohms=np.ascontiguousarray(self.ohms[:, columns]),
        )  # fmt: skip

    def write(self, params: Sequence[Array], x: Array, gh: float, emf: Array) -> None:
        """Put the stores at ``x`` [K, B] into the parameters of a stage of ``gh`` seconds.
        ``emf`` [K, 1] or [K, B]: volts induced in coils, against a current into terminal 0."""
        per = self._per(gh)
        sources = params[self.group]
        sources[0, self.members] = 1.0 / (self.ohms + per)
        held = np.where(self.coil, np.where(self.coil, per, 0.0) * -x + emf, x)
        sources[1, self.members] = held

    def amps(self, params: Sequence[Array], v: Array) -> Array:
        """Current [K, B] into terminal 0 of each store at the solution ``v`` [N, B]."""
        nodes = self.circuit.groups[self.group].nodes[:, self.members]
        padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
        g, held = params[self.group][:2, self.members]
        amps: Array = g * (padded[nodes[0]] - padded[nodes[1]] - held)
        return amps

    def after(self, amps: Array, x: Array, gh: float) -> Array:
        """What they hold [K, B] after a stage that began at ``x`` and ended with ``amps``."""
        return np.where(self.coil, amps, x + amps * self._charge(gh))

    def settled(self, params: Sequence[Array], v: Array) -> Array:
        """What they hold [K, B] when nothing has changed for long."""
        nodes = self.circuit.groups[self.group].nodes[:, self.members]
        padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
        return np.where(self.coil, self.amps(params, v), padded[nodes[0]] - padded[nodes[1]])

    def _per(self, gh: float) -> Array:
        """Ohms [K, B] that changing what is held costs."""
        return np.where(self.coil, self.value / gh, self._charge(gh))

    def _charge(self, gh: float) -> Array:
        return gh / np.where(self.coil, 1.0, self.value)
