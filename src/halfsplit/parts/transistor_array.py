"""Transistor arrays: five matched transistors on one die."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord
from halfsplit.parts._base import JUNCTION_SHORT, OPEN, BaseKind, changed, failing, terminal
from halfsplit.parts._bipolar import base_open, collector_open, emitter_open
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Bipolar, Diode

__all__ = ["KINDS", "TransistorArray"]

_ROW = "Transistor bipolar"
_SHEET = "datasheet, from memory"
_IS, _BR = 1.1e-15, 1.0
"""VBE 0.715 V at 1 mA typical (3046 data sheet, from memory)."""


@dataclass(frozen=True, kw_only=True)
class TransistorArray(BaseKind):
    """``units``: (letter, collector, base, emitter). The substrate is on pin ``substrate``."""

    units: tuple[tuple[str, str, str, str], ...]
    substrate: str
    amps: float
    volts: float
    gain: float

    def elements(self, part: Part) -> Sequence[Element]:
        found: list[Element] = []
        alike = {
            "is_": Spread(relative=0.2, shape="log", together="die"),
            "bf": Spread(relative=0.3, shape="log", together="die"),
        }
        for letter, *pins in self._used(part):
            c, b, e = (terminal(part, pin) for pin in pins)
            found += [
                Element(name=f"q{letter}", law=Bipolar(), terminals=(c, b, e),
                        params={"is_": _IS, "bf": self.gain, "br": _BR, "n": 1.0,
                                "bvce": 1.3 * self.volts, "gbe": OPEN, "gbc": OPEN, "gce": 1e-9},
                        spread=alike),
                Element(name=f"sub{letter}", law=Diode(),
                        terminals=(terminal(part, self.substrate), c),
                        params={"is_": 1e-15, "n": 1.0, "bv": 60.0, "nbv": 1.0, "gp": OPEN}),
            ]  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        used = self._used(part)
        found: list[Mode] = []
        for letter, c, b, e in used:
            name, of = f"q{letter}", 1.0 / len(used)
            ways = (
                ("c short to e", "short", 0.45, {"gce": JUNCTION_SHORT}),
                ("b short to c", "short", 0.2, {"gbc": JUNCTION_SHORT}),
                ("b short to e", "short", 0.2, {"gbe": JUNCTION_SHORT}),
                ("c leaky to e", "short", 0.15, {"gce": 1e-3}),
                ("b open", "open", 0.35, base_open()),
                ("c open", "open", 0.25, collector_open(_IS, self.gain, _BR)),
                ("e open", "open", 0.25, emitter_open(_IS, self.gain, _BR)),
            )
            for what, mode, share, to in ways:
                more = changed(f"sub{letter}", **dead_diode()) if what == "c open" else ()
                found.append(
                    failing(f"{c} {what}", f"{what} in the transistor of pins {c}, {b}, {e}",
                            (*changed(name, **to), *more), row=(_ROW, mode), of=share * of)
                )  # fmt: skip
            found.append(
                failing(f"{c} low gain", f"down to a tenth of its gain at pins {c}, {b}, {e}",
                        (Change(element=name, param="bf", value=0.1, scale=True),),
                        row=(_ROW, "open"), of=0.15 * of, test_out=0.5)
            )  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="collector-emitter voltage", value=self.volts, unit="V", source=_SHEET),
            Rating(name="collector current", value=self.amps, unit="A", source=_SHEET),
        )

    def _used(self, part: Part) -> tuple[tuple[str, str, str, str], ...]:
        return tuple(unit for unit in self.units if sum(pin in part.pins for pin in unit[1:]) >= 2)


_PAIR = (("a", "1", "2", "3"), ("b", "5", "4", "3"), ("c", "8", "6", "7"), ("d", "11", "9", "10"),
         ("e", "14", "12", "13"))  # fmt: skip
"""Collector, base, emitter of the 3046 and its sisters: datasheet, from memory."""


def _pins(units: Sequence[tuple[str, str, str, str]], substrate: str) -> tuple[PinWord, ...]:
    titles: dict[str, list[str]] = {}
    for number, (_, *pins) in enumerate(units, start=1):
        for pin, what in zip(pins, ("C", "B", "E"), strict=True):
            titles.setdefault(pin, []).append(f"{what}{number}")
    titles.setdefault(substrate, []).append("SUB")
    return tuple(
        PinWord(name=str(n), title=" ".join(titles[str(n)]), other_names=tuple(titles[str(n)]))
        for n in range(1, len(titles) + 1)
    )


KINDS = tuple(
    TransistorArray(
        units=_PAIR, substrate="13", amps=0.05, volts=15.0, gain=100.0,
        word=KindWord(
            name=name, title="Transistor array, five NPN, two of them a pair",
            pins=_pins(_PAIR, "13"),
            help="Pin 13, the substrate, must be the most negative; unused transistors may be "
            "left out.",
            example=f"U4 {name} 1=A 2=B 3=GND",
        ),
    )
    for name in ("CA3045", "CA3046", "CA3086", "LM3046", "LM3086")
)  # fmt: skip
