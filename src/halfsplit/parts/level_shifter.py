"""CMOS hex buffers with two supplies: inputs on VDD, outputs on VCC, which may be lower."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import terminal
from halfsplit.parts._logic_chips import ChipOutput
from halfsplit.parts._logic_families import FAMILIES
from halfsplit.parts._wired import WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Rating
from halfsplit.solve.law import Element

__all__ = ["KINDS", "LevelShifter"]

_PINS = "VCC Y1 A1 Y2 A2 Y3 A3 GND A4 Y4 A5 Y5 NC A6 Y6 VDD"
"""kingswood-consulting.co.uk/giicm/4000.html, read; data sheet of the CD4009UB, from memory."""
_INPUT_SUPPLY = "16"
_SHEET = "data sheet, from memory"


@dataclass(frozen=True, kw_only=True)
class LevelShifter(WiredChip):
    """Its first gates and the inputs' upper clamps stand on VDD, all else on VCC."""

    def elements(self, part: Part) -> Sequence[Element]:
        inputs = {f"top{pin.number}" for pin in self.chip.pins if pin.role == "in"}
        above = terminal(part, _INPUT_SUPPLY)
        return tuple(
            _moved(each, above) if each.name in inputs or each.name.startswith("core ") else each
            for each in super().elements(part)
        )


def _moved(element: Element, supply: str) -> Element:
    """The element with its supply terminal (the second of both laws) on another pin."""
    first, _, *others = element.terminals
    return replace(element, terminals=(first, supply, *others))


def _kind(name: str, title: str, level: str) -> LevelShifter:
    family = replace(FAMILIES["cmos"], drives={"standard": FAMILIES["cmos"].drives["buffer"]})
    outputs = [ChipOutput(name=f"Y{n}", level=level.format(f"B{n}")) for n in range(1, 7)]
    chip = chip_of(name, title, _PINS, outputs)
    roles = {"VDD": "supply", **{f"A{n}": "in" for n in range(1, 7)}}
    chip = replace(
        chip,
        pins=tuple(replace(pin, role=roles.get(pin.name, pin.role)) for pin in chip.pins),
        cores=tuple(ChipOutput(name=f"B{n}", level=f"A{n}") for n in range(1, 7)),
    )
    return LevelShifter(
        chip=chip,
        family=family,
        rate_name="IC digital MOS 1-100 gates",
        types=tuple(TypeWord(name=each, kind=name) for each in (f"CD{name}", f"CD{name}UB")),
        limits=(
            Rating(name="supply voltage, most", value=18.0, unit="V", source=_SHEET),
            Rating(name="low output current", value=3e-3, unit="A", source=_SHEET),
        ),
        word=KindWord(
            name=name, title=f"{title}, CMOS, two supplies", pins=pin_words(chip),
            supply_volts=(3.0, 15.0),
            help="Inputs switch at half of VDD (pin 16), outputs swing to VCC (pin 1), which must "
            "not be above VDD.",
            example=f"U3 {name} 3=IN 2=OUT 16=+5 1=+5",
        ),
    )  # fmt: skip


KINDS = (
    _kind("4009", "Hex inverting buffer", "!{}"),
    _kind("4010", "Hex buffer", "{}"),
)
