"""Where low ends and high begins: by the logic family on a net, or by the signal's own two levels.

An open collector that drives a transistor's base swings between about 0.1 and 0.7 V. By the
family's thresholds it is always low; its own two levels tell on from off.
"""

from __future__ import annotations

import numpy as np

from halfsplit.errors import UnknownName, WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.line import Array

__all__ = ["FAMILY_LIMITS", "Levels", "Thresholds", "choose_thresholds", "own_levels"]

FAMILY_LIMITS = {
    "ttl": (0.8, 2.0),
    "hct": (0.8, 2.0),
    "nmos": (0.8, 2.0),
    "hc": (1.5, 3.5),
    "cmos": (1.5, 3.5),
}
"""Family -> (VIL, VIH) in volt at a supply of 5 V. TTL and HCT: limits of the 74 series
datasheets; HC and 4000B: 0.3 and 0.7 of the supply (from memory of their datasheets)."""

TOLD_APART = 6.0
"""Two levels are two when they lie more than this many of their spreads apart (judgement)."""

SMALLEST_SWING = 0.05
"""V; less than this is no logic swing (judgement)."""

_BINS = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """The two levels of a signal, V, and the larger spread about them (one standard deviation).

    ``two`` is False when it has only one level; both are then the same."""

    low: float
    high: float
    spread: float
    two: bool

    @property
    def swing(self) -> float:
        return self.high - self.low


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """Below ``low`` V surely low, above ``high`` V surely high, between undefined; ``why`` says
    where they come from."""

    low: float
    high: float
    why: str

    @property
    def middle(self) -> float:
        return 0.5 * (self.low + self.high)


def own_levels(volts: Array) -> Levels:
    """The two levels of a sampled signal (V) from its histogram.

    The border that splits the histogram best (Otsu, IEEE Trans. SMC-9, 1979), then the median
    of each side, which spikes do not move. Raises :class:`WaveError` without samples.
    """
    good = np.asarray(volts, float)
    good = good[np.isfinite(good)]
    if not len(good):
        raise WaveError("expected samples in volt, got none that are numbers")
    bottom, top = float(good.min()), float(good.max())
    if top - bottom < 1e-12:
        return Levels(low=bottom, high=top, spread=0.0, two=False)
    counts, borders = np.histogram(good, bins=_BINS, range=(bottom, top))
    centres = 0.5 * (borders[1:] + borders[:-1])
    weight = np.cumsum(counts)
    total, moment = weight[-1], np.cumsum(counts * centres)
    with np.errstate(divide="ignore", invalid="ignore"):
        between = (moment[-1] * weight - total * moment) ** 2 / (weight * (total - weight))
    split = borders[int(np.nanargmax(between[:-1])) + 1]
    below, above = good[good < split], good[good >= split]
    low, high = float(np.median(below)), float(np.median(above))
    spread = max(_spread(below), _spread(above))
    two = high - low > max(SMALLEST_SWING, TOLD_APART * spread)
    if not two:
        middle = float(np.median(good))
        return Levels(low=middle, high=middle, spread=float(good.std()), two=False)
    return Levels(low=low, high=high, spread=spread, two=True)


def choose_thresholds(levels: Levels, family: str = "ttl") -> Thresholds:
    """Thresholds for a signal on a net of that family (a key of :data:`FAMILY_LIMITS`, or
    ``"own"``).

    The family's, unless the signal has two levels that do not lie on both sides of them.
    Raises :class:`UnknownName`.
    """
    if family != "own" and family not in FAMILY_LIMITS:
        raise UnknownName("logic family", family, [*FAMILY_LIMITS, "own"])
    if family != "own":
        low, high = FAMILY_LIMITS[family]
        if not levels.two or (levels.low <= low and levels.high >= high):
            return Thresholds(low=low, high=high, why=f"{family} inputs")
    elif not levels.two:
        raise WaveError(
            f"expected a signal with two levels, got one that stays near {levels.low:.3g} V; "
            "name the logic family on its net"
        )
    swing = f"it swings {levels.low:.2f} to {levels.high:.2f} V"
    why = f"its own two levels: {swing}"
    if family != "own":
        why += f", which {family} inputs would not tell apart"
    return Thresholds(
        low=levels.low + 0.3 * levels.swing, high=levels.low + 0.7 * levels.swing, why=why
    )


def _spread(volts: Array) -> float:
    """A standard deviation from the median of distances, which a few spikes do not move."""
    if not len(volts):
        return 0.0
    return 1.4826 * float(np.median(np.abs(volts - np.median(volts))))
