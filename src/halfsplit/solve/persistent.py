"""Solve, and where the iteration goes round in a circle, come up to the gates' gain by steps.

What Newton's iteration cannot settle is nearly always a loop through gates that their own output
contradicts: a bridge that makes a ring of an odd number of inverters. It has a solution (the
ring half way between its levels), which the full gain hides. With the gain of every gate low the
solution is plain; raised by steps it is followed to the real circuit (continuation: E. L.
Allgower and K. Georg, Numerical Continuation Methods, Springer 1990, chapter 2).

Such a loop may oscillate, and a meter then shows an average: whoever asks is told which cases
came by this way, so that he can trust their levels less.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.solve.circuit import Circuit
from halfsplit.solve.engine import solve
from halfsplit.solve.law import Array
from halfsplit.solve.newton import Mask, Probe, Solution

__all__ = ["GAIN", "persist"]

GAIN = "steep"
"""Name of the parameter that is the gain of a law."""
_LADDER = (0.02, 0.04, 0.08, 0.15, 0.25, 0.4, 0.55, 0.7, 0.85, 1.0)


def persist(
    circuit: Circuit,
    params: Sequence[Array],
    guess: Array | None = None,
    *,
    probe: Probe | None = None,
) -> tuple[Solution, Mask]:
    """:func:`halfsplit.solve.engine.solve`, and which cases [B] needed the gain raised by steps.

    Arguments as there. Cases still open are unresolved.
    """
    done = solve(circuit, params, guess, probe=probe)
    columns = np.flatnonzero(~done.resolved)
    climbed = np.zeros(done.resolved.size, dtype=bool)
    if not columns.size:
        return done, climbed
    taken = [p if p.shape[2] == 1 else p[:, :, columns] for p in params]
    found = _climb(circuit, taken, columns.size, _part(probe, columns))
    v, resolved = done.v.copy(), done.resolved.copy()
    v[:, columns], resolved[columns] = found.v, found.resolved
    climbed[columns] = found.resolved
    steps = done.steps + found.steps
    return Solution(v=v, resolved=resolved, ohms=done.ohms, steps=steps), climbed


def _climb(circuit: Circuit, params: Sequence[Array], width: int, probe: Probe | None) -> Solution:
    v = np.zeros((circuit.size, width))
    steps = 0
    for share in _LADDER:
        lowered = [
            _scaled(p, group.law.parameters, share)
            for p, group in zip(params, circuit.groups, strict=True)
        ]
        found = solve(circuit, lowered, v, probe=probe)
        steps += found.steps
        v = np.nan_to_num(found.v)
    return Solution(v=found.v, resolved=found.resolved, ohms=found.ohms, steps=steps)


def _scaled(p: Array, names: Sequence[str], share: float) -> Array:
    if GAIN not in names:
        return p
    p = p.copy()
    p[names.index(GAIN)] *= share
    return p


def _part(probe: Probe | None, columns: npt.NDArray[np.intp]) -> Probe | None:
    if probe is None:
        return None
    return Probe(probe.red[columns], probe.black[columns], probe.g[columns], probe.amps[columns])
