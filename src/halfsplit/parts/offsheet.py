"""Where a net leaves what was typed: drives, loads and honest ignorance as elements.

Terminals are ``"pin"`` (the net), ``"supply"`` (the rail of the family), ``"other"`` (``net_to``)
and ``"0"``; whoever builds the circuit maps them to nets.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import OffSheet
from halfsplit.parts._families import FAMILIES, input_elements, let_go, output_element, set_to
from halfsplit.parts.kind import Change
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance, Source

__all__ = ["DRIVE", "offsheet_drive", "offsheet_elements", "supply_range", "unknown_drive",
           "unknown_elements"]  # fmt: skip

DRIVE = "drive"
"""Name of the element that a state drives."""
_DEFAULT_FAMILY = "74LS"


def offsheet_elements(leaving: OffSheet) -> Sequence[Element]:
    """Elements that stand for the rest of the world on that net. Raises UnknownName."""
    name = leaving.family or _DEFAULT_FAMILY
    if leaving.what == "unknown":
        return unknown_elements("pin")
    if leaving.what == "drive":
        return (output_element(DRIVE, name, "pin", "supply", "0"),)
    if leaving.ohms is not None:
        return (
            Element(
                name="load",
                law=Conductance(),
                terminals=("pin", "other" if leaving.net_to else "0"),
                params={"g": 1.0 / leaving.ohms},
                spread={"g": Spread(relative=0.1)},
            ),
        )
    return input_elements("load", name, "pin", "supply", "0", leaving.count)


def offsheet_drive(leaving: OffSheet, level: float | None) -> Sequence[Change]:
    """Changes that drive the net from off the sheet (0 low, 1 high), or let it go (``None``)."""
    if leaving.what == "load":
        return ()
    if leaving.what == "drive":
        return let_go(DRIVE) if level is None else set_to(DRIVE, level)
    return unknown_drive(DRIVE, level)


def unknown_drive(element: str, level: float | None) -> Sequence[Change]:
    """The same for the source of :func:`unknown_elements`: 0 or 5 V behind 1 kilohm."""
    return (
        Change(element=element, param="g", value=0.0 if level is None else 1e-3),
        Change(element=element, param="volts", value=5.0 * (level or 0.0)),
    )


def unknown_elements(pin: str, name: str = "") -> Sequence[Element]:
    """A load of 100 kilohm give or take a factor of 20, and a source that is not there until a
    state drives it: assumed, for nobody knows."""
    tail = f" {name}" if name else ""
    return (
        Element(name=f"load{tail}", law=Conductance(), terminals=(pin, "0"), params={"g": 1e-5},
                spread={"g": Spread(relative=3.0, shape="log")}),
        Element(name=f"{DRIVE}{tail}", law=Source(), terminals=(pin, "0"),
                params={"g": 0.0, "volts": 0.0}),
    )  # fmt: skip


def supply_range(leaving: OffSheet) -> tuple[float, float]:
    """Volts of the rail that ``"supply"`` stands for."""
    return FAMILIES[leaving.family or _DEFAULT_FAMILY].supply
