"""Linear laws: a conductance, and a source behind one."""

from __future__ import annotations

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["Conductance", "Source"]


@dataclass(frozen=True, slots=True)
class Conductance:
    """``g`` siemens between two terminals."""

    name: str = "conductance"
    terminals: int = 2
    parameters: tuple[str, ...] = ("g",)
    linear: bool = True

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        g = p[0]
        i = g * (v[0] - v[1])
        return np.stack((i, -i)), np.stack((np.stack((g, -g)), np.stack((-g, g))))

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        return v


@dataclass(frozen=True, slots=True)
class Source:
    """``volts`` from terminal 1 to terminal 0 behind ``g`` siemens: i = g (v0 - v1 - volts).

    With g = 0 it is not there (a rail switched off, a pin not driven).
    """

    name: str = "source"
    terminals: int = 2
    parameters: tuple[str, ...] = ("g", "volts")
    linear: bool = True

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        g = p[0]
        i = g * (v[0] - v[1] - p[1])
        return np.stack((i, -i)), np.stack((np.stack((g, -g)), np.stack((-g, g))))

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        return v
