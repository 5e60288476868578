"""Ripple current of a reservoir behind a rectifier."""

from __future__ import annotations

import math

import numpy as np

__all__ = ["rectified_ripple"]

_CRESTS = 96
"""Crests tried at once."""
_HALVES = 12
"""Half-waves until it repeats; the last is taken."""
_STEPS = 500
"""Steps of time in a half-wave."""


def rectified_ripple(
    volts: float, amps: float, ohms: float, farads: float, hertz: float = 50.0
) -> tuple[float, float]:
    """(ampere rms through the reservoir, volt from its lowest to its highest) behind a full-wave
    rectifier of ``hertz`` mains: the crest is whatever gives ``volts`` on average at a steady load
    of ``amps`` behind ``ohms`` of transformer and rectifier. Not-a-number when none of twice the
    volts does.

    ``C dv/dt = max(|crest sin| - v, 0) / R - I``, implicit steps, many crests side by side.
    """
    crest = np.linspace(volts, 2.0 * volts + amps * ohms, _CRESTS)
    step = 0.5 / hertz / _STEPS
    v = np.full(_CRESTS, volts)
    seen, through = [], []
    for at in range(_HALVES * _STEPS):
        source = crest * abs(math.sin(math.pi * (at + 1) / _STEPS))
        charging = (v + step / farads * (source / ohms - amps)) / (1.0 + step / (ohms * farads))
        after = np.where(source > charging, charging, np.maximum(v - step / farads * amps, 0.0))
        if at >= (_HALVES - 1) * _STEPS:
            seen.append(after)
            through.append((after - v) * farads / step)
        v = after
    mean = np.mean(seen, axis=0)
    if not mean[0] <= volts <= mean[-1]:
        return math.nan, math.nan
    rms = np.sqrt(np.mean(np.square(through), axis=0))
    swing = np.max(seen, axis=0) - np.min(seen, axis=0)
    return float(np.interp(volts, mean, rms)), float(np.interp(volts, mean, swing))
