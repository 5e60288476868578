"""Dual peripheral drivers of the 7545x, 7546x and 7547x classes: a gate and a 300 mA transistor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._array_transistors import ArrayTransistor, Process
from halfsplit.parts._logic_chips import ChipOutput
from halfsplit.parts._logic_families import FAMILIES, Drive, Family, Junction
from halfsplit.parts._wired import FIVE_VOLTS, WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Mode, Rating
from halfsplit.solve.law import Element

__all__ = ["KINDS", "OpenDriver"]

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
"""Volts the output stands when off, and when it switches a coil: datasheets of the SN75451B
(SLRS021) and SN75471 (SLRS024), read; of the SN75461, from memory."""
_AMPS = 0.3
_SHEET = "datasheet of the class"


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


_OPEN_PINS = "G A1 Y1 B1 C1 E1 GND SUB E2 C2 B2 Y2 A2 VCC"
"""Data sheet of the 75450B, from memory: two NAND gates with an input in common, two transistors
with all their leads, the substrate on pin 8."""
_POWER = Process(is_=2e-14, gain=60.0, volts=30.0, ohms=1.0)
"""VCE 0.25 V at 100 mA and 0.5 V at 300 mA typical, as in the 75451B whose transistor it is."""
_TRANSISTORS = tuple(
    ArrayTransistor(letter=letter, c=c, b=b, e=e, process=_POWER)
    for letter, c, b, e in (("a", "5", "4", "6"), ("b", "10", "11", "9"))
)
_OF_GATES = 0.5
"""Share of the failures that are the gates' (assumed)."""


@dataclass(frozen=True, kw_only=True)
class OpenDriver(WiredChip):
    """Gates, and transistors that lead to pins of their own."""

    transistors: tuple[ArrayTransistor, ...]
    substrate: str

    def elements(self, part: Part) -> Sequence[Element]:
        used = [each for each in self.transistors if each.used(part)]
        return (*super().elements(part),
                *(one for each in used for one in each.elements(part, self.substrate)))  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        used = [each for each in self.transistors if each.used(part)]
        gates = [replace(mode, share=mode.share * _OF_GATES) for mode in super().modes(part)]
        apart = (1.0 - _OF_GATES) / max(len(used), 1)
        return (*gates, *(mode for each in used for mode in each.modes(apart)))


def _open_kind() -> OpenDriver:
    outputs = [ChipOutput(name=f"Y{n}", level=f"!(A{n} & G)") for n in (1, 2)]
    chip = chip_of("75450", "NAND", _OPEN_PINS, outputs)
    leads = {pin for each in _TRANSISTORS for pin in (each.c, each.b, each.e)} | {"8"}
    words = tuple(
        replace(word, role="passive") if word.name in leads else word for word in pin_words(chip)
    )
    gates = tuple(
        replace(pin, role="apart") if pin.number in leads else pin for pin in chip.pins
    )  # so that the gates' wiring passes them over
    return OpenDriver(
        chip=replace(chip, pins=gates), family=FAMILIES["74"], transistors=_TRANSISTORS,
        substrate="8", rate_name="IC digital bipolar 1-100 gates",
        limits=(
            Rating(name="collector current", value=_AMPS, unit="A", source=_SHEET),
            Rating(name="collector-emitter voltage", value=30.0, unit="V", source=_SHEET),
        ),
        word=KindWord(
            name="75450", title="Peripheral driver, dual NAND and two open transistors",
            pins=words, supply_volts=FIVE_VOLTS,
            help="The gates' outputs are mostly wired to the bases (3 to 4, 12 to 11); the "
            "substrate, pin 8, must be the most negative.",
            example="U6 75450 1=EN 2=A 3=DRV 4=DRV 5=LAMP 6=GND 8=GND",
        ),
    )  # fmt: skip


KINDS = (
    _open_kind(),
    *(_kind(row, last) for row in _CLASSES for last in _GATES),
)
