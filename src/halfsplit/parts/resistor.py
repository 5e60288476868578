"""Resistor: film, carbon composition or wire-wound."""

from __future__ import annotations

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
    refuse,
    scaled,
    tolerance_of,
)
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating, Reading
from halfsplit.solve.law import Element
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KIND", "Resistor"]

_ROWS = {
    "film": ("Resistor film", "Resistor film"),
    "carbon": ("Resistor composition", "Resistor composition"),
    "wirewound": ("Resistor wirewound", "Resistor wirewound"),
}
"""Make -> (row of the table of modes, row of the table of rates)."""


@dataclass(frozen=True, kw_only=True)
class Resistor(BaseKind):
    """Two pins and a value in ohm."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        ohms = self.value(part, 10e3)
        spread = tolerance_of(part, 0.05, self.value_known(part))
        return (
            Element(
                name="r",
                law=Conductance(),
                terminals=("1", "2"),
                params={"g": 1.0 / ohms},
                spread={"g": spread},
            ),
        )

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        row, _ = self._make(part)
        short = max(SHORT, 10.0 / self.value(part, 10e3))
        return (
            failing("open", "open", changed("r", g=OPEN), row=(row, "open"), test_out=1.0),
            failing("drifted high", "drifted to twice its value",
                    scaled("r", g=0.5),
                    row=(row, "parameter change"), of=0.75),
            failing("drifted low", "drifted to half its value",
                    scaled("r", g=2.0),
                    row=(row, "parameter change"), of=0.25),
            failing("short", "shorted", changed("r", g=short), row=(row, "short"), test_out=1.0),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate(self._make(part)[1])

    def ratings(self, part: Part) -> Sequence[Rating]:
        typed = "watts" in part.fields
        source = "typed in the board file" if typed else "common practice, no source"
        return (
            Rating(name="dissipation", value=self.number(part, "watts"), unit="W", source=source),
        )

    def current(self, part: Part) -> Reading | None:
        return Reading(element="r") if len(part.pins) == 2 else None

    def _make(self, part: Part) -> tuple[str, str]:
        make = self.text(part, "make")
        if make not in _ROWS:
            raise refuse(part, f"make must be one of {', '.join(_ROWS)}, got {make!r}")
        return _ROWS[make]


KIND = Resistor(
    word=KindWord(
        name="resistor",
        title="Resistor",
        value_unit="Ω",
        pins=TWO_ENDS,
        fields=(
            FieldWord(name="make", default="film", help="film, carbon or wirewound"),
            FieldWord(name="watts", unit="W", default="0.25", help="rated dissipation"),
        ),
        help="Two ends, either way round. A value of ? means that nobody knows it.",
        example="R7 resistor 4k7 5% +5 OUT",
    ),
)
