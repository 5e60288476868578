"""Three-terminal regulators."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import BaseKind, changed, failing, scaled, terminal, tolerance_of
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.analog import Regulator
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "SeriesRegulator"]

_ROW = "Microcircuit linear"
_SHEET = "datasheet, from memory"
_LIMIT = 2.0
"""Current limit over rated current (78xx: 2.2 A peak of 1 A), from memory."""
_SHORT = 2.0
_SMALL = 0.73
"""Share of the drop-out voltage that a small current needs: two junctions and a saturated current
source; the rest grows with the current (78xx: 2.0 V at 1 A, 1.5 V at 20 mA, curve of the data sheet
from memory; ``tests/parts/test_dropout.py`` has it transistor by transistor)."""


@dataclass(frozen=True, kw_only=True)
class SeriesRegulator(BaseKind):
    """Input, ground, output; the value is the output voltage (positive for negative ones too)."""

    sign: float

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        amps, drop = self.number(part, "amps"), self.number(part, "drop")
        spread = tolerance_of(part, 0.04, self.value_known(part))
        into, *others = (terminal(part, pin) for pin in ("in", "out", "gnd"))
        return (
            Element(name="pass", law=Conductance(), terminals=(into, "~pass"),
                    params={"g": amps / ((1.0 - _SMALL) * drop)}),
            Element(
                name="reg",
                law=Regulator(sign=self.sign),
                terminals=("~pass", *others),
                params={
                    "vset": self.value(part, 5.0), "drop": _SMALL * drop,
                    "r": 0.02 / amps, "ilim": _LIMIT * amps, "iq": self.number(part, "iq"),
                    "k": 1.0, "gio": 0.0, "gog": 1e-6,
                },
                spread={
                    "vset": spread,
                    "drop": Spread(relative=0.15),
                    "ilim": Spread(relative=0.25, shape="log"),
                },
            ),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        wrong = (_ROW, "improper output")
        return (
            failing("dead", "dead (no output)", changed("reg", k=0.0, iq=1e-6),
                    row=(_ROW, "no output"), test_out=1.0),
            failing("in short to out", "shorted from input to output",
                    (*changed("reg", gio=_SHORT), *changed("pass", g=10.0 * _SHORT)), row=wrong,
                    of=0.3, test_out=1.0),
            failing("low", "a quarter low in its output", scaled("reg", vset=0.75), row=wrong,
                    of=0.2),
            failing("high", "a quarter high in its output", scaled("reg", vset=1.25), row=wrong,
                    of=0.15),
            failing("weak", "limiting at a tenth of its current", scaled("reg", ilim=0.1),
                    row=wrong, of=0.2, test_out=0.5),
            failing("out short to gnd", "shorted from output to ground",
                    changed("reg", gog=_SHORT), row=wrong, of=0.15, test_out=1.0),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="output current", value=self.number(part, "amps"), unit="A",
                   source=_SHEET),
            Rating(name="input voltage", value=35.0, unit="V", source=_SHEET),
        )  # fmt: skip


def _pins(numbers: dict[str, str]) -> tuple[PinWord, ...]:
    titles = {"in": "input", "gnd": "ground or adjust", "out": "output"}
    return tuple(
        PinWord(name=name, role="ground" if name == "gnd" else "passive", title=title,
                other_names=(numbers[name], name.upper()))
        for name, title in titles.items()
    )  # fmt: skip


def _fields(iq: str) -> tuple[FieldWord, ...]:
    return (
        FieldWord(name="amps", unit="A", default="1", help="rated output current"),
        FieldWord(
            name="drop",
            unit="V",
            default="2",
            help="least voltage from input to output at its rated current",
        ),
        FieldWord(name="iq", unit="A", default=iq, help="its own current"),
    )


def _series(prefix: str, kind: str, volts: Sequence[int], amps: str) -> list[TypeWord]:
    return [
        TypeWord(name=f"{prefix}{v:02d}", kind=kind, value=float(v), fields={"amps": amps})
        for v in volts
    ]


_POSITIVE = (5, 6, 8, 9, 10, 12, 15, 18, 24)
_NEGATIVE = (5, 6, 8, 9, 12, 15, 18, 24)
_LM340 = (5, 12, 15)

KINDS = (
    SeriesRegulator(
        sign=1.0,
        types=(
            *_series("78", "regulator", _POSITIVE, "1"),
            *_series("78M", "regulator", _POSITIVE, "0.5"),
            *_series("78L", "regulator", (5, 6, 8, 9, 12, 15, 18, 24), "0.1"),
            *(TypeWord(name=f"LM340-{v}", kind="regulator", value=float(v), fields={"amps": "1"})
              for v in _LM340),
            *(TypeWord(name=name, kind="regulator", value=5.0, fields={"amps": "1"})
              for name in ("LM309K", "LM309")),
            *(TypeWord(name=f"LM2940-{v}", kind="regulator", value=float(v),
                       fields={"amps": "1", "drop": "0.5"}) for v in (5, 12)),
            *_series("78S", "regulator", (5, 9, 12, 15, 24), "2"),
            TypeWord(name="LM323", kind="regulator", value=5.0, fields={"amps": "3"}),
            TypeWord(name="LM2931", kind="regulator", value=5.0,
                     fields={"amps": "0.1", "drop": "0.3"}),
            *(TypeWord(name=name, kind="regulator", value=1.25,
                       fields={"amps": amps, "iq": "50u"})
              for name, amps in (("LM317", "1"), ("LM317L", "0.1"), ("LM317M", "0.5"),
                                 ("LM350", "3"), ("LM338", "5"))),
        ),
        word=KindWord(
            name="regulator", title="Regulator, positive", value_unit="V",
            pins=_pins({"in": "1", "gnd": "2", "out": "3"}), fields=_fields("5m"),
            help="Input, ground, output. For an adjustable one ground is the adjust pin and the "
            "value its reference.",
            example="U9 regulator 7805 in=+12 gnd=GND out=+5",
        ),
    ),
    SeriesRegulator(
        sign=-1.0,
        types=(
            *_series("79", "negative-regulator", _NEGATIVE, "1"),
            *_series("79M", "negative-regulator", (5, 12, 15), "0.5"),
            *_series("79L", "negative-regulator", (5, 12, 15), "0.1"),
            TypeWord(name="LM337", kind="negative-regulator", value=1.25,
                     fields={"amps": "1", "iq": "65u"}),
        ),
        word=KindWord(
            name="negative-regulator", title="Regulator, negative", value_unit="V",
            pins=_pins({"in": "2", "gnd": "1", "out": "3"}), fields=_fields("2m"),
            help="Input, ground, output; the value without its sign.",
            example="U10 negative-regulator 7905 in=-12 gnd=GND out=-5",
        ),
    ),
)  # fmt: skip
