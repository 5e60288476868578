"""Smooth building blocks of the laws, with their derivatives; all elementwise on arrays."""

from __future__ import annotations

import numpy as np

from halfsplit.solve.law import Array

__all__ = ["VT", "awake", "limit_junction", "limited_exp", "sigmoid", "softplus"]

VT = 8.617333262e-5 * 300.15
"""Thermal voltage kT/q at 27 degC, volt (CODATA 2018 k/e; 27 degC is the usual nominal)."""

_EXP_MAX = 80.0


def awake(supply: Array) -> tuple[Array, Array]:
    """0 without a supply, 1 with one (half at 0.2 V), and its slope: what a chip pushes out of its
    pins must come from somewhere."""
    over = 1.0 / (supply * supply + 0.04)
    return supply * supply * over, 0.08 * supply * over * over


def limited_exp(x: Array) -> tuple[Array, Array]:
    """exp(x) and its slope, continued as a straight line above 80 so that it cannot overflow."""
    low = np.minimum(x, _EXP_MAX)
    value = np.exp(low)
    return np.where(x > _EXP_MAX, value * (1.0 + x - low), value), value


def sigmoid(x: Array) -> tuple[Array, Array]:
    """1/(1+exp(-x)) and its slope."""
    s = 0.5 * (1.0 + np.tanh(0.5 * x))
    return s, s * (1.0 - s)


def softplus(x: Array, scale: float) -> tuple[Array, Array]:
    """scale * ln(1 + exp(x/scale)) and its slope: a ramp with a rounded corner."""
    z = x / scale
    return scale * np.logaddexp(0.0, z), sigmoid(z)[0]


def limit_junction(new: Array, old: Array, vt: Array | float, critical: Array | float) -> Array:
    """Junction voltage at which to evaluate instead of ``new``.

    Above the critical voltage a step is taken in the logarithm of the current, as in SPICE2
    (L. W. Nagel, UCB/ERL M520, 1975), and here both upwards and downwards: the voltage at which
    the junction carries what its tangent promised.
    """
    step = (new - old) / vt
    promised = old + vt * np.log1p(np.maximum(step, -1.0 + 1e-12))
    falling = (step < 0.0) & (step > -1.0) & (old > 0.5 * critical)
    rising = (step > 0.0) & (new > critical)
    upward = np.where(old >= critical, promised, critical)
    return np.where(rising, upward, np.where(falling, promised, new))
