"""Diodes: silicon, Schottky, germanium, light-emitting."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, OPEN, SHORT, BaseKind, changed, failing, refuse
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating, Reading
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.linear import Conductance
from halfsplit.solve.smooth import VT

__all__ = ["DIODE_PINS", "KINDS", "JunctionDiode", "LightEmittingDiode", "dead_diode"]

_FROM_MEMORY = "datasheet typical, from memory"
_LEAK = 1e-9
_LEAKY = 1e-4
"""A diode gone leaky, S: 10 kilohm, assumed."""


def dead_diode() -> dict[str, float]:
    """Parameters of a diode that is open: no forward current, no breakdown, no leak.

    The saturation current is 0 and not merely small, for at 24 V forward a small one would
    conduct.
    """
    return {"is_": 0.0, "bv": 1e6, "gp": OPEN}


@dataclass(frozen=True, kw_only=True)
class JunctionDiode(BaseKind):
    """Anode and cathode. Fields ``is`` and ``n`` set the forward curve."""

    row: str = "Diode general"

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        return (
            Element(
                name="d",
                law=Diode(),
                terminals=("a", "k"),
                params={
                    "is_": self.number(part, "is"),
                    "n": self.number(part, "n"),
                    "bv": self.breakdown(part),
                    "nbv": 1.0,
                    "gp": self.number(part, "leak"),
                },
                spread={"is_": Spread(relative=0.5, shape="log")},
            ),
        )

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        return (
            failing("short", "shorted", changed("d", gp=JUNCTION_SHORT), row=(self.row, "short"),
                    test_out=1.0),
            failing("open", "open", changed("d", **dead_diode()), row=(self.row, "open"),
                    test_out=1.0),
            failing("leaky", "leaking in reverse", changed("d", gp=_LEAKY),
                    row=(self.row, "parameter change"), test_out=0.9),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        if self.number(part, "amps") >= 0.5 or self.name == "schottky":
            return part_count_rate("Diode power rectifier or Schottky")
        return part_count_rate("Diode switching")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="reverse voltage", value=self.number(part, "volts"), unit="V",
                   source=_FROM_MEMORY),
            Rating(name="forward current", value=self.number(part, "amps"), unit="A",
                   source=_FROM_MEMORY),
        )  # fmt: skip

    def current(self, part: Part) -> Reading | None:
        return Reading(element="d") if len(part.pins) == 2 else None

    def breakdown(self, part: Part) -> float:
        """Volts at which it breaks down: a margin above its rating, assumed."""
        return 1.3 * self.number(part, "volts")


@dataclass(frozen=True, kw_only=True)
class LightEmittingDiode(BaseKind):
    """Anode and cathode; the colour sets the drop."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        at_10ma = self.forward(part) - 10e-3 * _LED_OHMS
        return (
            Element(
                name="d",
                law=Diode(),
                terminals=(_INSIDE, "k"),
                params={
                    "is_": 10e-3 * math.exp(-at_10ma / (_LED_N * VT)),
                    "n": _LED_N,
                    "bv": 25.0,
                    "nbv": 1.0,
                    "gp": _LEAK,
                },
                spread={"is_": Spread(relative=1.0, shape="log")},
            ),
            Element(
                name="bulk",
                law=Conductance(),
                terminals=("a", _INSIDE),
                params={"g": 1.0 / _LED_OHMS},
                spread={"g": Spread(relative=0.5, shape="log")},
            ),
        )

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        row = "Optoelectronic LED"
        return (
            failing("open", "open", changed("d", **dead_diode()), row=(row, "open"),
                    test_out=1.0),
            failing("short", "shorted",
                    (*changed("d", gp=JUNCTION_SHORT), *changed("bulk", g=SHORT)),
                    row=(row, "short"), of=0.8, test_out=1.0),
            failing("leaky", "leaking", changed("d", gp=_LEAKY), row=(row, "short"), of=0.2),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Emitter (LED)")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="forward current", value=0.02, unit="A", source=_FROM_MEMORY),
            Rating(name="reverse voltage", value=5.0, unit="V", source=_FROM_MEMORY),
        )

    def current(self, part: Part) -> Reading | None:
        return Reading(element="d") if len(part.pins) == 2 else None

    def forward(self, part: Part) -> float:
        """Drop at 10 mA, volt."""
        colour = self.text(part, "colour")
        if colour not in _COLOURS:
            raise refuse(part, f"colour must be one of {', '.join(_COLOURS)}, got {colour!r}")
        return self.value(part, _COLOURS[colour])


_INSIDE = "~a"
_LED_N, _LED_OHMS = 2.0, 3.5
"""Emission coefficient and ohms in series: a red LED of a data sheet reads 1.8 V at 20 mA, 1.9 V at
40 and 2.0 V at 65 (worked example "How do I model an LED with SPICE", public question-and-answer
site), of which the junction takes about an ohm."""
_COLOURS = {"red": 1.75, "yellow": 2.0, "green": 2.05, "infrared": 1.2, "blue": 3.1}
"""Drop at 10 mA, volt: datasheet typical, from memory."""

