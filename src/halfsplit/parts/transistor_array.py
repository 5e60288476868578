"""Transistor arrays: five or seven matched transistors on one die."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._array_transistors import ArrayTransistor, Process
from halfsplit.parts._base import BaseKind
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element

__all__ = ["KINDS", "TransistorArray"]

_SHEET = "datasheet, from memory"


@dataclass(frozen=True, kw_only=True)
class TransistorArray(BaseKind):
    """The substrate is on pin ``substrate``."""

    transistors: tuple[ArrayTransistor, ...]
    substrate: str
    amps: float
    volts: float

    def elements(self, part: Part) -> Sequence[Element]:
        return tuple(
            element
            for unit in self.transistors
            if unit.used(part)
            for element in unit.elements(part, self.substrate)
        )

    def modes(self, part: Part) -> Sequence[Mode]:
        used = [unit for unit in self.transistors if unit.used(part)]
        return tuple(mode for unit in used for mode in unit.modes(1.0 / len(used)))

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="collector-emitter voltage", value=self.volts, unit="V", source=_SHEET),
            Rating(name="collector current", value=self.amps, unit="A", source=_SHEET),
        )


_SMALL = Process(is_=1.1e-15, gain=100.0, volts=15.0, base=200.0)
"""VBE 0.715 V at 1 mA typical (3046 data sheet, from memory). Input impedance 3.5 kilohm at 1 mA,
of which a gain of 110 explains 2.85 kilohm (data sheet, read): hundreds of ohms in the base."""
_LARGE = Process(is_=3.7e-15, gain=76.0, volts=15.0, ohms=5.5)
"""VBE 0.74 V and gain 76 at 10 mA, VCE 0.40 V at 50 mA and 5 mA in the base, all typical (CA3083
data sheet, read)."""
_PAIR = (("a", "1", "2", "3"), ("b", "5", "4", "3"), ("c", "8", "6", "7"), ("d", "11", "9", "10"),
         ("e", "14", "12", "13"))  # fmt: skip
"""Collector, base, emitter of the 3046 and its sisters: datasheet, from memory."""


def _units(
    rows: Sequence[tuple[str, str, str, str]], process: Process
) -> tuple[ArrayTransistor, ...]:
    return tuple(
        ArrayTransistor(letter=letter, c=c, b=b, e=e, process=process) for letter, c, b, e in rows
    )


def _pins(units: Sequence[tuple[str, str, str, str]], substrate: str) -> tuple[PinWord, ...]:
    titles: dict[str, list[str]] = {}
    for number, (_, *pins) in enumerate(units, start=1):
        for pin, what in zip(pins, ("C", "B", "E"), strict=True):
            titles.setdefault(pin, []).append(f"{what}{number}")
    titles.setdefault(substrate, []).append("SUB")
    return tuple(
        PinWord(name=str(n), title=" ".join(titles[str(n)]), other_names=tuple(titles[str(n)]))
        for n in range(1, len(titles) + 1)
    )


def _by_function(
    name: str, title: str, rows: Sequence[tuple[str, str, str, str]], example: str
) -> TransistorArray:
    """One whose pins are typed by what they are, as its circuit diagram draws them."""
    leads = {"C": "collector", "B": "base", "E": "emitter"}
    names = dict.fromkeys(pin for _, *pins in rows for pin in pins)
    words = [PinWord(name=pin, title=f"{leads[pin[0]]} {pin[1:]}".strip(),
                     other_names=(pin.lower(),)) for pin in names]  # fmt: skip
    words.append(PinWord(name="SUB", title="substrate (pin 5)", other_names=("5", "sub")))
    return TransistorArray(
        transistors=_units(rows, _LARGE), substrate="SUB", amps=0.1, volts=15.0,
        word=KindWord(
            name=name, title=f"Transistor array, {title}", pins=tuple(words),
            help="Pins by their function, as the circuit diagram shows them (C1, B1, E1): no table "
            "of its pin numbers could be checked. The substrate must be the most negative; unused "
            "transistors may be left out.",
            example=example,
        ),
    )  # fmt: skip


_FIVE = tuple(("abcde"[n - 1], f"C{n}", f"B{n}", f"E{n}") for n in range(1, 6))
_COMMON_EMITTER = tuple(("abcdefg"[n - 1], f"C{n}", f"B{n}", "E") for n in range(1, 8))
_COMMON_COLLECTOR = tuple(("abcdefg"[n - 1], "C", f"B{n}", f"E{n}") for n in range(1, 8))

KINDS = (
    *(
        TransistorArray(
            transistors=_units(_PAIR, _SMALL), substrate="13", amps=0.05, volts=15.0,
            word=KindWord(
                name=name, title="Transistor array, five NPN, two of them a pair",
                pins=_pins(_PAIR, "13"),
                help="Pin 13, the substrate, must be the most negative; unused transistors may be "
                "left out.",
                example=f"U4 {name} 1=A 2=B 3=GND",
            ),
        )
        for name in ("CA3045", "CA3046", "CA3086", "LM3046", "LM3086")
    ),
    _by_function("CA3083", "five NPN of 100 mA", _FIVE, "U4 CA3083 C1=A B1=B E1=GND SUB=GND"),
    _by_function("CA3081", "seven NPN of 100 mA, common emitter", _COMMON_EMITTER,
                 "U4 CA3081 C1=A B1=B E=GND SUB=GND"),
    _by_function("CA3082", "seven NPN of 100 mA, common collector", _COMMON_COLLECTOR,
                 "U4 CA3082 E1=A B1=B C=+5 SUB=GND"),
)  # fmt: skip
