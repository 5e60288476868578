"""Transistors that carry what would destroy them: only between limits can their readings be told.

A shorted clamp diode lays a supply across a driver that is on. What the driver then carries hangs
on its gain far beyond its rating, which no data sheet gives: from what the model says up to the
driver saturated and the supply pulled down. The case is solved again with ten times the gain, and
the readings lie at either end or between.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.parameters import take_columns
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.junction import Bipolar

__all__ = ["BETWEEN", "driven_hard"]

WATTS = 20.0
"""Loss in one transistor above which it is overloaded: ten times what a TO-220 case without a heat
sink stands (2 W at 25 °C: data sheets of the TIP120 class)."""
_GAIN = 10.0
"""How much more gain is tried (assumed)."""
BETWEEN = 0.25
"""Share of the way between both ends that is one standard deviation at either."""


def driven_hard(
    circuit: Circuit, v: Array, params: Sequence[Array]
) -> tuple[npt.NDArray[np.intp], list[Array]]:
    """Columns of ``v`` [N, B] with an overloaded transistor, and their parameters with its gain
    multiplied."""
    padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
    hot = np.zeros(v.shape[1], dtype=bool)
    which: dict[int, npt.NDArray[np.bool_]] = {}
    for number, group in enumerate(circuit.groups):
        if not isinstance(group.law, Bipolar):
            continue
        here = padded[group.nodes]
        amperes, _ = group.law.evaluate(here, params[number], False)
        which[number] = (amperes[0] * (here[0] - here[2])) > WATTS
        hot |= which[number].any(axis=0)
    columns = np.flatnonzero(hot)
    harder = take_columns(params, columns)
    for number, at in which.items():
        gain = circuit.groups[number].law.parameters.index("bf")
        harder[number][gain] *= np.where(at[:, columns], _GAIN, 1.0)
    return columns, harder
