"""Copper: wire by gauge, tracks by width, their resistance and how warm they run.

Wire: ASTM B258 diameters and the resistivity of annealed copper of IEC 60028. Tracks: the fit to
the charts of IPC-2221, I = k dT^0.44 A^0.725, valid up to 35 A, 400 mil and a rise of 100 K.
Heat of a wire in still air: S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18, 1975.
"""

from __future__ import annotations

import math

from halfsplit.frozen import dataclass

__all__ = ["Track", "Wire", "cylinder_nusselt"]

RESISTIVITY = 1.0 / 58e6
"""Ohm metre at 20 degC (IEC 60028)."""
_PER_KELVIN = 3.93e-3
"""Rise of resistance of copper for each kelvin (IEC 60028)."""
_MIL = 25.4e-6
OUNCE = 34.8e-6
"""Thickness of copper of one ounce per square foot, metre: 1.37 mil."""
_OUTSIDE, _INSIDE = 0.048, 0.024
_AIR = 293.15
"""Kelvin."""
_GRAVITY = 9.81


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """Round solid copper wire of an American wire gauge number."""

    gauge: int

    @property
    def diameter(self) -> float:
        """Metre (ASTM B258: 0.005 inch at gauge 36, a factor of 92 over 39 numbers)."""
        return float(0.127e-3 * 92.0 ** ((36 - self.gauge) / 39.0))

    @property
    def area(self) -> float:
        """Square metre."""
        return math.pi * self.diameter**2 / 4.0

    def ohms(self, length: float) -> float:
        """Resistance of ``length`` metres at 20 degC."""
        return RESISTIVITY * length / self.area

    def rise(self, amps: float) -> float:
        """Kelvin above still air at 20 degC, bare and alone, radiation not counted; inf where it
        would pass 300 K, long past any insulation."""
        per_metre = amps**2 * self.ohms(1.0)
        low, high = 0.0, 300.0
        if self._shed(high) < per_metre * (1.0 + _PER_KELVIN * high):
            return math.inf
        for _ in range(60):
            middle = 0.5 * (low + high)
            if self._shed(middle) < per_metre * (1.0 + _PER_KELVIN * middle):
                low = middle
            else:
                high = middle
        return high

    @property
    def fuses_at(self) -> float:
        """Ampere at which it melts in air: W. H. Preece, 80 A times the diameter in mm to the
        power of 1.5 (Proc. Royal Society 36, 1884; the constant as printed today)."""
        return float(80.0 * (self.diameter * 1e3) ** 1.5)

    def _shed(self, rise: float) -> float:
        """Watt per metre lost to still air at that many kelvin above it."""
        film = _AIR + 0.5 * rise
        conductivity = float(0.0257 * (film / 293.0) ** 0.85)
        viscosity = 15.1e-6 * (film / 293.0) ** 1.7
        rayleigh = 0.71 * _GRAVITY * rise * self.diameter**3 / (film * viscosity**2)
        return math.pi * conductivity * cylinder_nusselt(rayleigh, 0.71) * rise


def cylinder_nusselt(rayleigh: float, prandtl: float) -> float:
    """Nusselt number of a horizontal cylinder in free convection (Churchill and Chu)."""
    shape = (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return float((0.60 + 0.387 * rayleigh ** (1.0 / 6.0) / shape) ** 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """A track of the board: ``width`` metre, ``ounces`` of copper per square foot, ``inside`` the
    board or on its face."""

    width: float
    ounces: float = 1.0
    inside: bool = False

    @property
    def area(self) -> float:
        """Square metre."""
        return self.width * self.ounces * OUNCE

    def ohms(self, length: float) -> float:
        """Resistance of ``length`` metres at 20 degC."""
        return RESISTIVITY * length / self.area

    def carries(self, rise: float) -> float:
        """Ampere at which it is ``rise`` kelvin above the board (IPC-2221)."""
        return float(self._k * rise**0.44 * (self.area / _MIL**2) ** 0.725)

    def rise(self, amps: float) -> float:
        """Kelvin above the board at that current (IPC-2221 turned round)."""
        return float((amps / (self._k * (self.area / _MIL**2) ** 0.725)) ** (1.0 / 0.44))

    @classmethod
    def for_current(
        cls, amps: float, rise: float, *, ounces: float = 1.0, inside: bool = False
    ) -> Track:
        """The narrowest track that carries ``amps`` at ``rise`` kelvin."""
        k = _INSIDE if inside else _OUTSIDE
        area = (amps / (k * rise**0.44)) ** (1.0 / 0.725) * _MIL**2
        return cls(width=area / (ounces * OUNCE), ounces=ounces, inside=inside)

    @property
    def _k(self) -> float:
        return _INSIDE if self.inside else _OUTSIDE
