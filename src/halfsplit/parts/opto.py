"""Slotted opto sensor and opto coupler: an LED that lights a phototransistor."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, OPEN, BaseKind, changed, failing, scaled, terminal
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._led import LIGHT, SAME, led_element, led_modes
from halfsplit.parts.kind import Mode, Rate, Rating, Reading, Setting
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.analog import PhotoTransistor

__all__ = ["KINDS", "Opto", "coupler_pins"]

_SENSOR = "Optoelectronic sensor"
_BLOCKED = 1e-5
"""Share of the light that gets past the vane: next to none, so the dark current remains."""
_DARK = 2e-8
"""Conductance of a dark sensor, S: 0.1 uA at 5 V, the sheets' limit; most leak far less, warm or
in daylight ones more."""


@dataclass(frozen=True, kw_only=True)
class Opto(BaseKind):
    """LED anode and cathode, phototransistor collector and emitter.

    Half of the failures are taken as the LED's and half as the sensor's (assumed).
    """

    slotted: bool

    def elements(self, part: Part) -> Sequence[Element]:
        a, k, c, e = (terminal(part, pin) for pin in ("a", "k", "c", "e"))
        found = []
        if self._led(part):
            found.append(led_element(a, k, 20.0))
        if self._sensor(part):
            found.append(
                Element(
                    name="sensor", law=PhotoTransistor(), terminals=(a, k, c, e),
                    params={**LIGHT, "ctr": self.number(part, "ctr"), "light": 1.0,
                            "dark": _DARK},
                    spread={**SAME, "ctr": Spread(relative=0.4, shape="log"),
                            "dark": Spread(relative=1.5, shape="log")},
                )
            )  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        led, sensor = self._led(part), self._sensor(part)
        found: list[Mode] = []
        dark = changed("sensor", light=0.0) if sensor else ()
        if led:
            found += led_modes(dark)
        if sensor:
            weak = scaled("sensor", ctr=0.1)
            if self.slotted:
                found += [
                    failing("dirty", "dirty (a tenth of its light arrives)",
                            scaled("sensor", light=0.1),
                            row=(_SENSOR, "open"), of=0.2, test_out=0.8),
                    failing("misaligned", "misaligned (hardly any light arrives)",
                            scaled("sensor", light=0.01),
                            row=(_SENSOR, "open"), of=0.05, test_out=0.5),
                ]  # fmt: skip
            else:
                found.append(
                    failing("weak", "weak (its LED has aged)", weak, row=(_SENSOR, "open"),
                            of=0.25, test_out=0.8)
                )  # fmt: skip
            found += [
                failing("sensor open", "open in its sensor", changed("sensor", ctr=0.0, dark=OPEN),
                        row=(_SENSOR, "open"), of=0.25, test_out=0.95),
                failing("sensor short", "shorted in its sensor",
                        changed("sensor", dark=JUNCTION_SHORT), row=(_SENSOR, "short"), of=0.35,
                        test_out=1.0),
                failing("sensor leaky", "leaking in its sensor", changed("sensor", dark=1e-4),
                        row=(_SENSOR, "short"), of=0.15, test_out=0.8),
            ]  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Photodetector" if self.slotted else "Opto isolator")

    def ratings(self, part: Part) -> Sequence[Rating]:
        source = "datasheet typical, from memory"
        return (
            Rating(name="LED current", value=0.05, unit="A", source=source),
            Rating(name="collector-emitter voltage", value=30.0, unit="V", source=source),
        )

    def settings(self, part: Part) -> Sequence[Setting]:
        if not self.slotted or not self._sensor(part):
            return ()
        return (
            Setting(word="clear", changes=changed("sensor", light=1.0)),
            Setting(word="blocked", changes=changed("sensor", light=_BLOCKED)),
        )

    def current(self, part: Part) -> Reading | None:
        return Reading(element="led") if self._led(part) else None

    def _led(self, part: Part) -> bool:
        return "a" in part.pins or "k" in part.pins

    def _sensor(self, part: Part) -> bool:
        return "c" in part.pins or "e" in part.pins


def coupler_pins(*numbers: str) -> tuple[PinWord, ...]:
    """LED anode, cathode, collector, emitter, with the pin numbers of a package."""
    titles = ("LED anode", "LED cathode", "collector", "emitter")
    return tuple(
        PinWord(name=name, title=title, other_names=(name.upper(), *((number,) if number else ())))
        for name, title, number in zip("akce", titles, numbers, strict=True)
    )


_COUPLERS = (
    ("4N25", "0.5"), ("4N26", "0.5"), ("4N27", "0.3"), ("4N28", "0.3"), ("4N29", "2"),
    ("4N32", "8"), ("4N33", "8"), ("4N35", "1.2"), ("4N36", "1.2"), ("4N37", "1.2"),
    ("4N38", "0.3"), ("TIL111", "0.3"), ("TIL113", "5"), ("TIL117", "0.9"), ("CNY17", "0.8"),
    ("PC817", "1.2"), ("TIL112", "0.1"), ("TIL116", "0.5"), ("MCT2", "0.6"), ("MCT2E", "0.6"),
    ("H11A1", "0.8"), ("IL1", "0.8"), ("IL74", "0.5"), ("H11B1", "7"), ("TIL119", "6"),
)  # fmt: skip
"""Type and typical transfer ratio: datasheets, from memory. The base (pin 6) is left out."""
_SLOTTED = (
    ("H21A1", "0.05"),
    ("H21A2", "0.1"),
    ("H21A3", "0.2"),
    ("H22A1", "0.05"),
    ("H22A2", "0.1"),
    ("H22A3", "0.2"),
    ("H21B1", "0.75"),
    ("TIL143", "0.05"),
    ("MOC70", "0.05"),
)
"""Type and transfer ratio, the least at 20 mA (H21A1: 1 mA): datasheets, from memory."""

KINDS = (
    Opto(
        slotted=True,
        types=tuple(
            TypeWord(name=name, kind="slotted-sensor", fields={"ctr": ctr})
            for name, ctr in _SLOTTED
        ),
        word=KindWord(
            name="slotted-sensor",
            title="Slotted opto sensor",
            pins=coupler_pins("", "", "", ""),
            fields=(
                FieldWord(name="ctr", unit="1", default="0.05", help="collector current over LED "
                          "current with a clear path"),
            ),
            settings=("clear", "blocked"),
            help="LED and phototransistor across a slot; a state sets it to clear or blocked.",
            example="OP1 slotted-sensor a=LEDA k=GND c=TRK0 e=GND",
        ),
    ),
    Opto(
        slotted=False,
        types=tuple(
            TypeWord(name=name, kind="optocoupler", fields={"ctr": ctr})
            for name, ctr in _COUPLERS
        ),
        word=KindWord(
            name="optocoupler",
            title="Opto coupler",
            pins=coupler_pins("1", "2", "5", "4"),
            fields=(
                FieldWord(name="ctr", unit="1", default="0.5", help="current transfer ratio"),
            ),
            help="LED anode and cathode, phototransistor collector and emitter.",
            example="OP2 optocoupler 4N25 a=A k=K c=C e=E",
        ),
    ),
)  # fmt: skip
