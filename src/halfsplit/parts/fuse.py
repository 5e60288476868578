"""Fuse."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, TWO_ENDS, BaseKind, changed, failing
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating, Reading
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KIND", "Fuse"]

_DROP = 0.1
"""Volts lost at the rated current, from memory."""


@dataclass(frozen=True, kw_only=True)
class Fuse(BaseKind):
    """Two ends. The handbook's other two modes (fails to open, slow to open) change no reading."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        return (
            Element(name="link", law=Conductance(), terminals=("1", "2"),
                    params={"g": self.value(part, 1.0) / _DROP},
                    spread={"g": Spread(relative=0.5, shape="log")}),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        return (
            failing("open", "blown", changed("link", g=OPEN), row=("Fuse", "premature open"),
                    test_out=1.0),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Fuse")

    def ratings(self, part: Part) -> Sequence[Rating]:
        if part.value is None:
            return ()
        return (
            Rating(name="current", value=part.value, unit="A", source="typed in the board file"),
        )

    def current(self, part: Part) -> Reading | None:
        return Reading(element="link") if len(part.pins) == 2 else None


KIND = Fuse(
    word=KindWord(
        name="fuse",
        title="Fuse",
        value_unit="A",
        pins=TWO_ENDS,
        help="A blown fuse is often the consequence, not the cause: look for the overload before "
        "a new one of the same rating goes in.",
        example="F1 fuse 1.5 +24IN +24",
    ),
)
