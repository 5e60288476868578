"""Zener diode."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, BaseKind, changed, failing, scaled, tolerance_of
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import DIODE_PINS, dead_diode
from halfsplit.parts.kind import Mode, Rate, Rating, Reading
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.smooth import VT

__all__ = ["KIND", "Zener"]

_ROW = "Diode zener regulator"
_KNEE = 1e-3
"""The law states its breakdown voltage at this current, A."""
_QUIET = math.log(1e8)
"""The exponential breakdown branch may leave 1e-8 of its knee current at 0 V."""


@dataclass(frozen=True, kw_only=True)
class Zener(BaseKind):
    """Anode and cathode; the value is the voltage at the test current ``izt``."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        volts = self.value(part, 5.1)
        current = max(self.number(part, "izt"), 1.001 * _KNEE)
        decades = math.log(current / _KNEE)
        # slope resistance at the test current; a soft low-voltage one is made somewhat harder so
        # that the branch gives no current of its own at 0 V
        soft = min(self.number(part, "zzt") * current, volts / (_QUIET + decades))
        spread = tolerance_of(part, 0.05, self.value_known(part))
        return (
            Element(
                name="d",
                law=Diode(),
                terminals=("a", "k"),
                params={
                    "is_": 1e-13,
                    "n": 1.1,
                    "bv": volts - soft * decades,
                    "nbv": soft / VT,
                    "gp": 1e-6,
                },
                spread={"bv": spread, "is_": Spread(relative=0.5, shape="log")},
            ),
        )

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        return (
            failing("open", "open", changed("d", **dead_diode()), row=(_ROW, "open"),
                    test_out=1.0),
            failing("short", "shorted", changed("d", gp=JUNCTION_SHORT), row=(_ROW, "short"),
                    test_out=1.0),
            failing("low", "a fifth low in its voltage", scaled("d", bv=0.8),
                    row=(_ROW, "parameter change"), of=0.35, test_out=0.8),
            failing("high", "a fifth high in its voltage", scaled("d", bv=1.2),
                    row=(_ROW, "parameter change"), of=0.25, test_out=0.8),
            failing("leaky", "leaking below its voltage", changed("d", gp=1e-3),
                    row=(_ROW, "parameter change"), of=0.4, test_out=0.9),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Diode zener")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="dissipation", value=self.number(part, "watts"), unit="W",
                   source="datasheet, from memory"),
        )  # fmt: skip

    def current(self, part: Part) -> Reading | None:
        return Reading(element="d") if len(part.pins) == 2 else None


_ONE_WATT = (
    (3.3, 76, 10), (3.6, 69, 10), (3.9, 64, 9), (4.3, 58, 9), (4.7, 53, 8), (5.1, 49, 7),
    (5.6, 45, 5), (6.2, 41, 2), (6.8, 37, 3.5), (7.5, 34, 4), (8.2, 31, 4.5), (9.1, 28, 5),
    (10, 25, 7), (11, 23, 8), (12, 21, 9), (13, 19, 10), (15, 17, 14), (16, 15.5, 16),
    (18, 14, 20), (20, 12.5, 22), (22, 11.5, 23), (24, 10.5, 25), (27, 9.5, 35), (30, 8.5, 40),
    (33, 7.5, 45), (36, 7, 50), (39, 6.5, 60), (43, 6, 70), (47, 5.5, 80), (51, 5, 95),
    (56, 4.5, 110), (62, 4, 125), (68, 3.7, 150), (75, 3.3, 175), (82, 3, 200), (91, 2.8, 250),
    (100, 2.5, 350),
)  # fmt: skip
"""1N4728A to 1N4764A: volts, test current mA, slope resistance ohm (datasheet, from memory)."""

_FIVE_WATT = (
    (3.3, 380, 3), (3.6, 350, 2.5), (3.9, 320, 2), (4.3, 290, 2), (4.7, 260, 2), (5.1, 240, 1.5),
    (5.6, 220, 1), (6, 200, 1), (6.2, 200, 1), (6.8, 175, 1), (7.5, 175, 1.5), (8.2, 150, 1.5),
    (8.7, 150, 2), (9.1, 150, 2), (10, 125, 2), (11, 125, 2.5), (12, 100, 2.5), (13, 100, 2.5),
    (14, 100, 2.5), (15, 75, 2.5), (16, 75, 2.5), (17, 70, 2.5), (18, 65, 2.5), (19, 65, 3),
    (20, 65, 3), (22, 50, 3.5), (24, 50, 3.5), (25, 50, 4), (27, 50, 5), (28, 50, 6), (30, 40, 8),
    (33, 40, 10), (36, 30, 11), (39, 30, 14), (43, 30, 20), (47, 25, 25), (51, 25, 27),
)  # fmt: skip
"""1N5333B to 1N5369B: the same (1N53 series 5 W data sheet, read)."""


