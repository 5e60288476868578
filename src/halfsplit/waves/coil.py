"""Current of a coil: rise by L/R, decay through the clamp, and what they say about coil and clamp.

i(t) = V/R (1 - exp(-t R/L)) while driven; i(t) = (I0 + Vc/R) exp(-t R/L) - Vc/R through a clamp of
Vc volts, until zero (both from L di/dt = v - R i).
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.line import Array

__all__ = [
    "Coil",
    "Exponential",
    "Finding",
    "clamp_volts",
    "decay_seconds",
    "fit_decay",
    "fit_rise",
    "judge_clamp",
    "judge_rise",
]

_STEPS = 60
_GOLDEN = 0.5 * (math.sqrt(5.0) - 1.0)

NOISE_LIMIT = 0.15
"""Root mean square of what the fit leaves over, of its swing, above which it is no exponential."""

TOLERANCE = 0.15
"""Difference from what is expected that is still taken as good (judgement)."""

ASIDE = 0.5
"""Part of that tolerance by which one cause must fit better than the next (judgement)."""

BREAKDOWN = (55.0, 130.0)
"""V at which a driver's collector gives way when nothing clamps it (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """What is expected: ``volts`` across coil and switch, ``ohms``, ``henries``, ``drop`` V of the
    switch, ``clamp`` V above the supply at which the decay is clamped."""

    volts: float
    ohms: float
    henries: float
    drop: float = 1.0
    clamp: float = 0.8

    @property
    def final(self) -> float:
        """Current in the end, A."""
        return (self.volts - self.drop) / self.ohms

    @property
    def tau(self) -> float:
        """Time constant, s."""
        return self.henries / self.ohms


@dataclass(frozen=True, slots=True, kw_only=True)
class Exponential:
    """``end`` + (``begin`` - ``end``) exp(-t/``tau``) from the first sample on; ``left`` is the
    root mean square of what does not fit, of the swing."""

    begin: float
    end: float
    tau: float
    left: float

    @property
    def slope(self) -> float:
        """At the beginning, per second."""
        return (self.end - self.begin) / self.tau


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """``verdict`` with its ``words``, and the ``ratio`` to what was expected of the cause named."""

    verdict: str
    words: str
    ratio: float = 1.0


def fit_rise(interval: float, current: Array) -> Exponential:
    """Fit the rise of a current sampled every ``interval`` s from the moment it is switched on.

    Least squares: the two levels by a line, the time constant by golden section. Raises
    :class:`WaveError` for too few samples, no swing, or a shape that is no exponential.
    """
    fitted = _fit(interval, np.asarray(current, float))
    if fitted.left > NOISE_LIMIT:
        raise WaveError(
            f"expected an exponential rise, but {100 * fitted.left:.0f} % of the swing is left "
            "over; choose the part from switching on to the last sample before switching off"
        )
    return fitted


def fit_decay(interval: float, current: Array, floor: float = 0.02) -> Exponential:
    """Fit the decay of a current from the moment it is switched off, down to ``floor`` of its
    beginning, where the clamp lets go. Errors as for :func:`fit_rise`."""
    values = np.asarray(current, float)
    if len(values) < 4:
        raise WaveError(f"expected at least 4 samples of a decay, got {len(values)}")
    low = np.flatnonzero(values <= floor * values[0])
    return fit_rise(interval, values[: low[0]] if len(low) else values)


def decay_seconds(coil: Coil, current: float | None = None) -> float:
    """Time for a current (the final one unless given) to fall to zero through the clamp."""
    begin = coil.final if current is None else current
    return coil.tau * math.log1p(begin * coil.ohms / coil.clamp)


def clamp_volts(decay: Exponential, ohms: float) -> float:
    """Volts of the clamp by the level the decay strives for, -Vc/R."""
    return -decay.end * ohms


def judge_rise(rise: Exponential, coil: Coil) -> Finding:
    """The single cause that explains final current and time constant best.

    Another supply scales the current alone; more resistance scales current and time constant
    down alike; another inductance the time constant alone; shorted turns, leaving a fraction k,
    make R k and L k^2 of the coil, so current 1/k and time constant k.
    """
    current = math.log(max(rise.end - rise.begin, 1e-12) / coil.final)
    tau = math.log(rise.tau / coil.tau)
    if max(abs(current), abs(tau)) < math.log1p(TOLERANCE):
        return Finding(
            verdict="right",
            words=f"The current rises as it should, to {rise.end:.3g} A with "
            f"{1e3 * rise.tau:.3g} ms.",
        )
    causes = {
        "supply": (1.0, 0.0),
        "resistance": (-1.0, -1.0),
        "inductance": (0.0, 1.0),
        "turns": (-1.0, 1.0),
    }
    found = {}
    for name, (a, b) in causes.items():
        size = (a * current + b * tau) / (a * a + b * b)
        found[name] = (math.hypot(current - a * size, tau - b * size), math.exp(size))
    ranked = sorted(found, key=lambda name: found[name][0])
    best, ratio = ranked[0], found[ranked[0]][1]
    if found[ranked[1]][0] - found[best][0] < ASIDE * TOLERANCE:
        best = "unsure"
    if best == "turns" and ratio > 1.0:
        best = "unsure"
    return Finding(
        verdict=_VERDICTS[best][ratio > 1.0], words=_rise_words(best, ratio), ratio=ratio
    )


_VERDICTS = {
    "supply": ("supply low", "supply high"),
    "resistance": ("resistance low", "resistance high"),
    "inductance": ("inductance low", "inductance high"),
    "turns": ("shorted turns", "unsure"),
    "unsure": ("unsure", "unsure"),
}


def _rise_words(cause: str, ratio: float) -> str:
    if cause == "supply":
        return (
            f"The current is {ratio:.2f} of what it should be and rises in the right time: so is "
            "the voltage across the coil. Look at the supply, and at the drop of the driver."
        )
    if cause == "resistance":
        return (
            f"The path has {ratio:.2f} times the resistance: final current and time constant "
            "changed alike and the first slope is right. "
            + ("Look for a bad joint or contact." if ratio > 1 else "Look for another coil.")
        )
    if cause == "inductance":
        return f"The inductance is {ratio:.2f} of what it should be and the resistance is right."
    if cause == "turns":
        return (
            f"About {100 * (1 - ratio):.0f} % of the turns are shorted: more current and a shorter "
            "time constant."
        )
    return "The rise is not what it should be, and no single cause fits it clearly best."


def judge_clamp(peak: float, coil: Coil) -> Finding:
    """What the peak at the collector (V) after switching off says about the clamp."""
    expected = coil.volts + coil.clamp
    if abs(peak - expected) <= TOLERANCE * expected:
        return Finding(
            verdict="right", words=f"The clamp works: {peak:.3g} V, {expected:.3g} V expected."
        )
    ratio = peak / expected
    if peak >= BREAKDOWN[0] and peak > 1.5 * expected:
        return Finding(
            verdict="no clamp",
            words=f"The collector reaches {peak:.3g} V: nothing clamps it until the driver itself "
            "breaks down. Look at the clamp diode and its path; the driver may have suffered.",
            ratio=ratio,
        )
    which: Literal["low", "high"] = "high" if ratio > 1 else "low"
    return Finding(
        verdict=f"clamp {which}",
        words=f"The collector is clamped at {peak:.3g} V, {expected:.3g} V expected: the clamp, or "
        f"its zener, is {'too high' if which == 'high' else 'bypassed or leaking'}.",
        ratio=ratio,
    )


def _fit(interval: float, values: Array) -> Exponential:
    if len(values) < 4 or not np.isfinite(values).all():
        raise WaveError(f"expected at least 4 samples that are numbers, got {len(values)}")
    if not interval > 0:
        raise WaveError(f"expected a sample interval above 0 s, got {interval:g}")
    swing = float(values.max() - values.min())
    if swing <= 0:
        raise WaveError("expected a current that changes, got one that stays the same")
    t: Array = interval * np.arange(len(values), dtype=float)
    low, high = math.log(0.3 * interval), math.log(10.0 * float(t[-1]))
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    errors = [_levels(t, values, math.exp(x))[2] for x in (left, right)]
    for _ in range(_STEPS):
        if errors[0] < errors[1]:
            high, right, errors[1] = right, left, errors[0]
            left = high - _GOLDEN * (high - low)
            errors[0] = _levels(t, values, math.exp(left))[2]
        else:
            low, left, errors[0] = left, right, errors[1]
            right = low + _GOLDEN * (high - low)
            errors[1] = _levels(t, values, math.exp(right))[2]
    tau = math.exp(0.5 * (low + high))
    end, more, error = _levels(t, values, tau)
    return Exponential(
        begin=end + more, end=end, tau=tau, left=math.sqrt(error / len(values)) / swing
    )


def _levels(t: Array, values: Array, tau: float) -> tuple[float, float, float]:
    """Level in the end, what is added at the beginning, and the sum of squares left over."""
    shape = np.exp(-t / tau)
    a, b = float(shape.mean()), float(values.mean())
    spread = float(((shape - a) ** 2).sum())
    more = float(((shape - a) * (values - b)).sum()) / spread if spread > 0 else 0.0
    end = b - more * a
    return end, more, float(((end + more * shape - values) ** 2).sum())
