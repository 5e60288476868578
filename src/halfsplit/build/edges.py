"""Comparators that stand on an edge: a few tens of millivolts decide, and no model is that good.

Where the inputs of a comparator are closer than :data:`NEAR`, or nothing holds one of them, its
other answer is as likely as the computed one: the case is solved again with the offset moved
across.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.parameters import take_columns
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.analog import Comparator

__all__ = ["ADRIFT", "NEAR", "moved_across"]

NEAR = 0.1
"""Volts between a comparator's inputs below which either answer may come: saturation voltages and
offsets of the kind differ by that much between makers (assumed)."""
ADRIFT = 2e6
"""Source resistance from which on a place floats, ohm: a meter or a bias current moves it."""


def moved_across(
    circuit: Circuit, v: Array, ohms: Array, params: Sequence[Array]
) -> tuple[npt.NDArray[np.intp], list[Array]]:
    """Columns of ``v`` [N, B] with a comparator on an edge, and their parameters with its offset
    moved so that it answers the other way. ``ohms`` [N, B] are the source resistances."""
    padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
    loose = np.concatenate((ohms, np.zeros((1, v.shape[1])))) > ADRIFT
    on_edge = np.zeros(v.shape[1], dtype=bool)
    shifts: dict[int, Array] = {}
    for number, group in enumerate(circuit.groups):
        if not isinstance(group.law, Comparator):
            continue
        apart = padded[group.nodes[3]] - padded[group.nodes[4]] + params[number][0]
        near = (np.abs(apart) < NEAR) | loose[group.nodes[3]] | loose[group.nodes[4]]
        across = -apart - np.sign(apart) * NEAR
        shifts[number] = np.where(near, across, 0.0)
        on_edge |= near.any(axis=0)
    columns = np.flatnonzero(on_edge)
    moved = take_columns(params, columns)
    for number, shift in shifts.items():
        moved[number][0] += shift[:, columns]
    return columns, moved
