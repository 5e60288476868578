"""Spread of readings by tolerance: few samples, chosen for the board they are drawn for.

To first order a reading is a sum over the parameters that vary, and its variance the sum of their
squares. Twelve boards with every parameter one standard deviation up or down give that sum
exactly for any eleven parameters in orthogonal columns (R. L. Plackett and J. P. Burman,
Biometrika 33, 1946). A board has hundreds, so columns are shared, by parameters that move no
reading together on the good board.

What is not of first order is drawn: the good board a few hundred times, solved in full, and so is
each fault that leaves its slope within its tolerances. Where a fault leaves a place as it was,
the good board's draws serve.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import Assembly
from halfsplit.build.parameters import (
    base_parameters,
    drawn_deviations,
    independent_draws,
    sample_deviations,
    take_columns,
)
from halfsplit.frozen import dataclass
from halfsplit.solve.engine import Linear
from halfsplit.solve.law import Array
from halfsplit.solve.persistent import persist

__all__ = ["Drawn", "Index", "Lay", "Tolerances"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]
Lay = Callable[[list[Array], Index], list[Array]]
"""Parameters [P, M, B] and the case of each of the B columns -> the same with the state, the
case's fault and its stored bits laid over, in place."""

_SMALL = 0.01
"""Share of a tolerance whose effect is worked out and scaled up: a whole one would run up an
exponential, where the current is many times another and the voltage hardly."""
_GOOD, _EACH, _TRIED = 255, 32, 4
"""Full draws of the good board, of a fault that is not of first order, and draws that tell."""
_REACH = 1.6
"""Standard deviations of the draws that tell whether a fault is of first order."""
_BENT = 0.05
"""A place that far off its slope, V, is not of first order."""
_ALIKE = 0.05
"""Responses that differ by no more than this share are those of the same circuit."""
_NOTHING = 2e-4
"""Responses that differ by less, V, differ by nothing."""
_FAR = 3.0
"""Volts; no slope is followed farther."""
_AT_ONCE = 512
_ROW = np.array([1.0, 1.0, -1.0, 1.0, 1.0, 1.0, -1.0, -1.0, -1.0, 1.0, -1.0])
"""Of the design for eleven parameters; its turns are the others."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """The good board in one state: ``slopes`` [S, N] its responses to the chosen samples,
    ``spread`` [N] rms distance of full draws from its solution; parameters of the chosen samples
    [P, M, S] a little (``near``) and far out."""

    slopes: Array
    spread: Array
    near: list[Array]
    far: list[Array]


class Tolerances:
    """Spreads of one assembly."""

    def __init__(self, assembly: Assembly) -> None:
        self.assembly, self.circuit = assembly, assembly.circuit
        self.whole = base_parameters(self.circuit, sample_deviations(assembly, 1 + _GOOD))
        self.draws = independent_draws(assembly)

    def good(self, lay: Lay, v: Array) -> Drawn:
        """Draw the good board around its solution ``v`` [N]; ``lay`` has it as case 0."""
        chosen = self._columns(self._sensitivities(lay, v))
        near = self._signed(chosen * _SMALL)
        linear = Linear(self.circuit, v[:, None], self._nominal(lay, 1))
        one = np.zeros(1, dtype=np.intp)
        varied = [lay(take_columns(near, one + s), one) for s in range(chosen.shape[1])]
        slopes = _scaled(linear.responses(varied))[:, :, 0]
        full = self._full(lay, _GOOD, one, v[:, None])[:, 0]
        first_order = np.sqrt(np.mean(slopes**2, axis=0))
        return Drawn(
            slopes=slopes,
            spread=np.where(np.isfinite(full), full, first_order),
            near=near,
            far=self._signed(chosen * _REACH),
        )

    def spread(self, lay: Lay, linear: Linear, v: Array, good: Drawn) -> Array:
        """[N, B] for B cases at their solutions ``v`` [N, B], which ``linear`` was made at."""
        found, slopes, alike = self.slopes(lay, linear, good)
        bent = self._bent(lay, v, good, slopes, alike)
        if bent.size:
            full = self._full(lay, _EACH, bent, v[:, bent])
            use = np.isfinite(full) & ~alike[:, bent]
            found[:, bent] = np.where(use, full, found[:, bent])
        return found

    def slopes(self, lay: Lay, linear: Linear, good: Drawn) -> tuple[Array, Array, Mask]:
        """[N, B] the spread to first order of B cases, where ``linear`` was made; [S, N, B] their
        responses; [N, B] where they are the good board's, whose draws then serve."""
        cases = np.arange(linear.v.shape[1])
        varied = [
            lay(take_columns(good.near, np.full(cases.size, s)), cases)
            for s in range(good.slopes.shape[0])
        ]
        slopes = _scaled(linear.responses(varied))
        gap = np.sqrt(np.mean((slopes - good.slopes[:, :, None]) ** 2, axis=0))
        alike = gap <= _ALIKE * np.sqrt(np.mean(good.slopes**2, axis=0))[:, None] + _NOTHING
        first_order = np.sqrt(np.mean(slopes**2, axis=0))
        return np.where(alike, good.spread[:, None], first_order), slopes, alike

    def _sensitivities(self, lay: Lay, v: Array) -> Array:
        """[K, N] what each of K independent draws does to the good board, one standard deviation
        up."""
        count = len(self.draws)
        case = np.zeros(count, dtype=np.intp)
        linear = Linear(
            self.circuit, np.repeat(v[:, None], count, axis=1), self._nominal(lay, count)
        )
        moved = lay(self._signed(np.eye(count) * _SMALL), case)
        found: Array = _scaled(linear.responses([moved]))[0].T
        return found

    def _columns(self, sensitivities: Array) -> Array:
        """[K, S] signs: parameters that move the same readings get orthogonal columns."""
        columns = _design()[:, 1:]
        weight = np.abs(sensitivities)
        crowd = np.zeros((columns.shape[1], weight.shape[1]))
        signs = np.empty((weight.shape[0], columns.shape[0]))
        for k in np.argsort(-weight.max(axis=1, initial=0.0)):
            chosen = int(np.argmin(crowd @ weight[k]))
            signs[k] = columns[:, chosen]
            crowd[chosen] += weight[k]
        return signs

    def _bent(self, lay: Lay, v: Array, good: Drawn, slopes: Array, alike: Mask) -> Index:
        """Cases that leave their slopes within their tolerances."""
        cases = np.flatnonzero(~alike.all(axis=0))
        v, slopes, alike = v[:, cases], slopes[:, :, cases], alike[:, cases]
        far = np.zeros(cases.size, dtype=bool)
        for s in range(_TRIED):
            params = lay(take_columns(good.far, np.full(cases.size, s)), cases)
            done, _ = persist(self.circuit, params, v)
            off = np.abs(done.v - v - _REACH * slopes[s])
            far |= (np.where(alike, 0.0, np.nan_to_num(off)) > _BENT).any(axis=0)
        return cases[far]

    def _full(self, lay: Lay, draws: int, cases: Index, v: Array) -> Array:
        """[N, C] rms distance of full draws from the solutions ``v`` [N, C] of C cases;
        not-a-number where fewer than half of them resolved."""
        found = np.empty_like(v)
        at_once = max(1, _AT_ONCE // draws)
        for start in range(0, cases.size, at_once):
            some = cases[start : start + at_once]
            sets = np.tile(np.arange(1, 1 + draws), some.size)
            start_v = np.repeat(v[:, start : start + at_once], draws, axis=1)
            params = lay(take_columns(self.whole, sets), np.repeat(some, draws))
            done, _ = persist(self.circuit, params, start_v)
            off = np.where(done.resolved, done.v - start_v, 0.0).reshape(len(v), some.size, draws)
            count = done.resolved.reshape(some.size, draws).sum(axis=1)
            mean = (off**2).sum(axis=2) / np.maximum(count, 1)
            found[:, start : start + at_once] = np.where(2 * count >= draws, np.sqrt(mean), np.nan)
        return found

    def _signed(self, deviations: Array) -> list[Array]:
        """Parameters of S boards, ``deviations`` [K, S] of the draws in standard deviations."""
        return base_parameters(self.circuit, drawn_deviations(self.assembly, deviations))

    def _nominal(self, lay: Lay, width: int) -> list[Array]:
        zero = np.zeros(width, dtype=np.intp)
        return lay(take_columns(self.whole, zero), zero)


def _scaled(moved: Array) -> Array:
    return np.clip(np.nan_to_num(moved) / _SMALL, -_FAR, _FAR)


def _design() -> Array:
    """[12, 12] orthogonal columns of +1 and -1, the first all +1."""
    turns = np.stack([np.roll(_ROW, k) for k in range(_ROW.size)])
    rows = np.vstack((turns, -np.ones(_ROW.size)))
    return np.hstack((np.ones((rows.shape[0], 1)), rows))
