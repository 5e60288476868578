"""Memories as black boxes: supply, enables, and what they do to a bus. Their contents nobody
knows, so an enabled data pin may stand either way until a state says what is read there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import changed
from halfsplit.parts._dip import draws
from halfsplit.parts._families import family
from halfsplit.parts._handbook import fraction, mode_source
from halfsplit.parts._logic_chips import Chip, ChipOutput
from halfsplit.parts._wired import FIVE_VOLTS, WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Change, Mode, Rating
from halfsplit.solve.law import Clocked, Element

__all__ = ["KINDS", "Memory"]

_ROW = "Microcircuit memory MOS"
_KEPT = Clocked(clock="0", data="0")
"""A stored bit that nothing writes: unknown, and so both ways are predicted."""
_SHEET = "datasheet, from memory"
_RAILS = {"VDD": 12.0, "VBB": 5.0, "VPP": 5.0}
_RAIL_AMPS = {"VDD": 5e-3, "VBB": 1e-5, "VPP": 1e-3}


@dataclass(frozen=True, kw_only=True)
class Memory(WiredChip):
    """Further supplies (``rails``: name -> pin) only load their nets."""

    rails: tuple[tuple[str, str], ...] = ()

    def elements(self, part: Part) -> Sequence[Element]:
        found = list(super().elements(part))
        ground = self.chip.pin("GND").number
        for name, pin in self.rails:
            if pin in part.pins and ground in part.pins:
                ends = (ground, pin) if name == "VBB" else (pin, ground)
                found += [
                    replace(each, name=f"{each.name} {name}")
                    for each in draws(*ends, _RAIL_AMPS[name])
                ]
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        """Ways of the bus by the logic chips' split; a wrong bit has the handbook's share."""
        lost, source = fraction(_ROW, "data bit loss"), mode_source(_ROW, "data bit loss")
        pins = [self.chip.pin(output.name).number for output in self.wiring(part).outputs()]
        found = [replace(mode, share=mode.share * (1.0 - lost)) for mode in super().modes(part)]
        found += [
            Mode(name=f"{pin} wrong {word}", words=f"giving a wrong {word} bit at {pin} (contents "
                 "lost)", share=0.5 * lost / len(pins), changes=changed(f"out{pin}", a0=level,
                 a1=0.0), source=source, pin=pin)
            for pin in pins
            for level, word in ((0.0, "low"), (1.0, "high"))
        ]  # fmt: skip
        return found

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        """What is read at a data pin while the chip is enabled."""
        numbers = {self.chip.pin(output.name).number for output in self.wiring(part).outputs()}
        if pin not in numbers or level is None:
            return ()
        return changed(f"out{pin}", a0=level, a1=0.0)


def _chip(number: str, title: str, pins: str, data: Sequence[str], enable: str) -> Chip:
    outputs = [ChipOutput(name=name, level="q", enable=enable, clocked=_KEPT) for name in data]
    return chip_of(number, title, pins, outputs, output="tri")


def _kind(
    name: str, title: str, pins: str, data: str, enable: str, rate: str, milliamps: float,
    types: Sequence[str] = (), *, made: str = "nmos", sinks: float = 2.1e-3,
) -> Memory:  # fmt: skip
    names = pins.split()
    chip = _chip(name, title, pins, data.split(), enable)
    rails = tuple((rail, str(names.index(rail) + 1)) for rail in _RAILS if rail in names)
    roles = {pin: "supply" if rail == "VPP" else "passive" for rail, pin in rails}
    kept = tuple(
        replace(pin, role="passive") if pin.number in roles else pin for pin in chip.pins
    )  # so that the bus's wiring passes them over
    words = tuple(replace(word, role=roles.get(word.name, word.role)) for word in pin_words(chip))
    three = "; its other supplies are typed" if "VDD" in names else ""
    return Memory(
        chip=replace(chip, pins=kept),
        family=replace(family(made), name=name, icc=milliamps * 1e-3),
        rate_name=rate,
        rails=rails,
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        limits=(
            Rating(name="supply voltage, most", value=5.5, unit="V", source=_SHEET),
            Rating(name="low output current", value=sinks, unit="A", source=_SHEET),
        ),
        word=KindWord(
            name=name, title=title, pins=words, supply_volts=FIVE_VOLTS,
            help="A black box: its data pins drive the bus when enabled and let go when not. A "
            "state may say what is read (its net=low, =high); else both are predicted. A "
            f"programmed one is not the same part as a blank of that number{three}.",
            example=f"U10 {name} {names.index(data.split()[0]) + 1}=D0",
        ),
    )  # fmt: skip


_EPROM = "IC MOS EPROM to 16 Kbit"
_SRAM = "IC MOS SRAM to 16 Kbit"
_DRAM = "IC MOS DRAM to 16 Kbit"
_PROM = "IC digital bipolar 101-1000 gates"
_BYTE = "D0 D1 D2 D3 D4 D5 D6 D7"
_LOW = "A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7"
_READ = "!nCE & !nOE"

KINDS = (
    _kind("2708", "EPROM, 1 K x 8, three supplies",
          f"{_LOW} PGM VDD nCS VBB A9 A8 VCC", _BYTE, "!nCS", _EPROM, 6.0),
    _kind("2716", "EPROM, 2 K x 8", f"{_LOW} nCE A10 nOE VPP A9 A8 VCC", _BYTE, _READ, _EPROM,
          60.0),
    _kind("2732", "EPROM, 4 K x 8", f"{_LOW} nCE A10 nOE A11 A9 A8 VCC", _BYTE, _READ, _EPROM,
          85.0),
    _kind("2764", "EPROM, 8 K x 8", f"VPP A12 {_LOW} nCE A10 nOE A11 A9 A8 NC nPGM VCC", _BYTE,
          _READ, _EPROM, 70.0),
    _kind("27128", "EPROM, 16 K x 8", f"VPP A12 {_LOW} nCE A10 nOE A11 A9 A8 A13 nPGM VCC",
          _BYTE, _READ, _EPROM, 70.0),
    _kind("27256", "EPROM, 32 K x 8", f"VPP A12 {_LOW} nCE A10 nOE A11 A9 A8 A13 A14 VCC", _BYTE,
          _READ, _EPROM, 60.0),
    _kind("2102", "Static RAM, 1 K x 1",
          "A6 A5 nWE A1 A2 A3 A4 A0 GND VCC DI DO nCE A9 A8 A7", "DO", "!nCE", _SRAM, 40.0,
          ("2102A",)),
    _kind("2114", "Static RAM, 1 K x 4",
          "A6 A5 A4 A3 A0 A1 A2 nCS GND nWE D3 D2 D1 D0 A9 A8 A7 VCC", "D0 D1 D2 D3",
          "!nCS & nWE", _SRAM, 60.0, ("2114L",)),
    _kind("6116", "Static RAM, 2 K x 8, CMOS", f"{_LOW} nCS A10 nOE nWE A9 A8 VCC", _BYTE,
          "!nCS & !nOE & nWE", _SRAM, 30.0, ("2016",)),
    _kind("6264", "Static RAM, 8 K x 8, CMOS",
          f"NC A12 {_LOW} nCS A10 nOE A11 A9 A8 CS nWE VCC", _BYTE, "!nCS & CS & !nOE & nWE",
          _SRAM, 30.0),
    _kind("4116", "Dynamic RAM, 16 K x 1, three supplies",
          "VBB DI nWE nRAS A0 A2 A1 VDD VCC A5 A4 A3 A6 DO nCAS GND", "DO", "!nCAS & nWE", _DRAM,
          1.0),
    _kind("4164", "Dynamic RAM, 64 K x 1",
          "NC DI nWE nRAS A0 A2 A1 VCC A7 A5 A4 A3 A6 DO nCAS GND", "DO", "!nCAS & nWE", _DRAM,
          30.0),
    _kind("27512", "EPROM, 64 K x 8", f"A15 A12 {_LOW} nCE A10 nOE A11 A9 A8 A13 A14 VCC", _BYTE,
          _READ, _EPROM, 60.0),
    _kind("2532", "EPROM, 4 K x 8, pins of its own",
          f"{_LOW} A11 A10 nPD VPP A9 A8 VCC", _BYTE, "!nPD", _EPROM, 85.0),
    _kind("2101", "Static RAM, 256 x 4, inputs apart",
          "A3 A2 A1 A0 A5 A6 A7 GND DI1 DO1 DI2 DO2 DI3 DO3 DI4 DO4 CE2 OD nCE1 RW A4 VCC",
          "DO1 DO2 DO3 DO4", "!nCE1 & CE2 & !OD", _SRAM, 45.0, ("2101A", "5101", "5101L")),
    _kind("2111", "Static RAM, 256 x 4",
          "A3 A2 A1 A0 A5 A6 A7 GND OD nCE1 D1 D2 D3 D4 nCE2 RW A4 VCC", "D1 D2 D3 D4",
          "!nCE1 & !nCE2 & !OD & RW", _SRAM, 45.0, ("2111A",)),
    _kind("2147", "Static RAM, 4 K x 1",
          "A0 A1 A2 A3 A4 A5 DO nWE GND nCE DI A11 A10 A9 A8 A7 A6 VCC", "DO", "!nCE & nWE", _SRAM,
          110.0, ("2147H",)),
    _kind("6810", "Static RAM, 128 x 8",
          "GND D0 D1 D2 D3 D4 D5 D6 D7 CS0 nCS1 nCS2 CS3 nCS4 nCS5 RW A6 A5 A4 A3 A2 A1 A0 VCC",
          _BYTE, "CS0 & !nCS1 & !nCS2 & CS3 & !nCS4 & !nCS5 & RW", _SRAM, 60.0, ("MC6810",)),
    _kind("82S123", "PROM, 32 x 8, bipolar",
          "D0 D1 D2 D3 D4 D5 D6 GND D7 A0 A1 A2 A3 A4 nCE VCC", _BYTE, "!nCE", _PROM, 75.0,
          ("74S288", "6331", "18S030"), made="74S", sinks=16e-3),
    _kind("82S129", "PROM, 256 x 4, bipolar",
          "A6 A5 A4 A3 A0 A1 A2 GND D3 D2 D1 D0 nCE1 nCE2 A7 VCC", "D0 D1 D2 D3",
          "!nCE1 & !nCE2", _PROM, 95.0, ("74S287", "6301", "24S10"), made="74S", sinks=16e-3),
    _kind("82S147", "PROM, 512 x 8, bipolar",
          "A0 A1 A2 A3 A4 D0 D1 D2 D3 GND D4 D5 D6 D7 nCE A5 A6 A7 A8 VCC", _BYTE, "!nCE", _PROM,
          120.0, ("74S472", "6349", "28S42"), made="74S", sinks=16e-3),
)  # fmt: skip
"""Pins by the makers' datasheets and the byte-wide pinout that they share (JEDEC standard 21),
from memory; typical supply currents from memory."""
