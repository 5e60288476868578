"""Potentiometer or trimmer."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, SHORT, BaseKind, changed, failing, refuse
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KIND", "Potentiometer"]

_ROW = "Resistor variable"
_LEAST = 0.005
"""Part of the track that is left at an end stop."""


@dataclass(frozen=True, kw_only=True)
class Potentiometer(BaseKind):
    """Two halves of a track and the wiper's contact."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        ohms, at = self.value(part, 10e3), self.number(part, "at")
        if at > 1.0:
            raise refuse(part, f"at must be from 0 to 1, got {at:g}")
        at = min(max(at, _LEAST), 1.0 - _LEAST)
        loose = not self.value_known(part) or "at" not in part.fields
        spread = {"g": Spread(relative=0.5 if loose else 0.1)}
        found = []
        for name, pin, share in (("upper", "1", at), ("lower", "3", 1.0 - at)):
            if pin in part.pins:
                found.append(
                    Element(
                        name=name,
                        law=Conductance(),
                        terminals=(pin, "~w"),
                        params={"g": 1.0 / (ohms * share)},
                        spread=spread,
                    )
                )
        if "w" in part.pins:
            found.append(
                Element(name="wiper", law=Conductance(), terminals=("~w", "w"), params={"g": 1.0})
            )
        return found  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        present = {element.name for element in self.elements(part)}
        bad = 1.0 / (self.value(part, 10e3) + 1e4)
        wanted = (
            ("upper", "track open at 1", "open between its track and end 1", OPEN, "open", 0.2),
            ("lower", "track open at 3", "open between its track and end 3", OPEN, "open", 0.2),
            ("wiper", "wiper open", "open at its wiper", OPEN, "open", 0.6),
            ("wiper", "wiper dirty", "making a poor contact at its wiper", bad,
             "erratic output", 1.0),
            ("upper", "short at 1", "shorted from wiper to end 1", SHORT, "short", 0.5),
            ("lower", "short at 3", "shorted from wiper to end 3", SHORT, "short", 0.5),
        )  # fmt: skip
        return tuple(
            failing(name, words, changed(element, g=g), row=(_ROW, row), of=of,
                    test_out=0.7 if g == bad else 0.95)
            for element, name, words, g, row, of in wanted
            if element in present
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Resistor variable")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="dissipation", value=0.5, unit="W", source="common practice, no source"),
        )


KIND = Potentiometer(
    word=KindWord(
        name="potentiometer",
        title="Potentiometer or trimmer",
        value_unit="Ω",
        pins=(
            PinWord(name="1", title="end 1", other_names=("cw",)),
            PinWord(name="w", title="wiper", other_names=("2",)),
            PinWord(name="3", title="end 3", other_names=("ccw",)),
        ),
        fields=(
            FieldWord(name="at", unit="1", default="0.5",
                      help="wiper position, fraction of the track between end 1 and the wiper; "
                      "taken as anywhere near the middle when left out"),
        ),
        help="A track between 1 and 3 with a wiper w. Leave out an end that is not used.",
        example="RV1 potentiometer 10k 1=+5 w=REF 3=GND",
    ),
)  # fmt: skip
