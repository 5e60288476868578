"""Thermistors: resistors whose value depends on their temperature."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    OPEN,
    SHORT,
    TWO_ENDS,
    BaseKind,
    changed,
    failing,
    scaled,
    tolerance_of,
)
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Reading
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "Thermistor"]

_ROW = "Resistor composition"
_ROOM = 298.15
_ABOUT = 10.0
"""Kelvin by which the board's temperature is not known (assumed)."""


@dataclass(frozen=True, kw_only=True)
class Thermistor(BaseKind):
    """Two ends; the value is its resistance at 25 degC, ``falls`` when it goes down with heat."""

    falls: bool

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        typed = tolerance_of(part, 0.2, self.value_known(part))
        unsure = typed.relative + self._slope(part) * _ABOUT
        return (
            Element(name="r", law=Conductance(), terminals=("1", "2"),
                    params={"g": 1.0 / self.ohms(part)},
                    spread={"g": Spread(relative=unsure, shape="log")}),
        )  # fmt: skip

    def ohms(self, part: Part) -> float:
        """At the temperature typed: R exp(B (1/T - 1/T25)), or the opposite sign for one that
        rises."""
        inverse = 1.0 / (273.15 + self.number(part, "celsius")) - 1.0 / _ROOM
        exponent = self.number(part, "beta") * inverse * (1.0 if self.falls else -1.0)
        return self.value(part, 10e3) * math.exp(exponent)

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        short = max(SHORT, 10.0 / self.ohms(part))
        halved = scaled("r", g=0.5)
        return (
            failing("open", "open (cracked)", changed("r", g=OPEN), row=(_ROW, "open"),
                    test_out=1.0),
            failing("drifted", "drifted to twice its value", halved,
                    row=(_ROW, "parameter change")),
            failing("short", "shorted", changed("r", g=short), row=(_ROW, "short"), test_out=1.0),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Resistor composition")

    def current(self, part: Part) -> Reading | None:
        return Reading(element="r") if len(part.pins) == 2 else None

    def _slope(self, part: Part) -> float:
        """Relative change a kelvin: beta over the square of the temperature."""
        return self.number(part, "beta") / (273.15 + self.number(part, "celsius")) ** 2


def _kind(name: str, title: str, falls: bool, beta: str, example: str) -> Thermistor:
    return Thermistor(
        falls=falls,
        word=KindWord(
            name=name, title=title, value_unit="Ω",
            pins=TWO_ENDS,
            fields=(
                FieldWord(name="beta", unit="1", default=beta, help="its B value, kelvin"),
                FieldWord(name="celsius", unit="1", default="25", help="temperature in the state"),
            ),
            help="The value is its resistance at 25 degrees. An inrush limiter is hot while it "
            "works: let it cool before you touch or measure it.",
            example=example,
        ),
    )  # fmt: skip


KINDS = (
    _kind("ntc", "Thermistor, falling (NTC)", True, "3950", "RT1 ntc 10k REF SENSE"),
    _kind("ptc", "Thermistor, rising (PTC)", False, "3000", "RT2 ptc 18 COIL DEGAUSS"),
)
"""B values typical of the trade's data sheets, from memory; a PTC's curve is far from its
exponential away from the switching temperature."""
