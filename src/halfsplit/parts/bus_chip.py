"""Bus chips of the 82xx and 8T9x numbers: latches, transceivers, buffers, an 8-bit port."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.parts._logic_chips import ChipOutput
from halfsplit.parts._logic_families import Drive, Family, Junction
from halfsplit.parts._wired import FIVE_VOLTS, WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Rating
from halfsplit.solve.law import Clocked

__all__ = ["KINDS"]

_SHEET = "data sheet, from memory"
_EIGHT = range(8)


def _family(name: str, iol: float, amps: float) -> Family:
    """Inputs of 0.2 mA; a high output as of the S family; low: 0.5 V at ``iol``, at most."""
    return Family(
        name=name, title="bus chip", vth=1.4, r=18e3, in_drop=0.7, off_at=1.1, leak=1e-6,
        clamp=Junction(is_=1e-9, n=1.05, bv=18.0), drop=1.25, icc=amps,
        drives={"standard": Drive(il=3.0 * iol, rl=5.0, off=0.15, ih=0.08, rh=40.0, iol=iol,
                                  ioh=0.005)},
    )  # fmt: skip


def _kind(
    name: str, title: str, pins: str, outputs: Sequence[ChipOutput], *, iol: float, amps: float,
    text: str, types: Sequence[str] = (), units: Mapping[str, str] | None = None,
) -> WiredChip:  # fmt: skip
    chip = chip_of(name, "", pins, outputs, output="tri", units=units)
    connected = [pin for pin in chip.pins if pin.role not in ("supply", "ground")][:3]
    return WiredChip(
        chip=chip, family=_family(name, iol, amps), rate_name="IC digital bipolar 1-100 gates",
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        limits=(Rating(name="low output current", value=iol, unit="A", source=_SHEET),),
        word=KindWord(
            name=name, title=title, pins=pin_words(chip), supply_volts=FIVE_VOLTS, help=text,
            example=f"U9 {name} " + " ".join(f"{pin.number}={pin.name}" for pin in connected),
        ),
    )  # fmt: skip


_HEX = "nG1 A1 Y1 A2 Y2 A3 Y3 GND Y4 A4 Y5 A5 Y6 A6 nG2 VCC"


def _hex(number: int, inverts: bool, apart: bool) -> WiredChip:
    """Six buffers enabled together, or four and two."""
    sign = "!" if inverts else ""
    enables = ["!nG1"] * 4 + ["!nG2"] * 2 if apart else ["!nG1 & !nG2"] * 6
    outputs = [
        ChipOutput(name=f"Y{n}", level=f"{sign}A{n}", enable=enable)
        for n, enable in enumerate(enables, start=1)
    ]
    return _kind(
        f"8T{number}", f"Hex bus buffer, three-state{', inverting' if inverts else ''}", _HEX,
        outputs, iol=0.048, amps=0.065, types=(f"DM80{number}", f"N8T{number}"),
        text=f"{'Four and two' if apart else 'All six'} enabled by lows; the pins of a "
        f"74{270 + number}.",
    )  # fmt: skip


def _octal(name: str, what: str, pins: str, outputs: Sequence[ChipOutput], text: str) -> WiredChip:
    return _kind(name, what, pins, outputs, iol=0.032, amps=0.12, text=text,
                 types=(f"P{name}", f"D{name}"))  # fmt: skip


def _latch(name: str, level: str) -> WiredChip:
    down = " ".join(f"DO{n}" for n in reversed(_EIGHT))
    up = " ".join(f"DI{n}" for n in _EIGHT)
    outputs = [
        ChipOutput(name=f"DO{n}", level=level, enable="!nOE",
                   clocked=Clocked(clock="STB", data=f"DI{n}", edge=False))
        for n in _EIGHT
    ]  # fmt: skip
    return _octal(name, f"Octal latch, three-state{', inverting' if level == '!q' else ''}",
                  f"{up} nOE GND STB {down} VCC", outputs,
                  "Outputs follow the inputs while STB is high and stay when it falls.",
                  )  # fmt: skip


def _transceiver(name: str, sign: str) -> WiredChip:
    down = " ".join(f"B{n}" for n in reversed(_EIGHT))
    up = " ".join(f"A{n}" for n in _EIGHT)
    outputs = [
        ChipOutput(name=f"{to}{n}", level=f"{sign}{of}{n}", enable=f"!nOE & {way}")
        for n in _EIGHT
        for to, of, way in (("B", "A", "T"), ("A", "B", "!T"))
    ]
    return _octal(name, f"Octal bus transceiver, three-state{', inverting' if sign else ''}",
                  f"{up} nOE GND T {down} VCC", outputs,
                  "From A to B while T is high, from B to A while it is low.")  # fmt: skip


def _nibble(name: str, sign: str) -> WiredChip:
    outputs = [
        output
        for n in range(4)
        for output in (
            ChipOutput(name=f"DB{n}", level=f"{sign}DI{n}", enable="!nCS & !nDIEN"),
            ChipOutput(name=f"DO{n}", level=f"{sign}DB{n}", enable="!nCS & nDIEN"),
        )
    ]
    return _kind(
        name, f"Bus driver and receiver, 4 bits{', inverting' if sign else ''}",
        "nCS DO0 DB0 DI0 DO1 DB1 DI1 GND DI2 DB2 DO2 DI3 DB3 DO3 nDIEN VCC", outputs,
        iol=0.05, amps=0.09, types=(f"3{name[1:]}", f"P{name}"),
        units={f"{what}{n}": "abcd"[n] for n in range(4) for what in ("DI", "DO", "DB")},
        text="DI drives the bus line DB while DIEN is low, DO gives what is on it while it is "
        "high; nothing while CS is high.",
    )  # fmt: skip


_SELECTED = "DS2 & !nDS1"
_PORT = _kind(
    "8212", "Port of 8 bits, latch and three-state buffer",
    "nDS1 MD DI1 DO1 DI2 DO2 DI3 DO3 DI4 DO4 STB GND "
    "DS2 nCLR DO5 DI5 DO6 DI6 DO7 DI7 DO8 DI8 NC VCC",
    [
        ChipOutput(name=f"DO{n}", level="q", enable=f"MD | ({_SELECTED})",
                   clocked=Clocked(clock=f"(MD & {_SELECTED}) | (!MD & STB)", data=f"DI{n}",
                                   edge=False, force_low="!nCLR"))
        for n in range(1, 9)
    ],
    iol=0.015, amps=0.09, types=("3212", "P8212"),
    text="The latch takes its inputs while selected (MD high) or while STB is high (MD low). The "
    "request output, pin 23, is not modelled.",
)  # fmt: skip

KINDS = (
    _hex(95, inverts=False, apart=False),
    _hex(96, inverts=True, apart=False),
    _hex(97, inverts=False, apart=True),
    _hex(98, inverts=True, apart=True),
    _PORT,
    _nibble("8216", ""),
    _nibble("8226", "!"),
    _latch("8282", "q"),
    _latch("8283", "!q"),
    _transceiver("8286", ""),
    _transceiver("8287", "!"),
)
"""Pins and levels by the makers' data sheets, from memory; the 8212 also after the pin diagram in
src/devices/machine/i8212.h, github.com/mamedev/mame, read; 8T95 to 8T98 are pin for pin the 365 to
368, whose pinouts have a second statement."""
