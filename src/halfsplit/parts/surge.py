"""Parts that conduct both ways above a voltage: varistors, two-way suppressors, diacs."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    JUNCTION_SHORT,
    OPEN,
    TWO_ENDS,
    BaseKind,
    changed,
    failing,
    tolerance_of,
)
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate, Rating, Reading
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode

__all__ = ["KINDS", "Surge"]

_ROW = "Diode zener regulator"
_ENDS = ("there", "back")
_DROP = 0.65
"""Of the junction that conducts forward at the milliampere where the value is stated, V."""


@dataclass(frozen=True, kw_only=True)
class Surge(BaseKind):
    """Two ends, either way round: two junctions back to back, each of which breaks down."""

    unknown: float
    tolerance: float
    soft: float
    share_short: float

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        volts = self.value(part, self.unknown)
        spread = tolerance_of(part, self.tolerance, self.value_known(part))
        return tuple(
            Element(
                name=name, law=Diode(), terminals=(end, "~middle"),
                params={"is_": 1e-14, "n": 1.0, "bv": max(volts - _DROP, 1.0),
                        "nbv": self.soft * volts, "gp": OPEN},
                spread={"bv": Spread(relative=spread.relative, shape=spread.shape,
                                     together="value")},
            )
            for name, end in zip(_ENDS, ("1", "2"), strict=True)
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        low = tuple(Change(element=name, param="bv", value=0.7, scale=True) for name in _ENDS)
        return (
            failing("open", "open (burnt off)", _both(is_=0.0, bv=1e6), row=(_ROW, "open"),
                    of=1.0 - self.share_short, test_out=1.0),
            failing("short", "shorted", _both(gp=JUNCTION_SHORT), row=(_ROW, "open"),
                    of=self.share_short, test_out=1.0),
            failing("low", "a third low in its voltage", low, row=(_ROW, "parameter change"),
                    of=0.4, test_out=0.7),
            failing("leaky", "leaking below its voltage", _both(gp=1e-4),
                    row=(_ROW, "parameter change"), of=0.6, test_out=0.9),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Diode zener")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (Rating(name="voltage at 1 mA", value=self.value(part, self.unknown), unit="V",
                       source="typed in the board file"),)  # fmt: skip

    def current(self, part: Part) -> Reading | None:
        return Reading(element="there") if len(part.pins) == 2 else None


def _both(**to: float) -> tuple[Change, ...]:
    return tuple(change for name in _ENDS for change in changed(name, **to))


_MAINS = "Many sit across the mains: unplug, discharge, and work by the local code."

KINDS = (
    Surge(
        unknown=430.0, tolerance=0.1, soft=1.0, share_short=0.7,
        word=KindWord(
            name="varistor", title="Varistor (MOV)", value_unit="V", pins=TWO_ENDS,
            help=f"The value is its voltage at 1 mA. A burst or charred one has done its duty: "
            f"look for what struck it. {_MAINS}",
            example="RV1 varistor 430V LIVE NEUTRAL",
        ),
    ),
    Surge(
        unknown=15.0, tolerance=0.05, soft=0.2, share_short=0.8,
        word=KindWord(
            name="two-way-suppressor", title="Suppressor diode, two-way", value_unit="V",
            pins=TWO_ENDS, help="The value is its breakdown voltage at 1 mA; for a one-way one use "
            "zener.",
            example="D9 two-way-suppressor 15V LINE GND",
        ),
    ),
    Surge(
        unknown=32.0, tolerance=0.125, soft=0.2, share_short=0.5,
        types=tuple(TypeWord(name=each, kind="diac", value=32.0) for each in
                    ("DB3", "BR100", "ST2")),
        word=KindWord(
            name="diac", title="Diac", value_unit="V", pins=TWO_ENDS,
            fields=(FieldWord(name="amps", unit="A", default="2", help="rated peak current"),),
            help="The value is its breakover voltage. It is predicted as blocking below that; that "
            f"it falls back once it fires is not. {_MAINS}",
            example="D8 diac DB3 CAP GATE",
        ),
    ),
)  # fmt: skip
"""Tolerances and breakover of 32 V by the trade's data sheets, from memory. MIL-HDBK-338B has no
row of them: that of zener diodes is used, its open share split between open and short (assumed)."""
