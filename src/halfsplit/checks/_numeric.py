"""Numeric readings: outcome tables and likelihoods from mean and spread, on a grid's axis.

The model of one reading under one fault: with weight 1 - w a normal about the prediction (about
either of two when a latch may stand both ways), with weight w the grid's even background.
w is the chance of a misread; one half where the place floats; one where nothing was resolved.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from halfsplit.build.world import Numbers
from halfsplit.checks._grid import Grid
from halfsplit.checks._normal import cdf, density, quick_cdf
from halfsplit.checks._vague import FLOOR, else_row
from halfsplit.checks.kind import Outcomes, Reading
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["Predicted", "likelihood", "outcome_tables", "predicted"]

FLOATING = 0.15
"""Weight of the background where nothing holds the place."""
ADRIFT, ADRIFT_SHARE = 0.15, 0.4
"""Spread that not being held adds to a reading: a floor on the axis, and a share of the reading
(assumed)."""

MISFIT = 0.08
"""Weight of the background with the power off, on top of misreads: paths through unpowered silicon
are not all in the model (share of such readings off by more than three spreads on the example
boards against the independent simulator: 10 to 14 %)."""

TAIL_SHARE, TAIL_WIDTH = 0.05, 3.0
"""Heavier tails than normal: this share is this many times wider."""

_FAR_OFF = 1e4
_ROWS = 2048


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """[F, C] on the axis of a grid: ``mean`` and ``other`` (not-a-number where there is no
    second value) are finite otherwise (an open is far off), ``sigma`` and ``other_sigma`` have the
    meter's error in them, ``loose`` is the weight of the background apart from misreads."""

    mean: Array
    sigma: Array
    other: Array
    other_sigma: Array
    loose: Array

    def column(self, c: int) -> Predicted:
        """[F, 1] of one check."""
        return Predicted(
            mean=self.mean[:, c : c + 1],
            sigma=self.sigma[:, c : c + 1],
            other=self.other[:, c : c + 1],
            other_sigma=self.other_sigma[:, c : c + 1],
            loose=self.loose[:, c : c + 1],
        )


def predicted(numbers: Numbers, grid: Grid) -> Predicted:
    """From the world's numbers, the meter's error in their spreads, which are those on the axis."""
    unresolved = numbers.unresolved | np.isnan(numbers.mean)
    mean = np.where(unresolved, 0.0, grid.axis(np.where(unresolved, 0.0, numbers.mean)))
    mean = np.clip(mean, -_FAR_OFF, _FAR_OFF)
    other = np.clip(grid.axis(numbers.other), -_FAR_OFF, _FAR_OFF)

    def sigma(spread: Array, about: Array) -> Array:
        known = np.where(np.isfinite(spread) & (spread > 0.0) & ~unresolved, spread, 1.0)
        adrift = np.hypot(known, ADRIFT + ADRIFT_SHARE * np.abs(about))
        return np.where(numbers.floating, adrift, known)

    loose = np.where(numbers.floating, FLOATING, 0.0)
    return Predicted(
        mean=mean,
        sigma=sigma(numbers.spread, mean),
        other=np.where(unresolved, np.nan, other),
        other_sigma=sigma(numbers.other_spread, other),
        loose=np.where(unresolved, 1.0, loose),
    )


def outcome_tables(grid: Grid, what: Predicted, misread: float) -> list[Outcomes]:
    """One table [F, O] for each of C columns, views into one array [C, F, O].

    Faults that leave a reading as it is (most of them, at most places) share the healthy row.
    """
    columns = what.mean.shape[1]
    background = np.array(grid.background)
    weight = np.maximum(what.loose, max(FLOOR, misread))
    changed = _changed(what)
    table = np.empty((columns, what.mean.shape[0], len(background)))
    table[:] = _rows(grid, what, weight, np.zeros(columns, np.int64), np.arange(columns))[:, None]
    column, fault = np.nonzero(changed.T)
    for start in range(0, len(column), _ROWS):
        c, f = column[start : start + _ROWS], fault[start : start + _ROWS]
        table[c, f] = _rows(grid, what, weight, f, c)
    return [Outcomes(labels=grid.labels, p=table[c], edges=grid.borders) for c in range(columns)]


def likelihood(grid: Grid, what: Predicted, reading: Reading, misread: float) -> Array:
    """[F + 1] of one check (``what`` [F, 1]): density on the axis for a value, probability for
    an interval or OL. Never 0."""
    faults = what.mean.shape[0]
    if reading.nothing or (reading.value is None and reading.low is None and reading.high is None):
        return np.ones(faults + 1)
    weight = np.maximum(what.loose, misread)
    top = grid.edges[-1]
    if reading.value is not None and (math.isinf(reading.value) or _is_over(grid, reading.value)):
        core, background = _mass(grid, what, top, math.inf), grid.background_mass(top, math.inf)
    elif reading.value is not None:
        core = _density(grid, what, reading)
        background = grid.background_density(reading.value)
    else:
        low = -math.inf if reading.low is None else reading.low
        low = -math.inf if grid.log and low <= 0.0 else low
        high = math.inf if reading.high is None else reading.high
        core, background = _mass(grid, what, low, high), grid.background_mass(low, high)
    rows = ((1.0 - weight) * core + weight * background)[:, 0]
    return np.append(rows, else_row(rows[:1], np.array([background])))


