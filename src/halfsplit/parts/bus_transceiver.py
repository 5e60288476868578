"""Quad bus drivers and receivers of the 8T26 kind: a driver and a receiver on each bus line."""

from __future__ import annotations

from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.parts._logic_chips import ChipOutput
from halfsplit.parts._logic_families import Drive, Family, Junction
from halfsplit.parts._wired import FIVE_VOLTS, WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Rating

__all__ = ["KINDS"]

_PINS = "nRE R0 B0 D0 R1 B1 D1 GND D2 B2 R2 D3 B3 R3 DE VCC"
"""AMD data sheet of the Am8T26A and Am8T28, logic diagram with pin numbers, read."""
_SHEET = "data sheet"
_FAMILY = Family(
    name="8T26", title="bus transceiver", vth=1.3, r=25e3, in_drop=0.6, off_at=1.1, leak=4e-7,
    clamp=Junction(is_=1e-9, n=1.05, bv=18.0), drop=1.25, icc=60e-3,
    drives={"standard": Drive(il=0.15, rl=5.0, off=0.2, ih=0.1, rh=30.0, iol=0.048, ioh=0.01)},
)  # fmt: skip
"""PNP inputs, 48 mA of the driver at 0.5 V (read); the rest from memory of the S family."""
_UNITS = {f"{what}{n}": "abcd"[n] for n in range(4) for what in "RBD"}


def _kind(name: str, inverts: bool, types: tuple[str, ...]) -> WiredChip:
    sign = "!" if inverts else ""
    outputs = [
        output
        for n in range(4)
        for output in (
            ChipOutput(name=f"B{n}", level=f"{sign}D{n}", enable="DE"),
            ChipOutput(name=f"R{n}", level=f"{sign}B{n}", enable="!nRE"),
        )
    ]
    chip = chip_of(name, "", _PINS, outputs, output="tri", units=_UNITS)
    return WiredChip(
        chip=chip, family=_FAMILY, rate_name="IC digital bipolar 1-100 gates",
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        limits=(Rating(name="low output current", value=0.048, unit="A", source=_SHEET),),
        word=KindWord(
            name=name, supply_volts=FIVE_VOLTS, pins=pin_words(chip),
            title=f"Bus transceiver, quad, {'inverting' if inverts else 'not inverting'}",
            help="D drives the bus line B while DE is high; R gives what is on B while RE (active "
            "low) is low.",
            example=f"U9 {name} 4=D0 3=BUS0 2=R0 15=WR 1=RD",
        ),
    )  # fmt: skip


KINDS = (
    _kind("8T26", True, ("8T26A", "6880")),
    _kind("8T28", False, ("6889",)),
)
