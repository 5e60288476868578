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

import math
from collections.abc import Sequence
from itertools import pairwise

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
_HALVINGS = 6
"""How often a rung that is too high is halved."""


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
    found = _climb(circuit, _columns(params, columns), columns.size, _part(probe, columns))
    v, resolved = done.v.copy(), done.resolved.copy()
    v[:, columns], resolved[columns] = found.v, found.resolved
    climbed[columns] = found.resolved
    steps = done.steps + found.steps
    return Solution(v=v, resolved=resolved, ohms=done.ohms, steps=steps), climbed


def _climb(circuit: Circuit, params: Sequence[Array], width: int, probe: Probe | None) -> Solution:
    done = _solve_at(circuit, params, np.zeros((circuit.size, width)), probe, _LADDER[0])
    for below, share in pairwise(_LADDER):
        done = _rise(circuit, params, done, probe, (below, share), _HALVINGS)
    return done


def _rise(
    circuit: Circuit,
    params: Sequence[Array],
    start: Solution,
    probe: Probe | None,
    rung: tuple[float, float],
    halvings: int,
) -> Solution:
    """From one share of the gain to a higher one; cases that do not follow take half the way
    first."""
    done = _solve_at(circuit, params, np.nan_to_num(start.v), probe, rung[1])
    columns = np.flatnonzero(~done.resolved & start.resolved)
    if not columns.size or not halvings:
        return done
    some, meter = _columns(params, columns), _part(probe, columns)
    found = Solution(
        v=start.v[:, columns], resolved=start.resolved[columns], ohms=start.ohms, steps=0
    )
    middle = math.sqrt(rung[0] * rung[1])
    for half in pairwise((rung[0], middle, rung[1])):
        found = _rise(circuit, some, found, meter, half, halvings - 1)
    v, resolved = done.v.copy(), done.resolved.copy()
    v[:, columns], resolved[columns] = found.v, found.resolved
    return Solution(v=v, resolved=resolved, ohms=done.ohms, steps=done.steps + found.steps)


def _solve_at(
    circuit: Circuit, params: Sequence[Array], v: Array, probe: Probe | None, share: float
) -> Solution:
    lowered = [
        _scaled(p, group.law.parameters, share)
        for p, group in zip(params, circuit.groups, strict=True)
    ]
    return solve(circuit, lowered, v, probe=probe)


def _columns(params: Sequence[Array], columns: npt.NDArray[np.intp]) -> list[Array]:
    return [p if p.shape[2] == 1 else np.take(p, columns, axis=2) for p in params]


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
