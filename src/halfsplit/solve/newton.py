"""DC operating points of many cases of one circuit at once.

Newton's iteration in four tries, each only for the cases that the last one left open:

1. from the guess (usually the healthy board in the same state), a few full steps: most faults
   touch little and are done here;
2. a *logic phase*, in which a gate keeps its smooth value but not the slope of its output with
   respect to its inputs, until nothing moves by more than 20 mV; then full Newton;
3. the same from zero;
4. pseudo-transient continuation (C. T. Kelley and D. E. Keyes, SIAM J. Numer. Anal. 35, 1998): a
   capacitor from every node to its last value, let out slowly.

What is still open after that is reported as unresolved, never as a number.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.solve.circuit import LEAK, Circuit
from halfsplit.solve.elimination import back, diagonal_of_inverse, factor, forward
from halfsplit.solve.law import Array
from halfsplit.solve.stamping import stamp, widen

__all__ = ["Probe", "Solution", "solve"]

Mask = npt.NDArray[np.bool_]

TOLERANCE = 1e-7
"""Largest change of a node voltage in the last step, V."""
_LOGIC_TOLERANCE = 0.02
_PATIENCE, _SHORT_STEP = 14, 0.4
"""After so many steps two in three are shortened: what went round in a circle leaves it."""
_NOISE, _STALLED = 2e-3, 0.1
"""A node that only leaks hold answers to rounding: two steps in a row below the first, V, are rest
when the second, after a whole step, is not at least ten times smaller: Newton's would be."""
_MOST = {"first": 40, "logic": 30, "full": 60, "soft": 160}


@dataclass(frozen=True, slots=True)
class Probe:
    """A meter between two nodes of each case: ``amps`` pushed into ``red`` and out of ``black``,
    beside a conductance ``g``. Node -1 is ground; all are [B]. With g not zero, the nodes of a
    pair must share an element of the circuit, or one of them be ground."""

    red: npt.NDArray[np.intp]
    black: npt.NDArray[np.intp]
    g: Array
    amps: Array


@dataclass(frozen=True, slots=True)
class Solution:
    """Node voltages ``v`` [N, B]; ``resolved`` [B]; ``ohms`` [N, B] source resistance of each
    node (not-a-number unless asked for). Unresolved columns of ``v`` are not-a-number."""

    v: Array
    resolved: Mask
    ohms: Array
    steps: int


def solve(
    circuit: Circuit,
    params: Sequence[Array],
    guess: Array | None = None,
    *,
    want_ohms: bool = False,
    probe: Probe | None = None,
) -> Solution:
    """Solve B cases.

    ``params``: for each group of the circuit its parameters [P, M, B] (or [P, M, 1]).
    ``guess`` [N, B] or [N, 1] starting voltages. ``probe``: a meter in each case.
    """
    width = max((p.shape[2] for p in params), default=1)
    if guess is not None:
        width = max(width, guess.shape[1])
    if probe is not None:
        width = max(width, probe.red.size)
    if width == 0:
        none = np.empty((circuit.size, 0))
        return Solution(v=none, resolved=np.empty(0, dtype=bool), ohms=none, steps=0)
    run = _Run(circuit, params, width, probe)
    v = np.zeros((circuit.size + 1, width))
    if guess is not None:
        v[:-1] = guess
    with np.errstate(all="ignore"):
        done = run.settle(v, warm=guess is not None)
        ohms = run.finish(v, want_ohms)
    v = v[:-1]
    v[:, ~done] = np.nan
    return Solution(v=v, resolved=done, ohms=ohms, steps=run.steps)


