"""Line drivers and receivers of the RS-232 kind: 1488 and 1489."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, BaseKind, changed, connected, failing, terminal
from halfsplit.parts._dip import draws, numbered, stuck, supply_open
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._wired import FIVE_VOLTS
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve.law import Clocked, Element, Spread
from halfsplit.solve.laws.analog import Comparator
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.linear import Conductance, Source
from halfsplit.solve.laws.logic import LogicOutput, TtlInput

__all__ = ["KINDS", "LineDriver", "LineReceiver"]

_ROW = "Microcircuit interface"
_SHEET = "datasheet, from memory"
_ASLEEP = 99.0
_LOW = 0.55
"""Part of the stuck outputs that are stuck low (assumed)."""
_SWITCH = {
    "steep": 20.0, "a0": 0.0, "a1": 1.0, "e0": 1.0, "e1": 0.0, "bit": 0.0, "kl": 1.0, "kh": 1.0,
    "swing": 0.0, "o1": 0.0, "w1": 1.0,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class LineDriver(BaseKind):
    """``units``: (letter, output, inputs): NAND gates from TTL levels to both supplies.

    Inside: each input against 1.4 V, the results tied together, an output stage between the
    supplies with 300 ohm and a 10 mA limit.
    """

    units: tuple[tuple[str, str, tuple[str, ...]], ...]
    minus: str = "1"
    ground: str = "7"
    plus: str = "14"

    def elements(self, part: Part) -> Sequence[Element]:
        used = self._used(part)
        if not used:
            return ()
        minus, ground, plus = (terminal(part, pin) for pin in (self.minus, self.ground, self.plus))
        found = [
            Element(name="reference", law=Source(), terminals=("~1.4", ground),
                    params={"g": 1e-3, "volts": 1.4},
                    spread={"volts": Spread(absolute=0.15, shape="normal")}),
            *draws(plus, minus, 3e-3),
        ]  # fmt: skip
        for letter, out, inputs in used:
            both = f"~both {letter}"
            for pin in inputs:
                found += [
                    Element(name=f"in{pin}", law=TtlInput(),
                            terminals=(terminal(part, pin), plus, ground),
                            params={"r": 11e3, "drop": 0.7, "off_at": 1.1, "k": 1.0, "g": 1e-6},
                            spread={"r": Spread(relative=0.2, together="die")}),
                    Element(name=f"u{pin}", law=Comparator(),
                            terminals=(both, plus, minus, terminal(part, pin), "~1.4"),
                            params={"vos": 0.0, "steep": 50.0, "a0": 0.0, "a1": 1.0, "k": 1.0,
                                    "il": 2e-3, "rl": 50.0, "on_at": 4.0, "ib": 0.0, "gp": 0.0,
                                    "gm": 0.0, "leak": 0.0}),
                ]  # fmt: skip
            found += [
                Element(name=f"load {letter}", law=Conductance(), terminals=(plus, both),
                        params={"g": 5e-5}),
                Element(name=f"out{out}", law=LogicOutput(inputs=("x",), level="!x"),
                        terminals=(terminal(part, out), plus, minus, both),
                        params={**_SWITCH, "vth": 0.5, "rel": 1.0, "il": 10e-3, "rl": 300.0,
                                "off": 1.5, "ih": 10e-3, "rh": 300.0, "drop": 1.5, "on_at": 4.0,
                                "leak": 1e-9},
                        spread={"il": Spread(relative=0.2, shape="log", together="die"),
                                "ih": Spread(relative=0.2, shape="log", together="die"),
                                "drop": Spread(absolute=0.4), "off": Spread(absolute=0.4)}),
            ]  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        used = self._used(part)
        found: list[Mode] = []
        ins = [(pin, out) for _, out, pins in used for pin in pins if pin in part.pins]
        for _, out, _ in used:
            of, element = 1.0 / len(used), f"out{out}"
            found += [
                *stuck(_ROW, out, element, of, _LOW),
                failing(f"{out} weak", f"weak at output {out}",
                        changed(element, kl=0.15, kh=0.15), row=(_ROW, "output open"),
                        of=0.2 * of, pin=out, test_out=0.5),
                failing(f"{out} output open", f"open at output {out} inside",
                        changed(element, kl=0.0, kh=0.0), row=(_ROW, "output open"), of=0.8 * of,
                        pin=out),
            ]  # fmt: skip
        for pin, _ in ins:
            of = 1.0 / len(ins)
            found += [
                failing(f"{pin} input open", f"open at input {pin} inside, which it takes for high",
                        (*changed(f"in{pin}", k=0.0, g=OPEN), *changed(f"u{pin}", a0=1.0, a1=0.0)),
                        row=(_ROW, "input open"), of=0.8 * of, pin=pin),
                failing(f"{pin} input short", f"shorted to ground at input {pin}",
                        changed(f"in{pin}", g=0.2), row=(_ROW, "input open"), of=0.2 * of,
                        pin=pin),
            ]  # fmt: skip
        if used:
            asleep = [one for _, out, _ in used for one in changed(f"out{out}", on_at=_ASLEEP)]
            found.append(supply_open(_ROW, asleep, "a supply lead"))
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="positive supply", value=15.0, unit="V", source=_SHEET),
            Rating(name="negative supply, without its sign", value=15.0, unit="V", source=_SHEET),
            Rating(name="output current", value=10e-3, unit="A", source=_SHEET),
        )

    def _used(self, part: Part) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
        return tuple(unit for unit in self.units
                     if any(pin in part.pins for pin in (unit[1], *unit[2])))  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class LineReceiver(BaseKind):
    """``units``: (letter, input, output): inverters with 4 kilohm inputs, which switch at ``up``
    and ``down`` V and between them keep what they were."""

    units: tuple[tuple[str, str, str], ...]
    up: float
    down: float
    ground: str = "7"
    supply: str = "14"

    def elements(self, part: Part) -> Sequence[Element]:
        used = self._used(part)
        if not used:
            return ()
        supply, ground = terminal(part, self.supply), terminal(part, self.ground)
        found = [*draws(supply, ground, 16e-3)]
        for _, into, out in used:
            here, there = terminal(part, into), terminal(part, out)
            found += [
                Element(name=f"r{into}", law=Conductance(), terminals=(here, ground),
                        params={"g": 1.0 / 4e3},
                        spread={"g": Spread(relative=0.25, together="die")}),
                Element(name=f"out{out}",
                        law=LogicOutput(inputs=("x",), level="!x", high="none"),
                        terminals=(there, supply, ground, here),
                        params={**_SWITCH, "vth": 0.5 * (self.up + self.down),
                                "swing": self.up - self.down, "steep": 100.0, "rel": 0.0,
                                "il": 20e-3, "rl": 15.0, "off": 0.1, "ih": 1e-3, "rh": 1e3,
                                "drop": 0.0, "on_at": 2.5, "leak": 1e-9},
                        clocked=Clocked(clock="1", data="x", edge=False),
                        spread={"vth": Spread(absolute=0.15)}),
                Element(name=f"pull{out}", law=Conductance(), terminals=(supply, there),
                        params={"g": 1.0 / 1.7e3},
                        spread={"g": Spread(relative=0.2, together="die")}),
                Element(name=f"clamp{out}", law=Diode(), terminals=(ground, there),
                        params={"is_": 1e-14, "n": 1.0, "bv": 25.0, "nbv": 1.0, "gp": OPEN}),
            ]  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        used = self._used(part)
        found: list[Mode] = []
        for _, into, out in used:
            of, element = 1.0 / len(used), f"out{out}"
            found += [
                *stuck(_ROW, out, element, of, _LOW),
                failing(f"{out} output open", f"open at output {out} inside",
                        (*changed(element, kl=0.0), *changed(f"pull{out}", g=OPEN),
                         *changed(f"clamp{out}", is_=0.0)),
                        row=(_ROW, "output open"), of=of, pin=out),
                failing(f"{into} input open", f"open at input {into} inside, which it takes for "
                        "low", (*changed(f"r{into}", g=OPEN), *changed(element, o1=0.0, w1=0.0)),
                        row=(_ROW, "input open"), of=0.7 * of, pin=into),
                failing(f"{into} input short", f"shorted to ground at input {into}",
                        changed(f"r{into}", g=0.2), row=(_ROW, "input open"), of=0.3 * of,
                        pin=into),
            ]  # fmt: skip
        if used:
            asleep: list[Change] = []
            for _, _, out in used:
                asleep += (*changed(f"out{out}", on_at=_ASLEEP), *changed(f"pull{out}", g=OPEN))
            found.append(supply_open(_ROW, asleep))
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="input voltage", value=30.0, unit="V", source=_SHEET),
            Rating(name="low output current", value=10e-3, unit="A", source=_SHEET),
        )

    def _used(self, part: Part) -> tuple[tuple[str, str, str], ...]:
        return tuple(unit for unit in self.units if unit[1] in part.pins or unit[2] in part.pins)


def _receiver(name: str, up: float, down: float, number: str) -> LineReceiver:
    return LineReceiver(
        up=up, down=down,
        units=(("a", "1", "3"), ("b", "4", "6"), ("c", "10", "8"), ("d", "13", "11")),
        types=(TypeWord(name=number, kind=name),),
        word=KindWord(
            name=name, title="Line receiver, RS-232, quad inverting", supply_volts=FIVE_VOLTS,
            pins=numbered(
                "in/1A/a passive/1C/a out/1Y/a in/2A/b passive/2C/b out/2Y/b ground/GND "
                "out/3Y/c passive/3C/c in/3A/c out/4Y/d passive/4C/d in/4A/d supply/VCC"
            ),
            help="Each input is 4 kilohm to ground; the response pins (2, 5, 9, 12) are mostly "
            "open. It has two thresholds, and between them keeps what it was.",
            example=f"U8 {name} 1=RX 3=RXD",
        ),
    )  # fmt: skip


KINDS = (
    LineDriver(
        units=(("a", "3", ("2",)), ("b", "6", ("4", "5")), ("c", "8", ("9", "10")),
               ("d", "11", ("12", "13"))),
        types=(TypeWord(name="75188", kind="1488"),),
        word=KindWord(
            name="1488", title="Line driver, RS-232, quad inverting",
            pins=numbered(
                "supply/V- in/1A/a out/1Y/a in/2A/b in/2B/b out/2Y/b ground/GND "
                "out/3Y/c in/3A/c in/3B/c out/4Y/d in/4A/d in/4B/d supply/V+"
            ),
            help="TTL in, about 9 V either way out with supplies of 12 V: type both supplies.",
            example="U7 1488 2=TXD 3=TX 14=+12 1=-12 7=GND",
        ),
    ),
    _receiver("1489", 1.25, 1.0, "75189"),
    _receiver("1489A", 1.95, 0.8, "75189A"),
)  # fmt: skip
"""Pins and typical values by the datasheets, from memory: 1488 input current 1 mA, output 300 ohm
and 10 mA; 1489 thresholds 1.25 V up and 1.0 V down, 1489A 1.95 V and 0.8 V; output 1.7 kilohm."""
