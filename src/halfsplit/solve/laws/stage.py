"""Laws of a stage known only as right or wrong: its trouble, and what it drives when in trouble.

*Trouble* is a quantity of its own beside the volts: 0 at an output that is right, near 1 at one
that is wrong. It travels on nodes of its own, so a chain of stages needs no voltages at all.
"""

from __future__ import annotations

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.smooth import sigmoid

__all__ = ["WRONG", "StageDrive", "StageTrouble"]

WRONG = 0.05
"""An output is wrong above this trouble: a stage passes on all but a thousandth of what comes in,
and several wrong inputs are hardly worse than one."""
_PASSED = 0.999
_OWN = ("low", "high", "wrong", "is_low", "is_high", "most", "tol")
_PER_INPUT = 5
_STEEP = 6.0
_TAKEN = 0.1
"""Trouble at which an output's voltage is half way to what it is when wrong."""


@dataclass(frozen=True, slots=True)
class StageTrouble:
    """Trouble of an output, reference, then for each input its trouble and its pin.

    i0 = v0 - t with t the trouble that the stage makes (``wrong``; ``low`` and ``high`` 1: stuck
    there, which is right where the output ``is_low`` or ``is_high`` anyway) or lets through, up to
    ``most``: 1, or :data:`WRONG` where an output may be right by chance. Input
    k: ``uk`` weight of the trouble that comes with it, ``sk`` 1: it is judged by its voltage,
    right within ``widthk`` V of ``wantk`` V. ``tol``, the part of what is wanted that an
    input may be out, and ``leastk``, the volts that it always may, are for whoever sets
    ``widthk``.
    """

    inputs: int
    name: str = "stage"
    linear: bool = False

    @property
    def terminals(self) -> int:
        return 2 + 2 * self.inputs

    @property
    def parameters(self) -> tuple[str, ...]:
        each = (f"{what}{k}" for k in range(1, self.inputs + 1)
                for what in ("u", "s", "want", "width", "least"))  # fmt: skip
        return (*_OWN, *each)

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        low, high, wrong, is_low, is_high, most = p[:6]
        total = np.zeros_like(v[0])
        by = np.zeros_like(v)
        for k in range(self.inputs):
            u, s, want, width = p[len(_OWN) + _PER_INPUT * k :][:4]
            off = (v[3 + 2 * k] - v[1] - want) / width
            out, slope = sigmoid(_STEEP * (off * off - 1.0))
            total = total + u * (v[2 + 2 * k] - v[1]) + s * out
            by[2 + 2 * k] = u
            by[3 + 2 * k] = s * slope * 2.0 * _STEEP * off / width
        passed, passed_slope = _at_most_one(total / most)
        passed = most * passed
        free = (1.0 - low) * (1.0 - high)
        stuck = low * (1.0 - is_low) + high * (1.0 - is_high)
        i = v[0] - v[1] - stuck - free * (wrong + _PASSED * passed)
        slopes = np.zeros((self.terminals, *v.shape))
        slopes[0] = -free * _PASSED * passed_slope * by
        slopes[0, 0] = 1.0
        slopes[0, 1] = -slopes[0].sum(axis=0)
        slopes[1] = -slopes[0]
        currents = np.zeros_like(v)
        currents[0], currents[1] = i, -i
        return currents, slopes

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        return v


@dataclass(frozen=True, slots=True)
class StageDrive:
    """Output pin, reference, trouble of the output: a source behind ``stiff`` siemens (0: it
    drives nothing) of ``good`` V, in trouble of ``other`` V plus ``off`` times ``vary`` V."""

    name: str = "stage drive"
    terminals: int = 3
    parameters: tuple[str, ...] = ("stiff", "good", "other", "vary", "off")
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        stiff, good, other, vary, off = p
        trouble = (v[2] - v[1]) / _TAKEN
        square = trouble * trouble
        share = square / (1.0 + square)
        share_slope = 2.0 * trouble / (1.0 + square) ** 2 / _TAKEN
        step = other + vary * off - good
        i = stiff * (v[0] - v[1] - good - share * step)
        by_trouble = -stiff * share_slope * step
        row = np.stack((stiff, -stiff - by_trouble, by_trouble))
        zero = np.zeros_like(i)
        return np.stack((i, -i, zero)), np.stack((row, -row, np.zeros_like(row)))

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        return v


def _at_most_one(x: Array) -> tuple[Array, Array]:
    """x while it is small, and hardly above 1 however large, with its slope."""
    fourth = 1.0 + x**4
    return x / fourth**0.25, fourth**-1.25
