"""Ferrite bead: a piece of wire for direct current."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, TWO_ENDS, BaseKind, changed, failing
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Reading
from halfsplit.solve.law import Element
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KIND", "Ferrite"]

_OHMS = 0.05


@dataclass(frozen=True, kw_only=True)
class Ferrite(BaseKind):
    """Two ends."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        return (Element(name="wire", law=Conductance(), terminals=("1", "2"),
                        params={"g": 1.0 / _OHMS}),)  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        return (failing("open", "open (cracked)", changed("wire", g=OPEN), row=("Coil", "open"),
                        test_out=1.0),)  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Coil fixed")

    def current(self, part: Part) -> Reading | None:
        return Reading(element="wire") if len(part.pins) == 2 else None


KIND = Ferrite(
    word=KindWord(
        name="ferrite", title="Ferrite bead",
        pins=TWO_ENDS,
        help="Two ends, either way round; a wire but for fast edges.",
        example="L7 ferrite +5 +5A",
    ),
)  # fmt: skip
