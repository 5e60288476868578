"""Dual peripheral drivers of the 7545x, 7546x and 7547x classes: a gate and a 300 mA transistor."""

from __future__ import annotations

from halfsplit.board.vocabulary import KindWord
from halfsplit.parts._logic_chips import ChipOutput
from halfsplit.parts._logic_families import Drive, Family, Junction
from halfsplit.parts._wired import FIVE_VOLTS, WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Rating

__all__ = ["KINDS"]

_PINS = "A1 B1 Y1 GND Y2 A2 B2 VCC"
"""Datasheets of the 75451B and 75453B (logic diagram): inputs 1 and 2, output 3; 6 and 7, 5."""
_UNITS = {"A1": "a", "B1": "a", "Y1": "a", "A2": "b", "B2": "b", "Y2": "b"}
_GATES = {
    "1": ("AND", "A{n} & B{n}"),
    "2": ("NAND", "!(A{n} & B{n})"),
    "3": ("OR", "A{n} | B{n}"),
    "4": ("NOR", "!(A{n} | B{n})"),
}
_CLASSES = {"5": (30.0, 20.0), "6": (35.0, 30.0), "7": (70.0, 55.0)}
"""Volts the output stands when off, and when it switches a coil: datasheets, from memory."""
_AMPS = 0.3
_SHEET = "datasheet, from memory"


def _family(volts: float) -> Family:
    """Low 0.25 V at 100 mA and 0.5 V at 300 mA (datasheets, typical)."""
    return Family(
        name="7545x", title="peripheral driver", vth=1.4, r=4000.0, in_drop=0.7, off_at=1.1,
        leak=2e-6, clamp=Junction(is_=1e-14, bv=8.0), icc=30e-3, oc_leak=1e-6,
        drives={"standard": Drive(il=0.6, rl=1.2, off=0.13, iol=_AMPS, volts_off=volts,
                                  breaks_at=1.2 * volts)},
    )  # fmt: skip


def _kind(row: str, last: str) -> WiredChip:
    gate, level = _GATES[last]
    volts, coil = _CLASSES[row]
    name = f"754{row}{last}"
    outputs = [ChipOutput(name=f"Y{n}", level=level.format(n=n)) for n in (1, 2)]
    chip = chip_of(name, gate, _PINS, outputs, output="oc", units=_UNITS)
    return WiredChip(
        chip=chip,
        family=_family(volts),
        rate_name="IC digital bipolar 1-100 gates",
        limits=(
            Rating(name="low output current", value=_AMPS, unit="A", source=_SHEET),
            Rating(name="output voltage when off", value=volts, unit="V", source=_SHEET),
            Rating(name="output voltage when it switches a coil", value=coil, unit="V",
                   source=_SHEET),
        ),
        word=KindWord(
            name=name, title=f"Peripheral driver, dual {gate}, open collector",
            pins=pin_words(chip), supply_volts=FIVE_VOLTS,
            help="The output only pulls low; a coil on it needs a clamp diode of its own.",
            example=f"U6 {name} 1=A 2=EN 3=LAMP",
        ),
    )  # fmt: skip


KINDS = tuple(_kind(row, last) for row in _CLASSES for last in _GATES)
