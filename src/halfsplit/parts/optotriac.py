"""Opto couplers with a triac output: MOC3010, MOC3020, MOC3041 and their kin."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    JUNCTION_SHORT,
    OPEN,
    BaseKind,
    changed,
    connected,
    failing,
    scaled,
    terminal,
    types_of,
)
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._led import LIGHT, SAME, led_element, led_modes
from halfsplit.parts.kind import Mode, Rate, Rating, Reading
from halfsplit.solve.law import Element
from halfsplit.solve.laws.analog import PhotoTransistor
from halfsplit.solve.laws.junction import Diode

__all__ = ["KIND", "OptoTriac"]

_OUTPUT = "Optoelectronic sensor"
_AMPS = 0.1
"""What it carries when its LED has the trigger current."""
_DARK = 1e-9
_JUNCTIONS = {"is_": 1e-14, "n": 2.0, "bv": 1e3, "nbv": 1.0, "gp": OPEN}
"""1.55 V at 0.1 A, with the sensor's saturation the 1.8 V typical of the sheets."""
_SHEET = "datasheet, from memory"


@dataclass(frozen=True, kw_only=True)
class OptoTriac(BaseKind):
    """LED anode and cathode, two main terminals. It carries current both ways while its LED is
    lit; that a real one holds on until its current stops is left out."""

    def elements(self, part: Part) -> Sequence[Element]:
        a, k, one, two = (terminal(part, pin) for pin in ("a", "k", "mt1", "mt2"))
        found = []
        if self._led(part):
            found.append(led_element(a, k, 6.0))
        if self._output(part):
            ratio = 2.0 * _AMPS / self.number(part, "fire")
            light = {**LIGHT, "ctr": ratio, "light": 1.0, "dark": _DARK}
            found += [
                Element(name="up", law=Diode(), terminals=(one, "~on"), params=_JUNCTIONS),
                Element(name="down", law=Diode(), terminals=("~on", one), params=_JUNCTIONS),
                Element(name="sensor", law=PhotoTransistor(), terminals=(a, k, "~on", two),
                        params=light, spread=SAME),
                Element(name="sensor back", law=PhotoTransistor(), terminals=(a, k, two, "~on"),
                        params={**light, "dark": 0.0}, spread=SAME),
            ]  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        found: list[Mode] = []
        lit = ("sensor", "sensor back") if self._output(part) else ()
        unlit = tuple(change for each in lit for change in changed(each, light=0.0))
        if self._led(part):
            found += led_modes(unlit)
        if lit:
            weak = tuple(change for each in lit for change in scaled(each, light=0.1))
            found += [
                failing("weak", "weak (its LED has aged)", weak, row=(_OUTPUT, "open"), of=0.2,
                        test_out=0.7),
                failing("output open", "open in its output", unlit, row=(_OUTPUT, "open"), of=0.3,
                        test_out=0.9),
                failing("output short", "shorted in its output",
                        (*changed("sensor", dark=JUNCTION_SHORT),
                         *changed("up", gp=JUNCTION_SHORT)),
                        row=(_OUTPUT, "short"), of=0.5, test_out=1.0),
            ]  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Opto isolator")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            *self.limits(part, _SHEET, volts="off-state voltage"),
            Rating(name="LED current", value=0.06, unit="A", source=_SHEET),
            Rating(name="on-state current", value=_AMPS, unit="A", source=_SHEET),
        )  # fmt: skip

    def current(self, part: Part) -> Reading | None:
        return Reading(element="led") if self._led(part) else None

    def _led(self, part: Part) -> bool:
        return "a" in part.pins or "k" in part.pins

    def _output(self, part: Part) -> bool:
        return "mt1" in part.pins or "mt2" in part.pins


KIND = OptoTriac(
    types=types_of("optotriac", ("fire", "volts"), (
        ("MOC3009", "30m", "250"), ("MOC3010", "15m", "250"), ("MOC3011", "10m", "250"),
        ("MOC3020", "30m", "400"), ("MOC3021", "15m", "400"), ("MOC3022", "10m", "400"),
        ("MOC3023", "5m", "400"), ("MOC3030", "30m", "250"), ("MOC3031", "15m", "250"),
        ("MOC3040", "30m", "400"), ("MOC3041", "15m", "400"), ("MOC3042", "10m", "400"),
        ("MOC3043", "5m", "400"), ("MOC3061", "15m", "600"), ("MOC3063", "5m", "600"),
    )),
    word=KindWord(
        name="optotriac", title="Opto coupler with a triac output",
        pins=(
            PinWord(name="a", title="LED anode", other_names=("1", "A")),
            PinWord(name="k", title="LED cathode", other_names=("2", "K")),
            PinWord(name="mt1", title="main terminal", other_names=("6", "MT1")),
            PinWord(name="mt2", title="main terminal", other_names=("4", "MT2")),
        ),
        fields=(
            FieldWord(name="fire", unit="A", default="15m", help="LED current that fires it"),
            FieldWord(name="volts", unit="V", default="400", help="rated off-state voltage"),
        ),
        help="It conducts both ways while its LED is lit. Its output mostly carries the mains: "
        "unplug, discharge, and work by the local code.",
        example="OP4 optotriac MOC3020 a=DRV k=GND mt1=GATE mt2=LINE",
    ),
)  # fmt: skip
"""Pins, trigger currents (the most that fires it) and voltages: datasheets, from memory."""