def _is_over(grid: Grid, value: float) -> bool:
    return grid.over and value >= grid.edges[-1]


def _changed(what: Predicted) -> np.typing.NDArray[np.bool_]:
    """[F, C] where a row differs from the healthy one by more than a twentieth of its width."""
    sigma = what.sigma[:1]
    moved = np.abs(what.mean - what.mean[:1]) > 0.05 * sigma
    moved |= np.abs(what.sigma - sigma) > 0.05 * sigma
    moved |= what.loose != what.loose[:1]
    both = np.isfinite(what.other) & np.isfinite(what.other[:1])
    moved |= np.isfinite(what.other) != np.isfinite(what.other[:1])
    gap = np.where(both, what.other, 0.0) - np.where(both, what.other[:1], 0.0)
    moved |= np.abs(gap) > 0.05 * sigma
    moved[0] = False
    return moved


def _rows(
    grid: Grid,
    what: Predicted,
    weight: Array,
    fault: np.typing.NDArray[np.int64],
    column: np.typing.NDArray[np.int64],
) -> Array:
    """[n, O] rows of n pairs of fault and column."""
    inner = grid.inner.astype(np.float32)
    p = _bins(inner, what.mean[fault, column], what.sigma[fault, column])
    other = what.other[fault, column]
    twofold = np.nonzero(np.isfinite(other))[0]
    if len(twofold):
        also = _bins(inner, other[twofold], what.other_sigma[fault, column][twofold])
        p[twofold] = 0.5 * (p[twofold] + also)
    w = weight[fault, column][:, None]
    p *= 1.0 - w
    p += w * np.array(grid.background)
    return p


def _bins(inner: np.typing.NDArray[np.float32], mean: Array, sigma: Array) -> Array:
    """[n, O] probabilities of the bins between the borders [O - 1]."""
    scale = (1.0 / sigma).astype(np.float32)[:, None]
    below = quick_cdf((inner - mean.astype(np.float32)[:, None]) * scale).astype(np.float64)
    p = np.empty((len(mean), len(inner) + 1))
    p[:, 0] = below[:, 0]
    np.subtract(below[:, 1:], below[:, :-1], out=p[:, 1:-1])
    np.subtract(1.0, below[:, -1], out=p[:, -1])
    return p


def _density(grid: Grid, what: Predicted, reading: Reading) -> Array:
    """[F, 1] on the axis at the reading's value, its rounding added to the spread."""
    assert reading.value is not None
    x = grid.at(reading.value)
    low = reading.value if reading.low is None else reading.low
    high = reading.value if reading.high is None else reading.high
    rounding = abs(grid.at(high) - grid.at(low)) / math.sqrt(12.0)

    def about(centre: Array, spread: Array) -> Array:
        sigma = np.hypot(spread, rounding)
        z = (x - centre) / sigma
        near, far = density(z) / sigma, density(z / TAIL_WIDTH) / (TAIL_WIDTH * sigma)
        result: Array = (1.0 - TAIL_SHARE) * near + TAIL_SHARE * far
        return result

    return _either(what, about)


def _mass(grid: Grid, what: Predicted, low: float, high: float) -> Array:
    """[F, 1] probability between two values."""

    def below(centre: Array, sigma: Array, value: float) -> Array:
        if math.isinf(value):
            return np.full(centre.shape, 0.0 if value < 0 else 1.0)
        z = (grid.at(value) - centre) / sigma
        result: Array = (1.0 - TAIL_SHARE) * cdf(z) + TAIL_SHARE * cdf(z / TAIL_WIDTH)
        return result

    def about(centre: Array, sigma: Array) -> Array:
        part = below(centre, sigma, high) - below(centre, sigma, low)
        result: Array = np.maximum(part, 0.0)
        return result

    return _either(what, about)


def _either(what: Predicted, about: Callable[[Array, Array], Array]) -> Array:
    """Half about the mean, half about the other value where there is one; ``about`` takes a centre
    and the standard deviation."""
    first = about(what.mean, what.sigma)
    two = np.isfinite(what.other)
    if not two.any():
        return first
    second = about(
        np.where(two, what.other, what.mean), np.where(two, what.other_sigma, what.sigma)
    )
    result: Array = np.where(two, 0.5 * (first + second), first)
    return result
