"""Capacitors. At DC each is its leak; what only a changing voltage shows is listed all the same."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, TWO_ENDS, BaseKind, changed, failing, scaled
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate, Rating, Reading, Store
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "Capacitor"]

_SHORT = 2.0
"""Through a failed dielectric, S."""
_LEAKY = 1e-3
"""A leak that upsets a circuit, S."""
_STORE = "f"
_GONE, _LOW = 1e-6, 0.3
"""Share of the farads left in an open one and in one low in value, assumed."""
_DRIED = 20.0
"""Series resistance of a dried-out one against a sound one, assumed: makers give up on one at two
to three times, long before it is dry."""
_MAINS_RIPPLE = 120.0
"""Hertz at which makers state the loss of electrolytics (IEC 60384-4 has 100 or 120 Hz)."""


@dataclass(frozen=True, kw_only=True)
class Capacitor(BaseKind):
    """``leak`` is S per farad of a sound one; ``least`` S for the smallest; ``loss`` the loss
    factor at 120 Hz that its series resistance comes from, or 0 for ``esr`` ohm whatever size."""

    row: str
    rate_name: str
    change: str
    """The row's name for a change of capacitance."""
    leak: float
    least: float
    ageing: str = ""
    loss: float = 0.0
    esr: float = 0.02

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        return (
            Element(
                name="c",
                law=Conductance(),
                terminals=("1", "2"),
                params={"g": max(self.least, self.leak * self.value(part, 1e-7))},
                spread={"g": Spread(relative=0.7, shape="log")},
            ),
        )

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        gone: tuple[Change, ...] = changed("c", g=OPEN)
        found = [
            failing("short", "shorted", changed("c", g=_SHORT), row=(self.row, "short"), of=0.7,
                    test_out=1.0, ageing=self.ageing),
            failing("leaky", "leaking", changed("c", g=_LEAKY), row=(self.row, "short"), of=0.3,
                    test_out=0.8, ageing=self.ageing),
            failing("open", "open", gone, row=(self.row, "open"), of=0.5 if self.dries else 1.0,
                    ageing=self.ageing, stored=scaled(_STORE, value=_GONE)),
            failing("low value", "low in capacitance", gone, row=(self.row, self.change),
                    test_out=0.9, ageing=self.ageing, stored=scaled(_STORE, value=_LOW)),
        ]  # fmt: skip
        if self.dries:
            found += [
                failing("dried out", "dried out (high series resistance)", gone,
                        row=(self.row, "open"), of=0.5, test_out=0.9, ageing=self.ageing,
                        stored=(*scaled(_STORE, value=_LOW), *scaled(_STORE, ohms=_DRIED))),
                failing("electrolyte leak", "leaking electrolyte", changed("c", g=1e-5),
                        row=(self.row, "electrolyte leak"), test_out=0.6, ageing=self.ageing),
            ]  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        return part_count_rate(self.rate_name)

    def ratings(self, part: Part) -> Sequence[Rating]:
        if not self.text(part, "volts"):
            return ()
        volts = self.number(part, "volts")
        return (Rating(name="voltage", value=volts, unit="V", source="typed in the board file"),)

    def stores(self, part: Part) -> Sequence[Store]:
        if len(part.pins) < 2:
            return ()
        return (
            Store(name=_STORE, what="capacitor", terminals=("1", "2"), beside="c",
                  value=self.value(part, 1e-7), ohms=self.series_ohms(part),
                  known=self.value_known(part)),
        )  # fmt: skip

    def series_ohms(self, part: Part) -> float:
        """Equivalent series resistance of a sound one, ohm."""
        if self.text(part, "esr"):
            return self.number(part, "esr")
        if not self.loss:
            return self.esr
        return self.loss / (2.0 * math.pi * _MAINS_RIPPLE * self.value(part, 1e-7))

    def current(self, part: Part) -> Reading | None:
        return Reading(element="c") if len(part.pins) == 2 else None

    @property
    def dries(self) -> bool:
        """Whether it holds a wet electrolyte."""
        return self.ageing == "electrolytic"


_POLES = (
    PinWord(name="1", title="positive end", other_names=("+", "pos")),
    PinWord(name="2", title="negative end", other_names=("-", "neg")),
)
_FIELDS = (
    FieldWord(name="volts", unit="V", help="rated voltage"),
    FieldWord(name="esr", unit="Ω", help="series resistance of a sound one"),
)

KINDS = (
    Capacitor(
        row="Capacitor ceramic",
        rate_name="Capacitor ceramic",
        change="change in value",
        leak=1e-3,
        least=1e-11,
        word=KindWord(
            name="capacitor", title="Capacitor, ceramic", value_unit="F", pins=TWO_ENDS,
            fields=_FIELDS, help="Two ends, either way round.",
            example="C3 capacitor 100n +5 GND",
        ),
    ),
    Capacitor(
        row="Capacitor plastic film",
        rate_name="Capacitor plastic film",
        change="change in value",
        leak=1e-4,
        least=1e-12,
        word=KindWord(
            name="film-capacitor", title="Capacitor, plastic film", value_unit="F", pins=TWO_ENDS,
            fields=_FIELDS, help="Two ends, either way round.",
            example="C4 film-capacitor 10n A B",
        ),
    ),
    Capacitor(
        row="Capacitor aluminium electrolytic",
        rate_name="Capacitor aluminium dry electrolytic",
        change="decrease in capacitance",
        leak=1e-3,
        least=1e-9,
        ageing="electrolytic",
        loss=0.15,
        word=KindWord(
            name="electrolytic", title="Capacitor, aluminium electrolytic", value_unit="F",
            pins=_POLES, fields=_FIELDS,
            help="Positive end first. A swollen, wet or re-fitted one may hold a charge: "
            "let it discharge through a resistor before touching it.",
            example="C1 electrolytic 100u volts=25V +12 GND",
        ),
    ),
    Capacitor(
        row="Capacitor tantalum electrolytic",
        rate_name="Capacitor tantalum solid",
        change="change in value",
        leak=1e-3,
        least=1e-9,
        ageing="tantalum",
        loss=0.03,
        word=KindWord(
            name="tantalum", title="Capacitor, solid tantalum", value_unit="F", pins=_POLES,
            fields=_FIELDS,
            help="Positive end first. A failing one can flame: wear glasses, limit the current.",
            example="C2 tantalum 10u volts=16V +5 GND",
        ),
    ),
)  # fmt: skip
