"""What a chip takes from its supply: nothing below two junctions, its sheet's current at 5 V."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance
from halfsplit.solve.laws.logic import TtlInput

__all__ = ["AT_VOLTS", "WAKES", "supply_elements"]

AT_VOLTS = 5.0
WAKES = 1.4
"""Two junctions in series: below this a chip draws next to nothing, V (common practice)."""


def supply_elements(
    name: str, supply: str, ground: str, amps: float, spread: Spread
) -> Sequence[Element]:
    """Element ``name`` draws ``amps`` at 5 V (the law of a TTL input with its pin on ground), and
    ``vcc`` is a leak that a fault can make a short."""
    return (
        Element(
            name=name,
            law=TtlInput(),
            terminals=(ground, supply, ground),
            params={"r": (AT_VOLTS - WAKES) / amps, "drop": WAKES, "off_at": 1.5, "k": 1.0,
                    "g": 0.0},
            spread={"r": spread},
        ),
        Element(name="vcc", law=Conductance(), terminals=(supply, ground), params={"g": 1e-9}),
    )  # fmt: skip
