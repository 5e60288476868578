"""What somebody may know of a mechanism: names, units and meanings, for a board file and for a file
beside it."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["KEYS", "ORDER"]

ORDER = "order"
"""The one key that a board file does not have: windings stand there in their own order."""
KEYS: Mapping[str, tuple[str, str]] = {
    "family": ("", "variable-reluctance, permanent-magnet or hybrid"),
    ORDER: ("", "windings in the order of their phases: ['L1', 'L3', 'L2', 'L4']"),
    "steps_per_turn": ("1", "full steps of a turn: clicks felt by hand, one turn"),
    "holding": ("Nm", "holding torque of one phase"),
    "slips_at": ("kg", "weight on a thread round the shaft at which one phase slips"),
    "turns_at": ("kg", "weight that keeps the shaft turning, power off"),
    "radius": ("m", "radius at which these weights pull"),
    "rings": ("Hz", "frequency at which it swings after a flick, one phase on"),
    "rings_down_to": ("1", "each swing as a share of the one before, same side"),
    "inertia": ("kgm2", "inertia of rotor and load at the shaft"),
    "friction": ("Nm", "friction at the shaft"),
    "viscous": ("Nms", "drag that grows with speed"),
    "detent": ("Nm", "torque of the clicks, power off"),
    "load": ("Nm", "torque that pulls towards the home end, such as a weight"),
    "carriage": ("kg", "mass of what moves along"),
    "travel": ("m", "way of one turn: band, lead screw or rack"),
    "track": ("m", "from one track to the next"),
    "stops": ("", "full steps of the two end stops, home is at 0: -2..84"),
    "home": ("1", "full steps at and below which the home sensor sees it"),
    "rate": ("Hz", "steps a second that the equipment goes at"),
}
"""Key -> unit ("" a word, "1" a number) and what it means."""
