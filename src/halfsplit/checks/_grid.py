"""Bins of the numeric kinds, and the even background that stands for "anything at all"."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np

from halfsplit.build.world import World
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.units import format_quantity

__all__ = [
    "OHMS_LIMIT",
    "Grid",
    "diode_grid",
    "farads_grid",
    "ohms_grid",
    "peak_grid",
    "seconds_grid",
    "series_grid",
    "volts_grid",
]

OHMS_LIMIT = 20e6
"""Ohm; above it a hand-held meter shows OL (20 to 60 MΩ; common practice, no source)."""

OVER_SHARE = 0.2
"""Part of the background that lies at OL, where a grid has it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """O bins of a quantity. ``edges`` [O + 1] are finite, SI; the first bin also holds all below
    it, the last all above it. With ``over`` there is one bin more, OL, above the last edge.
    ``log`` bins ``log(1 + x)`` instead of x. ``background`` [O] is the probability of each bin
    when nothing is known: even over the bins, so finer where readings crowd."""

    unit: str
    edges: tuple[float, ...]
    labels: tuple[str, ...]
    background: tuple[float, ...]
    over: bool = False
    log: bool = False
    least: float = 1.0
    """With ``log``, what is added to x before its logarithm is taken, and divided by."""

    def axis(self, x: Array) -> Array:
        """Where x lies on the axis that is binned; inf stays inf."""
        if not self.log:
            return x
        result: Array = np.log1p(np.maximum(x, 0.0) / self.least)
        return result

    def at(self, x: float) -> float:
        """:meth:`axis` of one number."""
        return float(self.axis(np.float64(x).reshape(1))[0])

    @property
    def inner(self) -> Array:
        """[O - 1] borders between bins, on the axis."""
        edges = self.edges[1:] if self.over else self.edges[1:-1]
        return self.axis(np.array(edges))

    @property
    def borders(self) -> tuple[float, ...]:
        """[O + 1] borders in SI, outermost -inf and inf."""
        inner = self.edges[1:] if self.over else self.edges[1:-1]
        return (-math.inf, *inner, math.inf)

    def background_density(self, x: float) -> float:
        """Of the background at a finite x, per unit of the axis; beyond the edges that of the
        outermost bin."""
        bins = len(self.edges) - 1
        i = min(max(int(np.searchsorted(self.edges, x, side="right")) - 1, 0), bins - 1)
        return self.background[i] / (self.at(self.edges[i + 1]) - self.at(self.edges[i]))

    def background_mass(self, low: float, high: float) -> float:
        """Of the background between two values, never 0; to inf includes OL."""
        total = self.background[-1] if self.over and math.isinf(high) else 0.0
        points = [self.at(edge) for edge in self.edges]
        first = self.at(low) if math.isfinite(low) else points[0]
        last = self.at(high) if math.isfinite(high) else points[-1]
        for i in range(len(points) - 1):
            overlap = min(last, points[i + 1]) - max(first, points[i])
            total += self.background[i] * max(overlap, 0.0) / (points[i + 1] - points[i])
        return max(total, 1e-3 * min(self.background))


def volts_grid(world: World) -> Grid:
    """Steps of 0.1 V from 0 to 1 V, 0.25 V to 6 V, 1 V to 14 V, 2 V above, as far as the rails
    reach with a tenth and a volt to spare; 0.2 V down to -1 V, or mirrored for negative rails."""
    rails = [rail.volts for rail in world.board.rails] or [5.0]
    return _volts_grid(max(*rails, 5.0), min(*rails, 0.0))


def ohms_grid() -> Grid:
    """Six bins a decade from 1 Ω to 10 MΩ (borders of the E6 series, IEC 60063), two to 20 MΩ,
    then OL."""
    return _OHMS


def farads_grid() -> Grid:
    """Three bins a decade from 100 pF to 10 mF (borders of the E3 series, IEC 60063)."""
    return _FARADS


