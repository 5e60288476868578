"""A small vocabulary, so that the board floor is tested without the parts floor."""

from __future__ import annotations

from collections.abc import Mapping

from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord


def _two(first: str = "1", second: str = "2") -> tuple[PinWord, ...]:
    return (PinWord(name=first), PinWord(name=second))


def _chip(units: Mapping[str, str], power: tuple[str, str], out: str) -> tuple[PinWord, ...]:
    """``units``: unit -> its pins, inputs first and the output last, blank-separated."""
    pins = [PinWord(name=power[0], role="ground"), PinWord(name=power[1], role="supply")]
    for unit, names in units.items():
        *inputs, output = names.split()
        pins += [PinWord(name=name, role="in", unit=unit) for name in inputs]
        pins.append(PinWord(name=output, role=out, unit=unit, other_names=(f"{unit.upper()}OUT",)))
    return tuple(sorted(pins, key=lambda pin: int(pin.name)))


_NAND = {"a": "1 2 3", "b": "4 5 6", "c": "9 10 8", "d": "12 13 11"}
_INVERTER = {"a": "1 2", "b": "3 4", "c": "5 6", "d": "9 8", "e": "11 10", "f": "13 12"}
_TTL = (4.5, 5.5)

_KINDS = (
    KindWord(
        name="resistor",
        title="",
        value_unit="Ω",
        pins=_two(),
        fields=(FieldWord(name="watts", unit="W"), FieldWord(name="make")),
    ),
    KindWord(
        name="capacitor",
        title="",
        value_unit="F",
        pins=_two(),
        fields=(FieldWord(name="volts", unit="V"),),
    ),
    KindWord(
        name="winding",
        title="",
        value_unit="Ω",
        pins=_two(),
        fields=(FieldWord(name="inductance", unit="H"),),
    ),
    KindWord(name="diode", title="", pins=_two("a", "k"), fields=(FieldWord(name="n", unit="1"),)),
    KindWord(name="zener", title="", value_unit="V", pins=_two("a", "k")),
    KindWord(name="wire", title="", pins=_two()),
    KindWord(
        name="darlington",
        title="",
        pins=(PinWord(name="c"), PinWord(name="b"), PinWord(name="e")),
        fields=(FieldWord(name="gain", unit="1"),),
    ),
    KindWord(
        name="slotted-sensor",
        title="",
        pins=(*_two("a", "k"), *_two("c", "e")),
        settings=("clear", "blocked"),
    ),
    KindWord(name="switch", title="", pins=_two(), settings=("closed", "open")),
    KindWord(name="connector", title="", free_pins=True, settings=("out",)),
    KindWord(
        name="controller", title="", free_pins=True, fields=(FieldWord(name="family", unit=""),)
    ),
    KindWord(
        name="74LS00",
        title="",
        pins=_chip(_NAND, ("7", "14"), "out"),
        family="74LS",
        supply_volts=_TTL,
    ),
    KindWord(
        name="74LS38",
        title="",
        pins=_chip(_NAND, ("7", "14"), "oc"),
        family="74LS",
        supply_volts=_TTL,
    ),
    KindWord(
        name="74LS14",
        title="",
        pins=_chip(_INVERTER, ("7", "14"), "out"),
        family="74LS",
        supply_volts=_TTL,
    ),
    KindWord(
        name="74LS125",
        title="",
        pins=_chip(_NAND, ("7", "14"), "tri"),
        family="74LS",
        supply_volts=_TTL,
    ),
)
_TYPES = (
    TypeWord(name="TIP120", kind="darlington", fields={"gain": "1000"}),
    TypeWord(name="1N4004", kind="diode"),
    TypeWord(name="1N4733", kind="zener", value=5.1),
)


class SmallVocabulary:
    """Enough kinds for every rule of the grammar."""

    def kinds(self) -> Mapping[str, KindWord]:
        return {kind.name: kind for kind in _KINDS}

    def types(self) -> Mapping[str, TypeWord]:
        return {word.name: word for word in _TYPES}

    def letters(self) -> Mapping[str, str]:
        return {
            "R": "resistor",
            "C": "capacitor",
            "D": "diode",
            "J": "connector",
            "SW": "switch",
            "W": "wire",
        }

    def families(self) -> frozenset[str]:
        return frozenset({"74", "74LS", "NMOS"})


SMALL = SmallVocabulary()
