"""What a good board reads, in words."""

from __future__ import annotations

import math

from halfsplit.build.world import Numbers
from halfsplit.checks._grid import Grid
from halfsplit.checks._numeric import Predicted
from halfsplit.units import format_quantity, format_span

__all__ = ["expected_span"]

WIDTH = 2.0
"""Standard deviations either side: about 95 in 100 good readings lie inside."""
NARROW, WIDE = 0.2, 4.0
"""V; spans between the two are told in tenths."""
ZERO = 0.15
"""V; a span around zero that reaches no further is about 0 V."""


def expected_span(what: Predicted, numbers: Numbers, grid: Grid) -> str:
    """Two standard deviations either side of the healthy prediction, meter error included:
    ``0.64 to 0.78 V``; OL, floating, two values and unresolved are said."""
    if numbers.unresolved[0, 0] or math.isnan(numbers.mean[0, 0]):
        return "unresolved: it could not be worked out"
    if numbers.floating[0, 0]:
        return "floating: nothing holds it, the reading may drift"
    sigma = float(what.sigma[0, 0])
    first = _around(float(what.mean[0, 0]), sigma, grid)
    other = float(what.other[0, 0])
    return first if math.isnan(other) else f"{first} or {_around(other, sigma, grid)}"


def _around(mean: float, sigma: float, grid: Grid) -> str:
    top = grid.edges[-1]
    low, high = (_back(mean + side * WIDTH * sigma, grid) for side in (-1.0, 1.0))
    if grid.over and low >= top:
        return "OL (open)"
    if grid.over and high >= top:
        return f"above {format_quantity(low, grid.unit)}, or OL"
    if grid.over:
        low = max(low, 0.0)
    return _volts(low, high) if grid.unit == "V" else format_span(low, high, grid.unit)


def _volts(low: float, high: float) -> str:
    """As many decimals as the width of the span bears: hundredths where it is narrow (and below
    10 V), else tenths, whole volts where it is wide."""
    width = high - low
    if low < 0.0 < high and max(-low, high) < ZERO:
        return "about 0 V"
    if width < NARROW:
        decimals = 1 if max(abs(low), abs(high)) >= 10.0 else 2
    else:
        decimals = 1 if width < WIDE else 0
    first, second = (f"{end:.{decimals}f}" for end in (low, high))
    first, second = ("0" if float(end) == 0.0 else end for end in (first, second))
    return f"{first} V" if first == second else f"{first} to {second} V"


def _back(x: float, grid: Grid) -> float:
    """From the axis to SI."""
    return grid.least * math.expm1(min(x, 700.0)) if grid.log else x
