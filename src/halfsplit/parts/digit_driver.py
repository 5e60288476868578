"""Drivers of the digits and segments of displays, 75491 and 75492: Darlington transistors with an
input resistor, without clamps."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.vocabulary import KindWord, PinWord, TypeWord
from halfsplit.parts.array import DarlingtonArray

__all__ = ["KINDS"]

_NO_CLAMP = ""
_AREA = 1.6
_INPUT_OHMS = 3900.0
"""2.2 mA typical at 10 V (data sheet, from memory)."""


def _pin(name: str, role: str, title: str, *others: str) -> PinWord:
    return PinWord(name=name, role=role, title=title, other_names=others)


def _kind(
    name: str, title: str, pins: Sequence[PinWord], channels: Sequence[tuple[str, str, str]],
    ground: str, amps: float, text: str, example: str,
) -> DarlingtonArray:  # fmt: skip
    """``channels``: input, collector, emitter."""
    return DarlingtonArray(
        pairs=tuple((into, collector, _NO_CLAMP) for into, collector, _ in channels),
        emitters=tuple(emitter for *_, emitter in channels),
        ground=ground, r_in=_INPUT_OHMS, volts=10.0, amps=amps, area=_AREA,
        types=tuple(TypeWord(name=f"{maker}{name}", kind=name) for maker in ("SN", "DM", "MC")),
        word=KindWord(name=name, title=title, pins=tuple(pins), help=text, example=example),
    )  # fmt: skip


_SEGMENTS = (("1", "3", "2"), ("7", "5", "6"), ("8", "10", "9"), ("14", "12", "13"))
"""datamath.org/Chips/SN75491.htm, read."""


def _segment_pins() -> list[PinWord]:
    found = {
        "4": _pin("4", "ground", "ground", "GND"),
        "11": _pin("11", "passive", "VSS, the positive supply of the inputs", "VSS"),
    }
    for number, (into, collector, emitter) in enumerate(_SEGMENTS, start=1):
        found[into] = _pin(into, "in", f"input {number}", f"A{number}")
        found[collector] = _pin(collector, "oc", f"collector {number}", f"C{number}")
        found[emitter] = _pin(emitter, "passive", f"emitter {number}", f"E{number}")
    return [found[str(n)] for n in range(1, 15)]


_DIGITS = tuple((f"A{n}", f"Y{n}", "GND") for n in range(1, 7))
_DIGIT_PINS = (
    *(_pin(f"A{n}", "in", f"input {n}", f"a{n}") for n in range(1, 7)),
    *(_pin(f"Y{n}", "oc", f"output {n}", f"y{n}") for n in range(1, 7)),
    _pin("GND", "ground", "ground", "gnd"),
    _pin("VSS", "passive", "VSS, the positive supply of the inputs", "vss"),
)

KINDS = (
    _kind("75491", "Segment driver, four Darlingtons with collectors and emitters",
          _segment_pins(), _SEGMENTS, "4", 0.05,
          "Collectors to the supply and emitters to the segments, or emitters to ground. The "
          "ground, pin 4, is the substrate.",
          "U3 75491 1=SEG 3=+5 2=SA 4=GND 11=+9"),
    _kind("75492", "Digit driver, six Darlingtons to ground", _DIGIT_PINS, _DIGITS, "GND", 0.25,
          "Pins by their function (A1 to A6 in, Y1 to Y6 out): no table of its pin numbers could "
          "be checked.",
          "U4 75492 A1=D1 Y1=DIG1 GND=GND"),
)  # fmt: skip
