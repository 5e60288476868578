"""Smooth building blocks of the laws, with their derivatives; all elementwise on arrays."""

from __future__ import annotations

import numpy as np

from halfsplit.solve.law import Array

__all__ = ["VT", "limit_junction", "limited_exp", "sigmoid", "softplus"]

VT = 8.617333262e-5 * 300.15
"""Thermal voltage kT/q at 27 degC, volt (CODATA 2018 k/e; 27 degC is the usual nominal)."""

_EXP_MAX = 80.0


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
    """Junction voltage at which to evaluate: the logarithmic step limit used since SPICE2
    (L. W. Nagel, SPICE2, UCB/ERL M520, 1975, section on Newton convergence)."""
    step = new - old
    active = (new > critical) & (np.abs(step) > 2.0 * vt)
    argument = 1.0 + step / vt
    from_forward = np.where(
        argument > 0.0, old + vt * np.log(np.maximum(argument, 1e-30)), critical
    )
    from_reverse = vt * np.log(np.maximum(new / vt, 1e-30))
    return np.where(active, np.where(old > 0.0, from_forward, from_reverse), new)
