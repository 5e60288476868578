"""Half bridges and source drivers with a load supply of their own: L293, L298, UDN2981."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import terminal
from halfsplit.parts._logic_chips import ChipOutput
from halfsplit.parts._logic_families import Drive, Family, Junction
from halfsplit.parts._wired import FIVE_VOLTS, WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "MotorBridge"]

_SHEET = "data sheet, from memory"
_TAB = 100.0
"""Between ground pins inside, S."""


@dataclass(frozen=True, kw_only=True)
class MotorBridge(WiredChip):
    """Outputs stand between ``load`` and, where ``feet`` names one, a sense pin; ``tabs`` are
    further ground pins."""

    load: str
    feet: Mapping[str, str]
    tabs: tuple[str, ...] = ()

    def elements(self, part: Part) -> Sequence[Element]:
        supply = terminal(part, self.load)
        found = [self._stood(part, each, supply) for each in super().elements(part)]
        ground = terminal(part, self.chip.power("ground").number)
        for pin in self.tabs:
            if pin in part.pins:
                found.append(
                    Element(name=f"tab {pin}", law=Conductance(), terminals=(ground, pin),
                            params={"g": _TAB}, spread={"g": Spread()})
                )  # fmt: skip
        return found

    def _stood(self, part: Part, element: Element, supply: str) -> Element:
        number = element.name.removeprefix("out").removeprefix("top")
        if number not in self.feet:
            return element
        pin, _, *others = element.terminals
        if element.name.startswith("top"):
            return replace(element, terminals=(pin, supply, *others))
        foot = self.feet[number]
        ground = terminal(part, foot) if foot else others[0]
        return replace(element, terminals=(pin, supply, ground, *others[1:]))


def _family(
    name: str,
    drive: Drive,
    drop: float,
    clamps: bool = False,
    icc: float = 0.024,
    ohms: float = 50e3,
) -> Family:
    return Family(
        name=name, title="power driver", vth=1.5, r=ohms, in_drop=0.7, off_at=1.0, leak=1e-6,
        clamp=Junction(is_=1e-12, n=1.2, bv=60.0), clamp_high=clamps, drop=drop, icc=icc,
        on_at=3.5, oc_leak=1e-6, drives={"standard": drive},
    )  # fmt: skip


def _kind(
    name: str, title: str, pins: str, outputs: Sequence[ChipOutput], feet: Mapping[str, str],
    family: Family, *, amps: float, volts: float, text: str, example: str,
    types: Sequence[str] = (), load: str = "VS", rail: tuple[float, float] = FIVE_VOLTS,
) -> MotorBridge:  # fmt: skip
    chip = chip_of(name, "", pins, outputs, output="tri" if outputs[0].enable else "totem")
    passive = {"VS", "SENSEA", "SENSEB", "GND2", "GND3", "GND4"}
    numbers = {pin.name: pin.number for pin in chip.pins}
    words = tuple(
        replace(word, role="passive") if word.title in passive else word for word in pin_words(chip)
    )
    chip = replace(
        chip,
        pins=tuple(replace(pin, role="apart") if pin.name in passive else pin for pin in chip.pins),
    )  # so that the gates' wiring passes them over
    return MotorBridge(
        chip=chip, family=family, rate_name="IC linear 1-100 transistors", load=numbers[load],
        feet={numbers[out]: numbers.get(foot, "") for out, foot in feet.items()},
        tabs=tuple(numbers[each] for each in ("GND2", "GND3", "GND4") if each in numbers),
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        limits=(
            Rating(name="output current", value=amps, unit="A", source=_SHEET),
            Rating(name="load supply", value=volts, unit="V", source=_SHEET),
        ),
        word=KindWord(name=name, title=title, pins=words, supply_volts=rail, help=text,
                      example=example),
    )  # fmt: skip


_L293_PINS = "EN12 IN1 OUT1 GND GND2 OUT2 IN2 VS EN34 IN3 OUT3 GND3 GND4 OUT4 IN4 VCC"
_L293 = [
    ChipOutput(name=f"OUT{n}", level=f"IN{n}", enable="EN12" if n < 3 else "EN34")
    for n in range(1, 5)
]
_L298_PINS = "SENSEA OUT1 OUT2 VS IN1 ENA IN2 GND VCC IN3 ENB IN4 OUT3 OUT4 SENSEB"
_L298 = [
    ChipOutput(name=f"OUT{n}", level=f"IN{n}", enable="ENA" if n < 3 else "ENB")
    for n in range(1, 5)
]
_TEXT = "Half bridges with TTL inputs; VS is the load's supply, VCC the logic's. {}"
_CLAMPLESS = "A coil needs clamp diodes of its own."


def _l293(name: str, amps: float, ohms: float, clamps: bool, types: Sequence[str]) -> MotorBridge:
    drive = Drive(il=3.0 * amps, rl=ohms, off=0.6, ih=3.0 * amps, rh=ohms, iol=amps, ioh=amps)
    return _kind(
        name, f"Half bridges, four of {amps:g} A{', with clamps' if clamps else ''}", _L293_PINS,
        _L293, dict.fromkeys((f"OUT{n}" for n in range(1, 5)), ""),
        _family(name, drive, 0.8, clamps), amps=amps, volts=36.0, types=types,
        text=_TEXT.format("Clamp diodes are inside." if clamps else _CLAMPLESS),
        example=f"U6 {name} 1=EN 2=A 3=M+ 7=B 6=M- 8=+24 4=GND",
    )  # fmt: skip


KINDS = (
    _l293("L293", 1.0, 0.6, False, ("L293B", "L293E")),
    _l293("L293D", 0.6, 1.0, True, ("SN754410",)),
    _kind(
        "L298", "Full bridges, two of 2 A, with sense pins", _L298_PINS, _L298,
        {"OUT1": "SENSEA", "OUT2": "SENSEA", "OUT3": "SENSEB", "OUT4": "SENSEB"},
        _family("L298", Drive(il=5.0, rl=0.5, off=0.7, ih=5.0, rh=0.7, iol=2.0, ioh=2.0), 0.65),
        amps=2.0, volts=46.0, types=("L298N",),
        text=_TEXT.format("The bridges stand on their sense pins. " + _CLAMPLESS),
        example="U6 L298 6=EN 5=A 2=M+ 7=B 3=M- 4=+24 1=GND 8=GND",
    ),
    _kind(
        "2981", "Source driver, 8 channels of 0.5 A",
        "IN1 IN2 IN3 IN4 IN5 IN6 IN7 IN8 VCC GND OUT8 OUT7 OUT6 OUT5 OUT4 OUT3 OUT2 OUT1",
        [ChipOutput(name=f"OUT{n}", level=f"IN{n}") for n in range(1, 9)],
        dict.fromkeys((f"OUT{n}" for n in range(1, 9)), ""),
        _family("2981", Drive(il=1e-8, rl=1e6, ih=1.5, rh=0.7, iol=1e-8, ioh=0.5), 1.5,
                icc=1e-3, ohms=1e6),
        amps=0.5, load="VCC", rail=(5.0, 50.0),
        volts=50.0, types=("UDN2981", "UDN2981A", "TD62783"),
        text="Outputs that only push, from pin 9; inputs from TTL or 5 V CMOS.",
        example="U6 2981 1=A 18=LAMP 9=+24 10=GND",
    ),
)  # fmt: skip
"""Pins: L298 also as in the pin list of T. Nau, lib/linear.m4, github.com/bert/pcb, read; else by
the makers' data sheets, from memory. Drops, typical: L298 1.35 V above and 1.2 V below at 1 A, 2 V
and 1.7 V at 2 A; L293 1.4 V and 1.2 V at 1 A (L293D at 0.6 A); 2981 1.6 V at 100 mA, 1.8 V at
350 mA."""
