"""Adjustable shunt reference of the TL431 class."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, OPEN, BaseKind, changed, failing, terminal
from halfsplit.parts._bipolar import base_open
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Mode, Rate, Rating, Reading
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Source
from halfsplit.solve.smooth import VT

__all__ = ["KIND", "ShuntReference"]

_ROW = "Microcircuit linear"
_SHEET = "datasheet of the TL431, from memory"
_AT = 10e-3
"""Current at which the reference voltage is stated, A."""
_OHMS = 0.2
"""Dynamic impedance there."""
_IS = 1e-12
_N = _AT * _OHMS / VT
"""An exponential curve whose slope at 10 mA is 0.2 ohm."""
_ON = _N * VT * math.log(_AT / _IS)
_STAGE = {"is_": _IS, "bf": 1e8, "br": 1e8, "n": _N, "bvce": 45.0, "gbe": OPEN, "gbc": OPEN,
          "gce": 1e-9}  # fmt: skip
_INTO = 1e-5
"""Into the reference pin, S: what it takes when it is held above the reference."""
_REST_N = 3.0
_REST_DROP = 1.8
"""What it cannot go below, V at 10 mA."""


@dataclass(frozen=True, kw_only=True)
class ShuntReference(BaseKind):
    """Reference, anode, cathode; the value is the reference voltage."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        ref, anode, cathode = (terminal(part, pin) for pin in ("ref", "a", "k"))
        volts = self.value(part, 2.495)
        return (
            Element(name="shift", law=Source(), terminals=(ref, "~b"),
                    params={"g": _INTO, "volts": volts - _ON},
                    spread={"volts": Spread(relative=self.number(part, "off"))}),
            Element(name="stage", law=Bipolar(), terminals=("~c", "~b", anode), params=_STAGE),
            Element(name="rest", law=Diode(), terminals=(cathode, "~c"),
                    params={"is_": _AT * math.exp(-_REST_DROP / (_REST_N * VT)), "n": _REST_N,
                            "bv": 1e3, "nbv": 1.0, "gp": OPEN}),
            Element(name="body", law=Diode(), terminals=(anode, cathode),
                    params={"is_": 1e-13, "n": 1.0, "bv": 45.0, "nbv": 1.0, "gp": OPEN}),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        volts, wrong = self.value(part, 2.495), (_ROW, "improper output")
        return (
            failing("open", "open (takes no current)",
                    (*changed("rest", **dead_diode()), *changed("stage", **base_open()),
                     *changed("body", **dead_diode())),
                    row=(_ROW, "no output"), test_out=1.0),
            failing("short", "shorted from cathode to anode",
                    changed("body", gp=JUNCTION_SHORT), row=wrong, of=0.5, test_out=1.0),
            failing("low", "a fifth low in its reference",
                    changed("shift", volts=0.8 * volts - _ON), row=wrong, of=0.2),
            failing("high", "a fifth high in its reference",
                    changed("shift", volts=1.2 * volts - _ON), row=wrong, of=0.15),
            failing("leaky", "leaking from cathode to anode", changed("body", gp=1e-3),
                    row=wrong, of=0.15, test_out=0.8),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="cathode voltage", value=36.0, unit="V", source=_SHEET),
            Rating(name="cathode current", value=0.1, unit="A", source=_SHEET),
        )

    def current(self, part: Part) -> Reading | None:
        return Reading(element="rest") if len(part.pins) >= 2 else None


KIND = ShuntReference(
    types=(
        TypeWord(name="TL431", kind="shunt-reference", value=2.495, fields={"off": "0.02"}),
        TypeWord(name="TL431A", kind="shunt-reference", value=2.495, fields={"off": "0.01"}),
        TypeWord(name="TL430", kind="shunt-reference", value=2.75, fields={"off": "0.05"}),
    ),
    word=KindWord(
        name="shunt-reference", title="Shunt reference, adjustable", value_unit="V",
        pins=(
            PinWord(name="ref", title="reference", other_names=("1", "REF")),
            PinWord(name="a", title="anode", other_names=("2", "A")),
            PinWord(name="k", title="cathode", other_names=("3", "K")),
        ),
        fields=(FieldWord(name="off", unit="1", default="0.02", help="spread of the reference, "
                          "as a fraction"),),
        help="It takes as much current from cathode to anode as keeps the reference pin at the "
        "value above the anode. Numbers are those of the three-legged plastic package.",
        example="U2 shunt-reference TL431 ref=DIV a=GND k=OUT",
    ),
)  # fmt: skip