_SMALL = (
    (3.3, 20, 28), (3.6, 20, 24), (3.9, 20, 23), (4.3, 20, 22), (4.7, 20, 19), (5.1, 20, 17),
    (5.6, 20, 11), (6.2, 20, 7), (6.8, 20, 5), (7.5, 20, 6), (8.2, 20, 8), (9.1, 20, 10),
    (10, 20, 17), (12, 20, 30),
)  # fmt: skip
"""1N746A to 1N759A: the same (datasheet, from memory)."""
_HALF_WATT = (
    (2.4, 20, 30), (2.5, 20, 30), (2.7, 20, 30), (2.8, 20, 30), (3, 20, 29), (3.3, 20, 28),
    (3.6, 20, 24), (3.9, 20, 23), (4.3, 20, 22), (4.7, 20, 19), (5.1, 20, 17), (5.6, 20, 11),
    (6, 20, 7), (6.2, 20, 7), (6.8, 20, 5), (7.5, 20, 6), (8.2, 20, 8), (8.7, 20, 8), (9.1, 20, 10),
    (10, 20, 17), (11, 20, 22), (12, 20, 30), (13, 9.5, 13), (14, 9, 15), (15, 8.5, 16),
    (16, 7.8, 17), (17, 7.4, 19), (18, 7, 21), (19, 6.6, 23), (20, 6.2, 25), (22, 5.6, 29),
    (24, 5.2, 33), (25, 5, 35), (27, 4.6, 41), (28, 4.5, 44), (30, 4.2, 49), (33, 3.8, 58),
    (36, 3.4, 70), (39, 3.2, 80), (43, 3, 93), (47, 2.7, 105), (51, 2.5, 125),
)  # fmt: skip
"""1N5221B to 1N5262B: the same (datasheet, from memory)."""
_E24 = (
    (2.4, 5, 60), (2.7, 5, 60), (3, 5, 57), (3.3, 5, 57), (3.6, 5, 54), (3.9, 5, 54), (4.3, 5, 54),
    (4.7, 5, 48), (5.1, 5, 36), (5.6, 5, 24), (6.2, 5, 6), (6.8, 5, 9), (7.5, 5, 9), (8.2, 5, 9),
    (9.1, 5, 9), (10, 5, 12), (11, 5, 12), (12, 5, 15), (13, 5, 18), (15, 5, 18), (16, 5, 24),
    (18, 5, 27), (20, 5, 33), (22, 5, 33), (24, 5, 42), (27, 2, 48), (30, 2, 48), (33, 2, 48),
    (36, 2, 54),
)  # fmt: skip
"""BZX55C and BZX79C, by their volts with a V for the point: 0.6 of the most resistance that the
datasheet allows (from memory)."""
_REFERENCES = (
    ("LM329", 6.9, "1m", "0.8", "0.1"),
    ("LM399", 6.95, "1m", "0.5", "0.1"),
    ("LM336-2.5", 2.49, "1m", "0.27", "0.1"),
    ("LM336-5", 5.0, "1m", "0.6", "0.1"),
    ("LM385-1.2", 1.235, "100u", "1", "0.05"),
    ("LM385-2.5", 2.5, "100u", "1", "0.05"),
    ("LM113", 1.22, "1m", "0.3", "0.1"),
    ("ICL8069", 1.23, "500u", "1", "0.05"),
    ("LM335", 2.98, "1m", "0.6", "0.05"),
    ("1N821", 6.2, "7.5m", "15", "0.4"),
    ("1N825", 6.2, "7.5m", "15", "0.4"),
    ("1N829", 6.2, "7.5m", "10", "0.4"),
)
"""References with two leads (the LM335 is a thermometer, 10 mV a kelvin: its volts at 25 degC):
type, volts, test current, slope resistance, watts (datasheets, from memory)."""


def _types() -> Iterator[TypeWord]:
    for name, reference, at, slope, most in _REFERENCES:
        yield TypeWord(name=name, kind="zener", value=reference,
                       fields={"izt": at, "zzt": slope, "watts": most})  # fmt: skip
    for size, at_5, slope_of in _E24:
        text = f"{size:g}".replace(".", "V") if size % 1 else f"{size:g}" + "V0" * (size < 10)
        for prefix in ("BZX55C", "BZX79C"):
            yield TypeWord(
                name=f"{prefix}{text}", kind="zener", value=float(size),
                fields={"izt": f"{at_5}m", "zzt": str(slope_of), "watts": "0.5"},
            )  # fmt: skip
    for watts, first, suffixes, series in (
        ("1", 4728, ("A", ""), _ONE_WATT),
        ("5", 5333, ("B",), _FIVE_WATT),
        ("0.4", 746, ("A", ""), _SMALL),
        ("0.5", 5221, ("B", ""), _HALF_WATT),
    ):
        for k, (volts, ma, ohms) in enumerate(series):
            for suffix in suffixes:
                yield TypeWord(
                    name=f"1N{first + k}{suffix}", kind="zener", value=float(volts),
                    fields={"izt": f"{ma}m", "zzt": str(ohms), "watts": watts},
                )  # fmt: skip


KIND = Zener(
    types=tuple(_types()),
    word=KindWord(
        name="zener",
        title="Zener diode",
        value_unit="V",
        pins=DIODE_PINS,
        fields=(
            FieldWord(name="izt", unit="A", default="5m", help="current at which value holds"),
            FieldWord(name="zzt", unit="Ω", default="10", help="slope resistance there"),
            FieldWord(name="watts", unit="W", default="0.4", help="rated dissipation"),
        ),
        help="Anode first, cathode (banded end) second; the value is the zener voltage.",
        example="D5 zener 5.1 GND VREF",
    ),
)
