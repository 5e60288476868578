"""Law of a relay's contact: a conductance that the voltage across a coil sets."""

from __future__ import annotations

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.smooth import sigmoid

__all__ = ["Contact"]

_EITHER_WAY = 1e-4
"""Rounding of the coil's voltage where it changes sign, V squared."""


@dataclass(frozen=True, slots=True)
class Contact:
    """Two sides of the contact, two ends of the coil (which takes no current here).

    ``gon`` ``goff`` S made and broken; ``pull`` V across the coil, either way round, at which it
    works; ``steep`` 1/V; ``a0`` ``a1``: made = a0 + a1 * worked (1, -1 for a break contact).
    """

    name: str = "contact"
    terminals: int = 4
    parameters: tuple[str, ...] = ("gon", "goff", "pull", "steep", "a0", "a1")
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        gon, goff, pull, steep, a0, a1 = p
        coil = v[2] - v[3]
        size = np.sqrt(coil * coil + _EITHER_WAY)
        worked, slope = sigmoid(steep * (size - pull))
        made = a0 + a1 * worked
        across = v[0] - v[1]
        g = goff + (gon - goff) * made
        i = g * across
        by_coil = (gon - goff) * a1 * steep * slope * coil / size * across
        if frozen:
            by_coil = np.zeros_like(by_coil)
        zero = np.zeros_like(i)
        row = np.stack((g, -g, by_coil, -by_coil))
        none = np.stack((zero, zero, zero, zero))
        return np.stack((i, -i, zero, zero)), np.stack((row, -row, none, none))

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        """The contact's own sides may jump; the coil moves by 2 V at most."""
        held = v.copy()
        held[2:] = old[2:] + np.clip(v[2:] - old[2:], -2.0, 2.0)
        return held
