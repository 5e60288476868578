"""Line drivers and receivers of the RS-422 kind and before: 26LS31, 26LS32, 3486, 3487, 9637, 9638,
75107, 75108."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import BaseKind, changed, connected, failing, terminal
from halfsplit.parts._dip import draws, numbered, stuck, supply_open
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._logic_chips import ChipOutput
from halfsplit.parts._logic_families import Drive, Family, Junction
from halfsplit.parts._wired import FIVE_VOLTS, WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve import expression
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.analog import Comparator
from halfsplit.solve.laws.linear import Conductance
from halfsplit.solve.laws.logic import LogicOutput, TtlInput

__all__ = ["KINDS", "LineReceiver"]

_SHEET = "datasheet, from memory"
_ROW = "Microcircuit interface"
_DRIVER = Family(
    name="26LS31", title="line driver", vth=1.3, r=20000.0, in_drop=0.4, off_at=1.0, leak=4e-7,
    clamp=Junction(is_=1e-9, n=1.05, bv=18.0), drop=1.25, icc=32e-3,
    drives={"standard": Drive(il=0.15, rl=10.0, off=0.12, ih=0.1, rh=25.0, iol=0.02, ioh=0.02)},
)  # fmt: skip
"""2.5 V at least at -20 mA, 0.5 V at most at 20 mA: datasheet of the 26LS31, from memory."""
_INPUT_OHMS = 12e3
"""Of each receiver input to ground: 12 kilohm typical (datasheet of the 26LS32, from memory)."""
_FAIL_SAFE = 0.03
"""V by which open inputs read high: assumed; the threshold lies within 0.2 V (RS-422)."""
_SLACK = 0.07
_STUCK_LOW = 0.6
"""Part of the stuck outputs that are stuck low (assumed)."""
_STEEP = 100.0


def _driver(
    name: str, title: str, pins: str, enables: dict[str, str], types: Sequence[str], example: str
) -> WiredChip:
    """``enables`` maps the number of a channel to its enable."""
    outputs: list[ChipOutput] = []
    units: dict[str, str] = {}
    for n, enable in enables.items():
        outputs += [ChipOutput(name=f"Y{n}", level=f"A{n}", enable=enable),
                    ChipOutput(name=f"Z{n}", level=f"!A{n}", enable=enable)]  # fmt: skip
        units |= dict.fromkeys((f"A{n}", f"Y{n}", f"Z{n}"), "abcd"[int(n) - 1])
    chip = chip_of(name, title, pins, outputs, output="tri", units=units)
    return WiredChip(
        chip=chip, family=_DRIVER, rate_name="IC digital bipolar 1-100 gates",
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        limits=(
            Rating(name="low output current", value=0.02, unit="A", source=_SHEET),
            Rating(name="high output current", value=0.02, unit="A", source=_SHEET),
        ),
        word=KindWord(
            name=name, title=f"Line driver, RS-422, {title}", pins=pin_words(chip),
            supply_volts=FIVE_VOLTS,
            help="Y follows the input, Z is its inverse; let go when not enabled.",
            example=example,
        ),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class LineReceiver(BaseKind):
    """``units``: (letter, output, plus, minus), with an enable each: an expression over the names
    in ``controls`` (name, pin), "1" for always.

    A ``strobed`` one reads high when not enabled, another lets go. ``ohms`` from each input to
    ground; ``minus`` is the pin of a negative supply; ``pulls_up`` false: open collector.
    """

    units: tuple[tuple[str, str, str, str], ...]
    enables: tuple[str, ...]
    controls: tuple[tuple[str, str], ...]
    supply: str = "16"
    ground: str = "8"
    minus: str = ""
    strobed: bool = False
    pulls_up: bool = True
    ohms: float = _INPUT_OHMS

    def elements(self, part: Part) -> Sequence[Element]:
        used = self._used(part)
        if not used:
            return ()
        supply, ground = terminal(part, self.supply), terminal(part, self.ground)
        found = [*draws(supply, ground, 50e-3)]
        if self.minus:
            found += [replace(each, name=f"{each.name} minus")
                      for each in draws(ground, terminal(part, self.minus), 8e-3)]  # fmt: skip
        for name, pin in self.controls:
            found.append(
                Element(name=f"in {name}", law=TtlInput(),
                        terminals=(terminal(part, pin), supply, ground),
                        params={"r": 20e3, "drop": 0.4, "off_at": 1.0, "k": 1.0, "g": 4e-7})
            )  # fmt: skip
        for unit, enable in used:
            found += self._channel(part, unit, enable, supply, ground)
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        used = [unit for unit, _ in self._used(part)]
        found: list[Mode] = []
        for letter, out, plus, minus in used:
            of, element = 1.0 / len(used), f"out {letter}"
            wrong = (_ROW, "input open")
            found += [
                *stuck(_ROW, out, element, of, _STUCK_LOW),
                failing(f"{out} output open", f"open at output {out} inside",
                        changed(element, kl=0.0, kh=0.0), row=(_ROW, "output open"), of=of,
                        pin=out),
                *(
                    failing(f"{pin} input open", f"open at input {pin} inside",
                            changed(f"r{pin}", g=0.0) + changed(f"u{letter}", vos=vos),
                            row=wrong, of=0.4 * of, pin=pin)
                    for pin, vos in ((plus, -0.3), (minus, 0.3))
                ),
                failing(f"{plus} input short", f"shorted to ground at input {plus}",
                        changed(f"r{plus}", g=0.2), row=wrong, of=0.1 * of, pin=plus),
                failing(f"{minus} input short", f"shorted to ground at input {minus}",
                        changed(f"r{minus}", g=0.2), row=wrong, of=0.1 * of, pin=minus),
            ]  # fmt: skip
        if used:
            asleep = [one for letter, *_ in used for one in changed(f"out {letter}", on_at=99.0)]
            found.append(supply_open(_ROW, asleep))
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="input against ground", value=25.0, unit="V", source=_SHEET),
            Rating(name="low output current", value=8e-3, unit="A", source=_SHEET),
        )

    def _used(self, part: Part) -> tuple[tuple[tuple[str, str, str, str], str], ...]:
        both = zip(self.units, self.enables, strict=True)
        return tuple(each for each in both if any(pin in part.pins for pin in each[0][1:]))

    def _channel(
        self, part: Part, unit: tuple[str, str, str, str], enable: str, supply: str, ground: str
    ) -> list[Element]:
        letter, out, plus, minus = unit
        sees = f"~sees {letter}"
        pins = dict(self.controls)
        names = list(expression.names(enable))
        level, gate = (f"x | !({enable})", "") if self.strobed else ("x", enable)
        looks = {f"o{k}": 0.0 for k in range(1, 2 + len(names))}
        looks |= {f"w{k}": 1.0 for k in range(1, 2 + len(names))}
        ends = tuple(
            Element(name=f"r{pin}", law=Conductance(), terminals=(terminal(part, pin), ground),
                    params={"g": 1.0 / self.ohms},
                    spread={"g": Spread(relative=0.2, together="die")})
            for pin in (plus, minus)
        )  # fmt: skip
        return [
            *ends,
            Element(
                name=f"u{letter}", law=Comparator(),
                terminals=(sees, supply, ground, terminal(part, plus), terminal(part, minus)),
                params={"vos": _FAIL_SAFE, "steep": _STEEP, "a0": 0.0, "a1": 1.0, "k": 1.0,
                        "il": 5e-3, "rl": 50.0, "on_at": 2.5, "ib": 0.0, "gp": 0.0, "gm": 0.0,
                        "leak": 0.0},
                spread={"vos": Spread(absolute=_SLACK)},
            ),
            Element(name=f"load {letter}", law=Conductance(), terminals=(supply, sees),
                    params={"g": 1e-4}),
            Element(
                name=f"out {letter}",
                law=LogicOutput(inputs=("x", *names), level=level, enable=gate,
                                high="darlington" if self.pulls_up else "none"),
                terminals=(terminal(part, out), supply, ground, sees,
                           *(terminal(part, pins[name]) for name in names)),
                params={"vth": 1.3, "rel": 0.0, "steep": 20.0, "a0": 0.0, "a1": 1.0, "e0": 0.0,
                        "e1": 1.0, "bit": 0.0, "kl": 1.0, "kh": 1.0, "il": 0.03, "rl": 25.0,
                        "off": 0.14, "ih": 0.06, "rh": 40.0, "drop": 1.44, "on_at": 2.5,
                        "leak": 1e-9, "swing": 0.0, **looks},
                spread={"il": Spread(relative=0.2, shape="log", together="die")},
            ),
        ]  # fmt: skip


def _receiver(
    name: str, pins: str, units: tuple[tuple[str, str, str, str], ...], enables: tuple[str, ...],
    controls: tuple[tuple[str, str], ...], types: Sequence[str], example: str, *,
    title: str = "RS-422, quad, three-state", supply: str = "16", ground: str = "8",
) -> LineReceiver:  # fmt: skip
    return LineReceiver(
        units=units, enables=enables, controls=controls, supply=supply, ground=ground,
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        word=KindWord(
            name=name, title=f"Line receiver, {title}", pins=numbered(pins),
            supply_volts=FIVE_VOLTS,
            help="High when plus is above minus by 0.2 V or more; open inputs read high. Each "
            "input is 12 kilohm to ground; a 100 ohm resistor across a pair ends the line.",
            example=example,
        ),
    )  # fmt: skip


def _strobed(name: str, output: str, pulls_up: bool) -> LineReceiver:
    """Two receivers of the 75107 kind, between supplies of +5 and -5 V."""
    ending = "" if pulls_up else ", open collector"
    return LineReceiver(
        units=(("a", "4", "1", "2"), ("b", "9", "11", "12")), enables=("G1 & S", "G2 & S"),
        controls=(("G1", "5"), ("S", "6"), ("G2", "8")), supply="14", ground="7", minus="13",
        strobed=True, pulls_up=pulls_up, ohms=170e3,
        types=tuple(TypeWord(name=f"{name}{suffix}", kind=name) for suffix in "AB"),
        word=KindWord(
            name=name, title=f"Line receiver, dual, strobed{ending}", supply_volts=FIVE_VOLTS,
            pins=numbered(
                f"in/A1/a in/B1/a nc/NC {output}/Y1/a in/G1/a in/S ground/GND in/G2/b "
                f"{output}/Y2/b nc/NC in/A2/b in/B2/b passive/V- supply/VCC"
            ),
            help="Low when A is below B by 25 mV or more and both strobes are high, else high. "
            "Type the negative supply, pin 13.",
            example=f"U8 {name} 1=LINE+ 2=LINE- 4=RXD 13=-5",
        ),
    )  # fmt: skip


KINDS = (
    _driver("26LS31", "quad, common enable",
            "A1 Y1 Z1 G Z2 Y2 A2 GND A3 Y3 Z3 nG Z4 Y4 A4 VCC",
            dict.fromkeys("1234", "G | !nG"), ("75172",),
            "U7 26LS31 1=TXD 2=TX+ 3=TX- 4=+5 12=GND"),
    _driver("3487", "quad, enable for each pair",
            "A1 Y1 Z1 EN12 Z2 Y2 A2 GND A3 Y3 Z3 EN34 Z4 Y4 A4 VCC",
            {"1": "EN12", "2": "EN12", "3": "EN34", "4": "EN34"}, ("MC3487", "75174"),
            "U7 3487 1=TXD 2=TX+ 3=TX- 4=+5"),
    _driver("9638", "dual", "VCC A1 A2 GND Z2 Y2 Z1 Y1", {"1": "1", "2": "1"}, ("uA9638",),
            "U7 9638 2=TXD 8=TX+ 7=TX-"),
    _receiver("26LS32",
              "in/B1/a in/A1/a tri/Y1/a in/G tri/Y2/b in/A2/b in/B2/b ground/GND "
              "in/B3/c in/A3/c tri/Y3/c in/nG tri/Y4/d in/A4/d in/B4/d supply/VCC",
              (("a", "3", "2", "1"), ("b", "5", "6", "7"), ("c", "11", "10", "9"),
               ("d", "13", "14", "15")),
              ("G | !nG",) * 4, (("G", "4"), ("nG", "12")), ("26LS33", "75173"),
              "U8 26LS32 2=RX+ 1=RX- 3=RXD 4=+5 12=GND"),
    _receiver("3486",
              "in/B1/a in/A1/a tri/Y1/a in/EN13 tri/Y3/c in/A3/c in/B3/c ground/GND "
              "in/B4/d in/A4/d tri/Y4/d in/EN24 tri/Y2/b in/A2/b in/B2/b supply/VCC",
              (("a", "3", "2", "1"), ("b", "13", "14", "15"), ("c", "5", "6", "7"),
               ("d", "11", "10", "9")),
              ("EN13", "EN24", "EN13", "EN24"), (("EN13", "4"), ("EN24", "12")),
              ("MC3486", "75175"), "U8 3486 2=RX+ 1=RX- 3=RXD 4=+5"),
    _receiver("9637", "supply/VCC out/Y1/a out/Y2/b ground/GND in/B2/b in/A2/b in/B1/a in/A1/a",
              (("a", "2", "8", "7"), ("b", "3", "6", "5")), ("1", "1"), (), ("uA9637",),
              "U8 9637 8=RX+ 7=RX- 2=RXD", title="RS-422, dual", supply="1", ground="4"),
    _strobed("75107", "out", True),
    _strobed("75108", "oc", False),
)  # fmt: skip
"""Pins by TI's data sheets of the MC3486, SN75173, SN75174 (SN75LBC174) and SN75175, read, which
share theirs with the 3486, 26LS32, 3487 and 3486; those of the 9637, 9638 and 75107 from memory."""