DIODE_PINS = (
    PinWord(name="a", title="anode", other_names=("A", "anode")),
    PinWord(name="k", title="cathode (the band)", other_names=("K", "c", "cathode")),
)


def _fields(is_: str, n: str, volts: str, amps: str, leak: str) -> tuple[FieldWord, ...]:
    return (
        FieldWord(name="is", unit="A", default=is_, help="saturation current"),
        FieldWord(name="n", unit="1", default=n, help="emission coefficient"),
        FieldWord(name="volts", unit="V", default=volts, help="rated reverse voltage"),
        FieldWord(name="amps", unit="A", default=amps, help="rated forward current"),
        FieldWord(name="leak", unit="1", default=leak, help="leak of a sound one, siemens"),
    )


def _type(name: str, kind: str, is_: str, n: str, volts: str, amps: str) -> TypeWord:
    return TypeWord(name=name, kind=kind, fields={"is": is_, "n": n, "volts": volts, "amps": amps})


_SIGNAL = ("2.5n", "1.75")
"""1 mA at 0.58 V, 10 mA at 0.69 V (1N4148 typical, from memory)."""
_RECTIFIER = ("15n", "2.0")
"""1 A at 0.93 V (1N400x typical curve, from memory)."""
_RECTIFIER_VOLTS = (50, 100, 200, 400, 600, 800, 1000)

KINDS = (
    JunctionDiode(
        word=KindWord(
            name="diode", title="Diode, silicon", pins=DIODE_PINS,
            fields=_fields(*_SIGNAL, "100", "0.2", "1e-9"),
            help="Anode first, cathode (banded end) second.",
            example="D1 diode 1N4002 PHA +24",
        ),
        types=(
            _type("1N4148", "diode", *_SIGNAL, "100", "0.2"),
            _type("1N914", "diode", *_SIGNAL, "100", "0.2"),
            *(_type(f"1N{4001 + k}", "diode", *_RECTIFIER, str(volts), "1")
              for k, volts in enumerate(_RECTIFIER_VOLTS)),
            *(_type(f"1N{5400 + k}", "diode", "40n", "2.0", str(volts), "3")
              for k, volts in ((0, 50), (1, 100), (2, 200), (4, 400), (6, 600), (8, 1000))),
            *(_type(name, "diode", *_RECTIFIER, volts, "1")
              for name, volts in (("BY127", "1250"), ("BA159", "1000"), ("1N4933", "50"),
                                  ("1N4935", "200"), ("1N4937", "600"))),
            *(_type(name, "diode", "40n", "2.0", volts, "3")
              for name, volts in (("MR850", "50"), ("MR852", "200"), ("MR856", "600"))),
            *(_type(name, "diode", *_SIGNAL, volts, "0.2")
              for name, volts in (("1N4150", "50"), ("1N4448", "100"), ("BAV20", "150"),
                                  ("BAV21", "200"), ("BAW62", "75"))),
        ),
    ),
    JunctionDiode(
        word=KindWord(
            name="schottky", title="Diode, Schottky", pins=DIODE_PINS,
            fields=_fields("1u", "1.05", "40", "1", "1e-7"),
            help="Anode first, cathode (banded end) second.",
            example="D2 schottky 1N5819 GND OUT",
        ),
        types=(
            _type("1N5817", "schottky", "2u", "1.2", "20", "1"),
            _type("1N5818", "schottky", "1u", "1.3", "30", "1"),
            _type("1N5819", "schottky", "1u", "1.4", "40", "1"),
            *(_type(f"1N582{k}", "schottky", "10u", "1.2", volts, "3")
              for k, volts in ((0, "20"), (1, "30"), (2, "40"))),
            _type("MBR735", "schottky", "50u", "1.2", "35", "7.5"),
            _type("MBR1045", "schottky", "60u", "1.2", "45", "10"),
            _type("BAT85", "schottky", "200n", "1.1", "30", "0.2"),
        ),
    ),
    JunctionDiode(
        word=KindWord(
            name="germanium", title="Diode, germanium", pins=DIODE_PINS,
            fields=_fields("1u", "1.6", "50", "0.05", "1e-6"),
            help="Anode first, cathode (banded end) second.",
            example="D3 germanium 1N34A IN DET",
        ),
        types=(
            _type("1N34A", "germanium", "1u", "1.6", "60", "0.05"),
            _type("OA90", "germanium", "1u", "1.6", "20", "0.01"),
        ),
    ),
    LightEmittingDiode(
        word=KindWord(
            name="led", title="Light-emitting diode", value_unit="V", pins=DIODE_PINS,
            fields=(
                FieldWord(name="colour", default="red", help=", ".join(_COLOURS)),
            ),
            help="Anode first. The value is its drop at 10 mA, or ? for the usual of its colour.",
            example="D4 led ? colour=green a=ACTIVE k=LEDK",
        ),
    ),
)  # fmt: skip
