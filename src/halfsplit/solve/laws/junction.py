"""Laws with pn junctions: diode (with breakdown) and bipolar transistor (transport model).

Equations: Ebers-Moll in transport form as in I. Getreu, Modeling the Bipolar Transistor (1976)
and the diode of SPICE2; breakdown as an exponential branch.
"""

from __future__ import annotations

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.smooth import VT, limit_junction, limited_exp

__all__ = ["Bipolar", "Diode"]

_BREAKDOWN_AT = 1e-3
"""Current at the stated breakdown voltage, ampere."""


@dataclass(frozen=True, slots=True)
class Diode:
    """Anode, cathode. ``is_`` saturation current A, ``n`` emission coefficient, ``bv`` breakdown
    volts (1 mA there; e.g. 1e3 for none), ``nbv`` its softness in thermal voltages, ``gp``
    parallel conductance S (leak, short)."""

    name: str = "diode"
    terminals: int = 2
    parameters: tuple[str, ...] = ("is_", "n", "bv", "nbv", "gp")
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        is_, n, bv, nbv, gp = p
        vd = v[0] - v[1]
        forward, forward_slope = limited_exp(vd / (n * VT))
        reverse, reverse_slope = limited_exp(-(vd + bv) / (nbv * VT))
        i = is_ * (forward - 1.0) - _BREAKDOWN_AT * reverse + gp * vd
        g = is_ * forward_slope / (n * VT) + _BREAKDOWN_AT * reverse_slope / (nbv * VT) + gp
        return np.stack((i, -i)), np.stack((np.stack((g, -g)), np.stack((-g, g))))

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        is_, n, bv, nbv, _ = p
        new, was = v[0] - v[1], old[0] - old[1]
        vt, vtb = n * VT, nbv * VT
        critical = vt * np.log(vt / (np.sqrt(2.0) * np.maximum(is_, 1e-30)))
        taken = limit_junction(new, was, vt, critical)
        over = limit_junction(-(new + bv), -(was + bv), vtb, vtb * np.log(vtb / _BREAKDOWN_AT))
        taken = np.where(new < -0.5 * bv, -(over + bv), taken)
        return np.stack((v[1] + taken, v[1]))


@dataclass(frozen=True, slots=True)
class Bipolar:
    """Collector, base, emitter. ``sign`` 1 for NPN, -1 for PNP.

    ``is_`` transport saturation current A, ``bf``/``br`` forward and reverse gain, ``n``
    emission coefficient, ``bvce`` collector-emitter breakdown V (1 mA there), ``gbe``, ``gbc``,
    ``gce`` parallel conductances S (shorts and leaks).
    """

    sign: float = 1.0
    name: str = "bipolar transistor"
    terminals: int = 3
    parameters: tuple[str, ...] = ("is_", "bf", "br", "n", "bvce", "gbe", "gbc", "gce")
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        is_, bf, br, n, bvce, gbe, gbc, gce = p
        vt, s = n * VT, self.sign
        vbe, vbc = s * (v[1] - v[2]), s * (v[1] - v[0])
        ef, ef_slope = limited_exp(vbe / vt)
        er, er_slope = limited_exp(vbc / vt)
        i_f, g_f = is_ * (ef - 1.0), is_ * ef_slope / vt
        i_r, g_r = is_ * (er - 1.0), is_ * er_slope / vt
        vce = vbe - vbc
        bd, bd_slope = limited_exp((vce - bvce) / 0.5)
        i_x = _BREAKDOWN_AT * bd + gce * vce
        g_x = _BREAKDOWN_AT * bd_slope / 0.5 + gce
        # through junctions, seen as currents be (b->e), bc (b->c) and ce (c->e)
        i_be = i_f / bf + gbe * vbe
        g_be = g_f / bf + gbe
        i_bc = i_r / br + gbc * vbc
        g_bc = g_r / br + gbc
        i_ce = i_f - i_r + i_x
        ic = i_ce - i_bc
        ib = i_be + i_bc
        ie = -(ic + ib)
        # slopes with respect to vbe and vbc
        ic_be, ic_bc = g_f + g_x, -g_r - g_x - g_bc
        ib_be, ib_bc = g_be, g_bc
        ie_be, ie_bc = -(ic_be + ib_be), -(ic_bc + ib_bc)
        rows = [
            np.stack((-bc, be + bc, -be))
            for be, bc in ((ic_be, ic_bc), (ib_be, ib_bc), (ie_be, ie_bc))
        ]
        return s * np.stack((ic, ib, ie)), np.stack(rows)

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        is_, n, s = p[0], p[3], self.sign
        vt = n * VT
        critical = vt * np.log(vt / (np.sqrt(2.0) * np.maximum(is_, 1e-30)))
        vbe = limit_junction(s * (v[1] - v[2]), s * (old[1] - old[2]), vt, critical)
        vbc = limit_junction(s * (v[1] - v[0]), s * (old[1] - old[0]), vt, critical)
        bvce = p[4]
        vce, was = vbe - vbc, s * (old[0] - old[2])
        over = limit_junction(vce - bvce, was - bvce, 0.5, 0.5)
        vbc = np.where(vce > bvce, vbe - (over + bvce), vbc)
        return np.stack((v[1] - s * vbc, v[1], v[1] - s * vbe))
