"""Darlington power transistors: two transistors, base-emitter resistors, a damper diode."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    JUNCTION_SHORT,
    OPEN,
    SHORT,
    BaseKind,
    changed,
    connected,
    failing,
    scaled,
    terminal,
)
from halfsplit.parts._bipolar import base_open, collector_open, emitter_open
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.parts.transistor import BREAKDOWN_MARGIN, TRANSISTOR_PINS, base_ohms
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "Darlington"]

_ROW = "Transistor bipolar"
_FROM_MEMORY = "datasheet, from memory"
_BR = 3.0
_MIDDLE, _BASE, _COLLECTOR = "~m", "~b", "~c"
_AREA = 10.0
"""Of the output transistor, in areas of the driver: assumed, a few to some tens. The driver's bulk
has as many times the ohms."""
_BULK = 0.2
"""Ohms of a collector's bulk for each ohm at the base: 0.2 ohm in the output of a TIP120 (slope of
VCE(sat) over current in its data sheet, from memory)."""


@dataclass(frozen=True, kw_only=True)
class Darlington(BaseKind):
    """Collector, base, emitter; ``q1`` drives ``q2`` through the inner node.

    The collector stays above the base of ``q2`` as long as ``q1`` can take the rest of its base
    current over to it. A base tied to a supply gives more than the bulk of ``q1`` takes over: then
    ``q2`` saturates as any transistor does.
    """

    sign: float

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        c, b, e = (terminal(part, pin) for pin in ("c", "b", "e"))
        law = Bipolar(sign=self.sign)
        params = {
            "br": _BR, "n": 1.0, "bvce": BREAKDOWN_MARGIN * self.number(part, "volts"),
            "gbe": OPEN, "gbc": OPEN, "gce": 1e-9,
        }  # fmt: skip
        spread = {
            "is_": Spread(relative=0.4, shape="log", together="die"),
            "bf": Spread(relative=0.3, shape="log", together="die"),
        }
        ohms = {"g": Spread(relative=0.3, together="die")}
        is_, gain = self.number(part, "is"), self._gain(part)
        base = _AREA * base_ohms(self.number(part, "watts"))
        found = [
            Element(name="q1", law=law, terminals=(_COLLECTOR, _BASE, _MIDDLE), spread=spread,
                    params={**params, "is_": is_ / _AREA, "bf": gain}),
            Element(name="base", law=Conductance(), terminals=(b, _BASE),
                    params={"g": 1.0 / base},
                    spread={"g": Spread(relative=0.4, shape="log")}),
            Element(name="bulk", law=Conductance(), terminals=(c, _COLLECTOR),
                    params={"g": 1.0 / (_BULK * base)},
                    spread={"g": Spread(relative=0.7, shape="log")}),
            Element(name="q2", law=law, terminals=(c, _MIDDLE, e), spread=spread,
                    params={**params, "is_": is_, "bf": gain}),
            Element(name="r1", law=Conductance(), terminals=(b, _MIDDLE), spread=ohms,
                    params={"g": 1.0 / self.number(part, "r1")}),
            Element(name="r2", law=Conductance(), terminals=(_MIDDLE, e), spread=ohms,
                    params={"g": 1.0 / self.number(part, "r2")}),
        ]  # fmt: skip
        if self._damped(part):
            anode, cathode = (e, c) if self.sign > 0 else (c, e)
            found.append(
                Element(name="damper", law=Diode(), terminals=(anode, cathode),
                        params={"is_": 1e-12, "n": 1.2, "bv": 1e3, "nbv": 1.0, "gp": OPEN},
                        spread={"is_": Spread(relative=0.5, shape="log")})
            )  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        is_, gain = self.number(part, "is"), self._gain(part)
        damper_off = changed("damper", **dead_diode()) if self._damped(part) else ()
        through_base, through_bulk = changed("base", g=SHORT), changed("bulk", g=SHORT)
        found = [
            failing("c short to e", "shorted from collector to emitter",
                    changed("q2", gce=JUNCTION_SHORT), row=(_ROW, "short"), of=0.55, test_out=1.0),
            failing("b short to c", "shorted from base to collector",
                    (*changed("q1", gbc=JUNCTION_SHORT), *through_base, *through_bulk),
                    row=(_ROW, "short"), of=0.15, test_out=1.0),
            failing("b short to e", "shorted from base to emitter",
                    (*changed("q1", gbe=JUNCTION_SHORT), *changed("q2", gbe=JUNCTION_SHORT),
                     *through_base),
                    row=(_ROW, "short"), of=0.15, test_out=1.0),
            failing("c leaky to e", "leaking from collector to emitter", changed("q2", gce=1e-3),
                    row=(_ROW, "short"), of=0.15, test_out=0.8),
            failing("b open", "open at its base inside",
                    (*changed("q1", **base_open()), *changed("r1", g=OPEN)),
                    row=(_ROW, "open"), of=0.3, pin="b", test_out=1.0),
            failing("c open", "open at its collector inside",
                    (*changed("q1", **collector_open(is_ / _AREA, gain, _BR)),
                     *changed("q2", **collector_open(is_, gain, _BR)), *damper_off),
                    row=(_ROW, "open"), of=0.2, pin="c", test_out=1.0),
            failing("e open", "open at its emitter inside",
                    (*changed("q2", **emitter_open(is_, gain, _BR)), *changed("r2", g=OPEN),
                     *damper_off),
                    row=(_ROW, "open"), of=0.2, pin="e", test_out=1.0),
            failing("low gain", "down to a tenth of its gain",
                    (*scaled("q1", bf=0.3), *scaled("q2", bf=0.3)),
                    row=(_ROW, "open"), of=0.15, test_out=0.5),
        ]  # fmt: skip
        if damper_off:
            found.append(
                failing("damper open", "open in its damper diode", damper_off,
                        row=(_ROW, "open"), of=0.15, test_out=0.9)
            )  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Transistor bipolar power")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return self.limits(part, _FROM_MEMORY, volts="collector-emitter voltage",
                           amps="collector current", watts="dissipation")  # fmt: skip

    def _gain(self, part: Part) -> float:
        """Gain of each transistor: the root of the whole."""
        return math.sqrt(self.number(part, "gain"))

    def _damped(self, part: Part) -> bool:
        return self.text(part, "damper") == "yes" and "c" in part.pins and "e" in part.pins


_VOLTS = {"0": "60", "1": "80", "2": "100"}
_NPN = (
    *((f"TIP11{n}", volts, "2", "50", "10k", "600") for n, volts in _VOLTS.items()),
    *((f"TIP12{n}", volts, "5", "65", "8k", "120") for n, volts in _VOLTS.items()),
    *((f"TIP14{n}", volts, "10", "125", "8k", "40") for n, volts in _VOLTS.items()),
    ("BD675", "45", "4", "40", "7k", "230"),
    ("BD679", "80", "4", "40", "7k", "230"),
    ("BDX33", "45", "10", "70", "10k", "150"),
    ("BDX33C", "100", "10", "70", "10k", "150"),
    ("BDX53", "45", "8", "60", "10k", "150"),
    ("BDX53C", "100", "8", "60", "10k", "150"),
    ("2N6045", "100", "8", "75", "8k", "120"),
    ("2N6387", "60", "10", "65", "8k", "120"),
    ("2N6388", "80", "10", "65", "8k", "120"),
    ("2N6385", "80", "10", "100", "8k", "120"),
    ("2N6284", "100", "20", "160", "8k", "60"),
    ("MJ1001", "80", "8", "90", "8k", "120"),
    ("MJ3001", "80", "10", "150", "4k", "40"),
    ("MJ11016", "120", "30", "200", "8k", "40"),
    ("MPSA13", "30", "0.5", "0.625", "1M", "1M"),
    ("MPSA14", "30", "0.5", "0.625", "1M", "1M"),
)
_PNP = (
    *((f"TIP11{int(n) + 5}", volts, "2", "50", "10k", "600") for n, volts in _VOLTS.items()),
    *((f"TIP12{int(n) + 5}", volts, "5", "65", "8k", "120") for n, volts in _VOLTS.items()),
    *((f"TIP14{int(n) + 5}", volts, "10", "125", "8k", "40") for n, volts in _VOLTS.items()),
    ("BD676", "45", "4", "40", "7k", "230"),
    ("BD680", "80", "4", "40", "7k", "230"),
    ("BDX34", "45", "10", "70", "10k", "150"),
    ("BDX34C", "100", "10", "70", "10k", "150"),
    ("BDX54", "45", "8", "60", "10k", "150"),
    ("BDX54C", "100", "8", "60", "10k", "150"),
    ("2N6042", "100", "8", "75", "8k", "120"),
    ("2N6287", "100", "20", "160", "8k", "60"),
    ("MJ901", "80", "8", "90", "8k", "120"),
    ("MJ2501", "80", "10", "150", "4k", "40"),
    ("MJ11015", "120", "30", "200", "8k", "40"),
)
"""Type, rated volts, amps, watts, resistors (inner schematic of the datasheet): from memory."""


def _types(kind: str, table: Sequence[tuple[str, ...]]) -> tuple[TypeWord, ...]:
    names = ("volts", "amps", "watts", "r1", "r2")
    return tuple(
        TypeWord(
            name=name,
            kind=kind,
            fields={
                **dict(zip(names, numbers, strict=True)),
                "damper": "no" if name.startswith("MPSA") else "yes",
            },
        )
        for name, *numbers in table
    )


def _word(name: str, title: str, example: str) -> KindWord:
    return KindWord(
        name=name,
        title=title,
        pins=TRANSISTOR_PINS,
        fields=(
            FieldWord(name="is", unit="A", default="1p", help="saturation current of the output"),
            FieldWord(name="gain", unit="1", default="2500", help="current gain of the whole"),
            FieldWord(name="r1", unit="Ω", default="8k", help="resistor from base to inner node"),
            FieldWord(name="r2", unit="Ω", default="120", help="resistor from there to emitter"),
            FieldWord(name="damper", default="yes", help="yes or no: diode from emitter to "
                      "collector inside"),
            FieldWord(name="volts", unit="V", default="60", help="rated collector-emitter voltage"),
            FieldWord(name="amps", unit="A", default="5", help="rated collector current"),
            FieldWord(name="watts", unit="W", default="65", help="rated dissipation"),
        ),
        help="Collector, base, emitter. On, it drops 0.7 to 1.5 V; less with its base on a rail.",
        example=example,
    )  # fmt: skip


KINDS = (
    Darlington(
        sign=1.0, types=_types("darlington", _NPN),
        word=_word("darlington", "Darlington, NPN", "Q5 darlington TIP120 c=PHA b=DRV e=GND"),
    ),
    Darlington(
        sign=-1.0, types=_types("pnp-darlington", _PNP),
        word=_word("pnp-darlington", "Darlington, PNP", "Q6 pnp-darlington TIP125 c=M b=D e=+24"),
    ),
)  # fmt: skip
