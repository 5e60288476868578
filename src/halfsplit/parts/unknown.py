"""A part of which only its pins are known."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import BaseKind
from halfsplit.parts.connector import FAR
from halfsplit.parts.kind import Change, Mode, Rate
from halfsplit.parts.offsheet import DRIVE, unknown_drive, unknown_elements
from halfsplit.solve.law import Element

__all__ = ["KIND", "Unknown"]

_ASSUMED = "assumed: nothing is known of this part"
_SHORT = 0.2


@dataclass(frozen=True, kw_only=True)
class Unknown(BaseKind):
    """Each pin a load to ground within wide limits; states may drive a pin."""

    def elements(self, part: Part) -> Sequence[Element]:
        found: list[Element] = []
        for pin in _near(part):
            found += unknown_elements(pin, pin)
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        pins = _near(part)
        return tuple(
            Mode(
                name=f"{pin} short to ground",
                words=f"shorted to ground at {pin}",
                share=0.5 / len(pins),
                changes=(Change(element=f"load {pin}", param="g", value=_SHORT),),
                source=_ASSUMED,
                pin=pin,
                test_out=0.5,
            )
            for pin in pins
        )

    def rate(self, part: Part) -> Rate:
        return Rate(per_million_hours=0.05, source=_ASSUMED)

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        return unknown_drive(f"{DRIVE} {pin}", level) if pin in _near(part) else ()


def _near(part: Part) -> tuple[str, ...]:
    return tuple(pin for pin in part.pins if not pin.endswith(FAR))


KIND = Unknown(
    word=KindWord(
        name="unknown",
        title="Unknown part",
        free_pins=True,
        help="Pins of something nobody identified: it loads its nets within wide limits, so "
        "predictions there stay wide. States may drive its pins.",
        example="X1 unknown 1=A 2=B",
    ),
)
