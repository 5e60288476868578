"""Contacts of the socket of a socketed chip.

A contact that lost touch and a bad joint under it cut the same path, so the changes refer to the
joint's conductance (``joint:<pin>``).
"""

from __future__ import annotations

import math

from halfsplit.board.model import Part
from halfsplit.parts._base import OPEN, changed, failing
from halfsplit.parts.joints import RESISTIVE, PinFaults, joint_element
from halfsplit.parts.kind import Mode, Rate

__all__ = ["contact_modes"]

_ROW = "Connector/connection"
_BASE = 4.2e-4


def contact_modes(part: Part) -> PinFaults:
    """Open and poor contacts of the connected pins; shorts are left to the joints' bridges."""
    pins = tuple(part.pins)
    found: list[Mode] = []
    for pin in pins:
        of, element = 1.0 / len(pins), joint_element(pin)
        found += [
            failing(f"{pin} contact open", f"without contact at pin {pin} of its socket",
                    changed(element, g=OPEN), row=(_ROW, "open"), of=of, pin=pin, test_out=0.0,
                    ageing="contact"),
            failing(f"{pin} contact resistive", f"in poor contact at pin {pin} of its socket",
                    changed(element, g=RESISTIVE), row=(_ROW, "poor contact/intermittent"), of=of,
                    pin=pin, test_out=0.0, ageing="contact"),
        ]  # fmt: skip
    return PinFaults(rate=_rate(len(pins)), modes=tuple(found))


def _rate(pins: int) -> Rate:
    factor = math.exp((max(pins - 1, 0) / 10.0) ** 0.51064)
    return Rate(
        per_million_hours=_BASE * factor,
        source=f"MIL-HDBK-217F section 15.3, IC socket, {pins} active pins, ground benign",
    )
