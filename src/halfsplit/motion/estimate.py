"""Numbers of a mechanism from what a repairer can measure without a datasheet.

Holding torque: a weight on a thread round the shaft, one phase on, until it slips. Inertia: the
ring of the shaft after a flick, one phase on (film it, or listen), or the rotor's size and weight.
Friction: the weight that just keeps the unpowered shaft turning. Steps of a turn: count the clicks
felt by hand (magnets), or the states for one turn. Inductance: the time constant on a scope.
"""

from __future__ import annotations

import math

from halfsplit.errors import MotionError

__all__ = [
    "GRAVITY", "henries_from_tau", "inertia_from_ring", "inertia_of_carriage",
    "inertia_of_rotor", "torque_of_force", "torque_of_weight", "viscous_from_ring",
]  # fmt: skip

GRAVITY = 9.80665
"""m/s2, the standard value (ISO 80000-3)."""


def torque_of_weight(kilograms: float, radius: float) -> float:
    """N m of a weight on a thread at ``radius`` m."""
    return _positive(kilograms, "kg") * GRAVITY * _positive(radius, "m")


def torque_of_force(newtons: float, travel: float) -> float:
    """N m at the shaft of a force on what moves ``travel`` m a turn (band, screw or rack)."""
    return _positive(newtons, "N") * _positive(travel, "m a turn") / (2.0 * math.pi)


def inertia_of_carriage(kilograms: float, travel: float) -> float:
    """kg m2 at the shaft of a mass that moves ``travel`` m a turn."""
    return _positive(kilograms, "kg") * (_positive(travel, "m a turn") / (2.0 * math.pi)) ** 2


def inertia_of_rotor(kilograms: float, radius: float) -> float:
    """kg m2 of a solid cylinder."""
    return 0.5 * _positive(kilograms, "kg") * _positive(radius, "m") ** 2


def inertia_from_ring(holding: float, teeth: float, hertz: float) -> float:
    """kg m2 from the natural frequency under one phase: teeth holding / (2 pi f)^2."""
    ring = 2.0 * math.pi * _positive(hertz, "Hz")
    return _positive(teeth, "teeth") * _positive(holding, "N m") / ring**2


def viscous_from_ring(inertia: float, hertz: float, share: float) -> float:
    """N m s from how much a swing is smaller than the one before, same side (``share`` below 1):
    logarithmic decrement, 2 J f ln(1/share). Dry friction and induced currents are in it."""
    if not 0.0 < share < 1.0:
        raise MotionError(f"expected a share between 0 and 1 of the swing before, got {share:g}")
    return 2.0 * _positive(inertia, "kg m2") * _positive(hertz, "Hz") * -math.log(share)


def henries_from_tau(seconds: float, ohms: float) -> float:
    """H from the time in which a current comes to 63 %, and all the ohms in its path."""
    return _positive(seconds, "s") * _positive(ohms, "Ω")


def _positive(value: float, what: str) -> float:
    if not 0.0 < value < math.inf:
        raise MotionError(f"expected {what} above 0, got {value:g}")
    return value