def series_grid() -> Grid:
    """Three bins a decade from 10 mΩ to 100 Ω (borders of the E3 series, IEC 60063)."""
    return _SERIES


def peak_grid() -> Grid:
    """Six bins a decade from 0.1 V to 1 kV (borders of the E6 series, IEC 60063)."""
    return _PEAK


def seconds_grid() -> Grid:
    """Three bins a decade from 1 µs to 1 s (borders of the E3 series, IEC 60063)."""
    return _SECONDS


@lru_cache(maxsize=8)
def diode_grid(limit: float) -> Grid:
    """Steps of 0.05 V to 1 V, 0.1 V to the meter's limit, then OL."""
    edges = [k * 0.05 for k in range(20)]
    edges += [edge for edge in (1.0 + k * 0.1 for k in range(60)) if edge < limit - 1e-9]
    edges = [round(edge, 3) for edge in edges if edge < limit - 1e-9] + [limit]
    return _make("V", tuple(edges), over=True)


@lru_cache(maxsize=8)
def _volts_grid(top: float, bottom: float) -> Grid:
    return _make("V", _down(bottom) + _up(top))


def _up(top: float) -> tuple[float, ...]:
    """Edges from 0 to beyond ``top``."""
    edges = [k * 0.1 for k in range(10)] + [k * 0.25 for k in range(4, 24)]
    edges += [float(k) for k in range(6, 14)] + [float(k) for k in range(14, 2000, 2)]
    reach = 1.1 * top + 1.0
    kept = [edge for edge in edges if edge < reach]
    return tuple(round(edge, 3) for edge in [*kept, edges[len(kept)]])


def _down(bottom: float) -> tuple[float, ...]:
    """Edges below 0, down to -1 V or beyond ``bottom``."""
    if bottom >= 0.0:
        return (-1.0, -0.8, -0.6, -0.4, -0.2, -0.1)
    return tuple(-edge for edge in reversed(_up(-bottom)) if edge > 0.0)


def _make(
    unit: str,
    edges: tuple[float, ...],
    *,
    over: bool = False,
    log: bool = False,
    least: float = 1.0,
) -> Grid:
    bins = len(edges) - 1
    share = (1.0 - OVER_SHARE) / bins if over else 1.0 / bins
    labels = [_label(unit, low, high) for low, high in pairwise(edges)]
    labels[0] = f"under {_number(unit, edges[1])}"
    if not over:
        labels[-1] = f"above {_number(unit, edges[-2])}"
    return Grid(
        unit=unit,
        edges=edges,
        labels=tuple([*labels, "OL"] if over else labels),
        background=(share,) * bins + ((OVER_SHARE,) if over else ()),
        over=over,
        log=log,
        least=least,
    )


def _label(unit: str, low: float, high: float) -> str:
    if unit == "V":
        return f"{low:g} to {high:g} V"
    return f"{_number(unit, low)} to {_number(unit, high)}"


def _number(unit: str, value: float) -> str:
    return f"{value:g} V" if unit == "V" else format_quantity(value, unit)


_E6 = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
_OHMS = _make(
    "Ω",
    (
        0.0,
        *(float(f"{step}e{decade}") for decade in range(7) for step in _E6),
        1e7,
        1.5e7,
        OHMS_LIMIT,
    ),
    over=True,
    log=True,
)
_E3 = (1.0, 2.2, 4.7)


def _decades(first: int, last: int) -> tuple[float, ...]:
    steps = (float(f"{step}e{decade}") for decade in range(first, last) for step in _E3)
    return (0.0, *steps, float(f"1e{last}"))


_FARADS = _make("F", _decades(-10, -2), log=True, least=1e-11)
_SERIES = _make("Ω", _decades(-2, 2), log=True, least=0.01)
_SECONDS = _make("s", _decades(-6, 0), log=True, least=1e-6)
_PEAK = _make(
    "V",
    (0.0, *(float(f"{step}e{decade}") for decade in range(-1, 3) for step in _E6), 1e3),
    log=True,
    least=0.1,
)
