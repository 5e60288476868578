"""Enhancement MOSFET, smooth from cut-off to triode, symmetric in drain and source."""

from __future__ import annotations

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.smooth import softplus

__all__ = ["Mosfet"]

_CORNER = 0.05
"""Rounding of the corner at threshold, volt; stands for weak inversion."""


@dataclass(frozen=True, slots=True)
class Mosfet:
    """Drain, gate, source. ``sign`` 1 for N-channel, -1 for P-channel.

    ``k`` A/V^2, ``vth`` V, ``gds``, ``ggs``, ``ggd`` parallel conductances S. The square law of
    H. Shichman and D. A. Hodges (IEEE JSSC SC-3, 1968) written as the difference of two
    saturation currents, i = k/2 (f(vgs)^2 - f(vgd)^2) with f a rounded ramp above threshold.
    """

    sign: float = 1.0
    name: str = "mosfet"
    terminals: int = 3
    parameters: tuple[str, ...] = ("k", "vth", "gds", "ggs", "ggd")
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        k, vth, gds, ggs, ggd = p
        s = self.sign
        d, g, o = s * v[0], s * v[1], s * v[2]
        fs, fs_slope = softplus(g - o - vth, _CORNER)
        fd, fd_slope = softplus(g - d - vth, _CORNER)
        ids = 0.5 * k * (fs * fs - fd * fd)
        a, b = k * fs * fs_slope, k * fd * fd_slope
        i_d = ids + gds * (d - o) + ggd * (d - g)
        i_g = ggs * (g - o) + ggd * (g - d)
        i_s = -(i_d + i_g)
        rows = [
            np.stack((b + gds + ggd, a - b - ggd, -a - gds)),
            np.stack((-ggd, ggs + ggd, -ggs)),
        ]
        rows.append(-(rows[0] + rows[1]))
        return s * np.stack((i_d, i_g, i_s)), np.stack(rows)

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        return old + np.clip(v - old, -2.0, 2.0)