class _Run:
    """Working arrays of one batch."""

    def __init__(
        self, circuit: Circuit, params: Sequence[Array], width: int, probe: Probe | None
    ) -> None:
        self.circuit, self.width, self.steps = circuit, width, 0
        pattern = circuit.pattern
        self.skip = pattern.static_slots
        a = np.zeros((pattern.slots, width))
        rhs = np.zeros((circuit.size, width))
        a[circuit.diagonal] += LEAK
        self.curved = [k for k, g in enumerate(circuit.groups) if not g.law.linear]
        for k, group in enumerate(circuit.groups):
            if not group.law.linear:
                continue
            p = widen(params[k], width)
            i, g = group.law.evaluate(np.zeros((*group.nodes.shape, width)), p, False)
            stamp(group, g, a, 0)
            rows = (-i).reshape(-1, width)[group.inject_rows]
            for turn in group.inject:
                rhs[turn.target] += rows[turn.source]
        if probe is not None:
            _attach(circuit, probe, a, rhs)
        factor(a, pattern.static)
        forward(a, rhs, pattern.static)
        self.a, self.rhs = a, rhs
        self.params = {k: widen(params[k], width) for k in self.curved}

    def settle(self, v: Array, *, warm: bool) -> Mask:
        """Iterate ``v`` [N + 1, B] in place; which columns are solved."""
        done = np.zeros(self.width, dtype=bool)
        if warm:
            start = v.copy()
            self._iterate(v, ~done, done, "first", frozen=False)
            v[:, ~done] = start[:, ~done]
        for clear in (False, True) if warm else (False,):
            if done.all():
                return done
            if clear:
                v[:, ~done] = 0.0
            settled = done.copy()
            self._iterate(v, ~done, settled, "logic", frozen=True)
            self._iterate(v, ~done, done, "full", frozen=False)
        if not done.all():
            v[:, ~done] = 0.0
            self._iterate(v, ~done, done, "soft", frozen=False)
        return done

    def finish(self, v: Array, want_ohms: bool) -> Array:
        """Back-substitute the static part, and find source resistances if asked."""
        rhs = self.rhs.copy()
        v_dynamic = v[:-1]
        static = [int(n) for step in self.circuit.pattern.static for n in step.nodes]
        rest = np.ones(self.circuit.size, dtype=bool)
        rest[static] = False
        rhs[rest] = v_dynamic[rest]
        back(self.a, rhs, self.circuit.pattern.static)
        v[:-1] = rhs
        if not want_ohms:
            return np.full((0, self.width), np.nan)
        a = self.a.copy()
        dynamic = a[self.skip :]
        for k in self.curved:
            group = self.circuit.groups[k]
            _, g = group.law.evaluate(v[group.nodes], self.params[k], False)
            stamp(group, g, dynamic, self.skip)
        factor(dynamic, self.circuit.pattern.dynamic)
        return diagonal_of_inverse(a, self.circuit.pattern)

    def _iterate(self, v: Array, todo: Mask, done: Mask, phase: str, *, frozen: bool) -> None:
        """Newton steps on the columns ``todo``; marks in ``done`` those that come to rest."""
        circuit, pattern = self.circuit, self.circuit.pattern
        columns = np.flatnonzero(todo)
        tolerance = _LOGIC_TOLERANCE if phase == "logic" else TOLERANCE
        base, rhs0, params = self._take(columns)
        now = v[:, columns]
        at = {k: now[circuit.groups[k].nodes] for k in self.curved}
        last = np.full(columns.size, np.inf)
        for step in range(_MOST[phase]):
            self.steps += 1
            a, rhs = base.copy(), rhs0.copy()
            bent = np.zeros(columns.size)
            for k in self.curved:
                group = circuit.groups[k]
                here = now[group.nodes]
                taken = group.law.limit(here, at[k], params[k])
                if taken is not here:
                    np.maximum(bent, np.abs(taken - here).max(axis=(0, 1)), out=bent)
                at[k] = taken
                i, g = group.law.evaluate(taken, params[k], frozen)
                stamp(group, g, a, self.skip)
                rows = list(group.carrying)
                push = -i[rows]
                for f, volts in enumerate(taken):  # in this order whatever the width
                    push += g[rows, f] * volts
                push = push.reshape(-1, columns.size)[group.inject_rows]
                for turn in group.inject:
                    rhs[turn.target] += push[turn.source]
            if phase == "soft":
                g_soft = 10.0 ** (-1.0 - 9.0 * step / 120.0) if step < 120 else 0.0
                a[circuit.diagonal_dynamic - self.skip] += g_soft
                rhs[circuit.nodes_dynamic] += g_soft * now[circuit.nodes_dynamic]
            factor(a, pattern.dynamic)
            forward(a, rhs, pattern.dynamic)
            back(a, rhs, pattern.dynamic)
            new = rhs[circuit.nodes_dynamic]
            change = new - now[circuit.nodes_dynamic]
            moved = np.abs(change).max(axis=0, initial=0.0)
            if phase != "logic" and step >= _PATIENCE and step % 3:
                new = now[circuit.nodes_dynamic] + _SHORT_STEP * change
            now[circuit.nodes_dynamic] = new
            broken = ~np.isfinite(moved)
            if broken.any():
                now[:, broken] = 0.0
                for k in self.curved:
                    at[k][..., broken] = 0.0
            whole = step <= _PATIENCE or step % 3 == 1  # nothing of the last step was held back
            noisy = (moved < _NOISE) & (last < _NOISE) & (moved > _STALLED * last)
            calm = (moved < tolerance) | (noisy if whole else False)
            rest = calm & (bent < tolerance) & ~broken
            last = moved
            if phase == "soft" and step < 120:
                rest[:] = False
            if rest.any():
                v[:, columns[rest]] = now[:, rest]
                done[columns[rest]] = True
                keep = ~rest
                if not keep.any():
                    return
                columns = columns[keep]
                base, rhs0, now = base[:, keep], rhs0[:, keep], now[:, keep]
                last = last[keep]
                params = {k: p[..., keep] for k, p in params.items()}
                at = {k: p[..., keep] for k, p in at.items()}
        v[:, columns] = now

    def _take(self, columns: npt.NDArray[np.intp]) -> tuple[Array, Array, dict[int, Array]]:
        if columns.size == self.width:
            return self.a[self.skip :], self.rhs, self.params
        return (
            self.a[self.skip :, columns],
            self.rhs[:, columns],
            {k: p[..., columns] for k, p in self.params.items()},
        )


def _attach(circuit: Circuit, probe: Probe, a: Array, rhs: Array) -> None:
    slot = circuit.pattern.slot
    for column in range(probe.red.size):
        red, black = int(probe.red[column]), int(probe.black[column])
        g, amps = probe.g[column], probe.amps[column]
        for node, sign in ((red, 1.0), (black, -1.0)):
            if node >= 0:
                a[slot[node, node], column] += g
                rhs[node, column] += sign * amps
        if g != 0.0 and red >= 0 and black >= 0 and red != black:
            a[slot[red, black], column] -= g
            a[slot[black, red], column] -= g
