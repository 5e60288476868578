"""The symbol of a box: IEC 60617 and IEEE 315 for parts, the distinctive shapes of IEEE 91 for
gates, rectangles for other chips; from memory."""

from __future__ import annotations

from halfsplit.draw.blocks import chip, connector, optocoupler, power, regulator
from halfsplit.draw.drivers import driver
from halfsplit.draw.gates import amplifier, gate, gate_named
from halfsplit.draw.many_pins import bridge, hall, network, relay, switches, transformer
from halfsplit.draw.model import Box
from halfsplit.draw.panel import DISPLAYS, display, keypad
from halfsplit.draw.semiconductors import (
    ARRAY_TRANSISTOR,
    bipolar,
    mosfet,
    potentiometer,
    shunt_reference,
    thyristor,
    triac,
)
from halfsplit.draw.symbol import OUTPUTS, TEST_POINT, Labelled, Symbol
from halfsplit.draw.two_pins import KINDS, lying, test_point

__all__ = ["symbol_of"]

_OPTO = frozenset({"optocoupler", "slotted-sensor"})
_REGULATORS = frozenset({"regulator", "negative-regulator"})
_BIPOLAR = frozenset({"npn", "pnp", "darlington", "pnp-darlington"})


def _drawn(net: str) -> bool:
    return False


def symbol_of(box: Box, turned: bool = False, labelled: Labelled = _drawn) -> Symbol:
    """The symbol of a box. ``turned`` puts the first pin of a two-pin part on the right."""
    names = {pin.name for pin in box.pins}
    if box.kind == TEST_POINT:
        return test_point(box)
    if box.kind in KINDS and len(box.pins) == 2:
        return lying(box, turned)
    if box.kind == ARRAY_TRANSISTOR:
        return bipolar(box, labelled)
    if box.kind in _BIPOLAR and names == {"b", "c", "e"}:
        return bipolar(box, labelled)
    if box.kind in ("nmos", "pmos") and names == {"g", "d", "s"}:
        return mosfet(box, labelled)
    if box.kind == "scr" and names == {"a", "g", "k"}:
        return thyristor(box, labelled)
    if box.kind == "triac" and names == {"mt2", "g", "mt1"}:
        return triac(box, labelled)
    if box.kind == "shunt-reference" and names == {"ref", "a", "k"}:
        return shunt_reference(box, labelled)
    if box.kind == "potentiometer" and names == {"1", "w", "3"}:
        return potentiometer(box, labelled)
    if box.kind in _OPTO and names == {"a", "k", "c", "e"}:
        return optocoupler(box)
    if box.kind in _REGULATORS and names == {"in", "gnd", "out"}:
        return regulator(box, labelled)
    if box.kind in ("connector", "cable"):
        return connector(box)
    if several := _several(box, names, labelled):
        return several
    if box.kind == "power":
        return power(box)
    if channels := driver(box, labelled):
        return channels
    outputs = [pin for pin in box.pins if pin.role in OUTPUTS]
    inputs = [pin for pin in box.pins if pin.role == "in"]
    shape = gate_named(box.title)
    if shape and len(outputs) == 1 and len(inputs) + 1 == len(box.pins):
        return gate(box, shape)
    if box.title.startswith(("Comparator", "Operational")) and len(outputs) == 1:
        signs = [pin for pin in inputs if pin.title.endswith(("+", "-"))]
        others = [pin for pin in box.pins if pin not in signs and pin not in outputs]
        if len(signs) == 2 and all(labelled(pin.net) for pin in others):
            return amplifier(box)
    return chip(box, labelled)


def _several(box: Box, names: set[str], labelled: Labelled) -> Symbol | None:
    """Of parts with several pins that are no chips; ``None`` for any other, and for pins that the
    shape has no place for."""
    if box.kind == "bridge" and names == {"ac1", "ac2", "+", "-"}:
        return bridge(box)
    if box.kind == "relay" and {"1", "2"} <= names <= {"1", "2", "com", "no", "nc"}:
        return relay(box)
    if box.kind == "hall-switch" and names == {"vcc", "gnd", "out"}:
        return hall(box, labelled)
    if box.kind == "transformer":
        return transformer(box)
    if box.kind in ("bussed-network", "isolated-network"):
        return network(box, box.kind == "bussed-network")
    if box.kind.startswith("dip-switch-"):
        return switches(box)
    if box.kind in DISPLAYS:
        return display(box, labelled)
    if box.kind.startswith("keypad-"):
        return keypad(box)
    return None
