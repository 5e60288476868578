"""MOSFETs with their body diode."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    JUNCTION_SHORT,
    OPEN,
    BaseKind,
    changed,
    connected,
    failing,
    refuse,
    scaled,
    terminal,
    types_of,
)
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.mosfet import Mosfet

__all__ = ["KINDS", "PowerMosfet"]

_ROW = "Transistor FET"
_FROM_MEMORY = "datasheet, from memory"
_GATE = 10.0
"""Gate voltage at which ``ron`` is stated."""


@dataclass(frozen=True, kw_only=True)
class PowerMosfet(BaseKind):
    """Drain, gate, source; breakdown is the body diode's."""

    sign: float

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        d, g, s = (terminal(part, pin) for pin in ("d", "g", "s"))
        threshold = self.number(part, "vth")
        if threshold >= _GATE:
            raise refuse(part, f"vth must be below {_GATE:g} V, got {threshold:g}")
        anode, cathode = (s, d) if self.sign > 0 else (d, s)
        return (
            Element(
                name="m",
                law=Mosfet(sign=self.sign),
                terminals=(d, g, s),
                params={
                    "k": 1.0 / (self.number(part, "ron") * (_GATE - threshold)),
                    "vth": threshold, "gds": 1e-9, "ggs": OPEN, "ggd": OPEN,
                },
                spread={
                    "k": Spread(relative=0.25, shape="log"),
                    "vth": Spread(relative=0.2),
                },
            ),
            Element(
                name="body",
                law=Diode(),
                terminals=(anode, cathode),
                params={
                    "is_": 1e-13, "n": 1.1, "bv": 1.2 * self.number(part, "volts"), "nbv": 4.0,
                    "gp": OPEN,
                },
                spread={"is_": Spread(relative=0.5, shape="log")},
            ),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        threshold = self.number(part, "vth")
        path_gone = (*changed("m", k=0.0, gds=OPEN, ggd=OPEN), *changed("body", **dead_diode()))
        found = (
            failing("d short to s", "shorted from drain to source",
                    changed("m", gds=JUNCTION_SHORT), row=(_ROW, "short"), of=0.6, test_out=1.0),
            failing("g short to s", "shorted from gate to source",
                    changed("m", ggs=JUNCTION_SHORT), row=(_ROW, "short"), of=0.25, test_out=1.0),
            failing("g short to d", "shorted from gate to drain",
                    changed("m", ggd=JUNCTION_SHORT), row=(_ROW, "short"), of=0.15, test_out=1.0),
            failing("d leaky to s", "leaking from drain to source", changed("m", gds=1e-3),
                    row=(_ROW, "output low"), of=0.5, test_out=0.9),
            failing("g leaky", "leaking at its gate", changed("m", ggs=1e-3, gds=1e-4),
                    row=(_ROW, "output low"), of=0.5, test_out=0.9),
            failing("high threshold", "needing twice the gate voltage",
                    (Change(element="m", param="vth", value=threshold * 2.0),),
                    row=(_ROW, "parameter change"), of=0.5, test_out=0.6),
            failing("high resistance", "ten times its on-resistance",
                    scaled("m", k=0.1),
                    row=(_ROW, "parameter change"), of=0.5, test_out=0.6),
            failing("open", "open at drain or source inside", path_gone, row=(_ROW, "open"),
                    test_out=1.0),
            failing("g open", "open at its gate inside", changed("m", k=0.0),
                    row=(_ROW, "output high"), pin="g", test_out=1.0),
        )  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Transistor Si FET")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            *self.limits(part, _FROM_MEMORY, volts="drain-source voltage", amps="drain current"),
            Rating(name="gate-source voltage", value=20.0, unit="V", source=_FROM_MEMORY),
        )  # fmt: skip


_PINS = (
    PinWord(name="d", title="drain", other_names=("D", "drain")),
    PinWord(name="g", title="gate", other_names=("G", "gate")),
    PinWord(name="s", title="source", other_names=("S", "source")),
)
_COLUMNS = ("ron", "vth", "volts", "amps")
_N = (
    ("2N7000", "1.8", "2.1", "60", "0.2"),
    ("BS170", "1.8", "2.0", "60", "0.5"),
    ("VN10KM", "3", "1.6", "60", "0.3"),
    ("IRF510", "0.4", "3.2", "100", "5.6"),
    ("IRF520", "0.2", "3.2", "100", "9.2"),
    ("IRF530", "0.12", "3.2", "100", "14"),
    ("IRF540", "0.06", "3.2", "100", "28"),
    ("IRF630", "0.3", "3.2", "200", "9"),
    ("IRF640", "0.14", "3.2", "200", "18"),
    ("IRF730", "0.8", "3.2", "400", "5.5"),
    ("IRF830", "1.2", "3.2", "500", "4.5"),
    ("IRF840", "0.7", "3.2", "500", "8"),
    ("VN66AF", "2", "1.6", "60", "2"),
    ("BUZ10", "0.06", "3", "50", "20"),
    ("BUZ11", "0.035", "3", "50", "30"),
)
_P = (
    ("BS250", "9", "2.5", "45", "0.2"),
    ("IRF9520", "0.45", "3.2", "100", "6.8"),
    ("IRF9530", "0.25", "3.2", "100", "12"),
    ("IRF9540", "0.15", "3.2", "100", "19"),
)
"""Type, on-resistance at 10 V, threshold, rated volts, amps: datasheet typical, from memory."""


def _word(name: str, title: str, example: str) -> KindWord:
    return KindWord(
        name=name,
        title=title,
        pins=_PINS,
        fields=(
            FieldWord(name="ron", unit="Ω", default="1", help="on-resistance at 10 V on the gate"),
            FieldWord(name="vth", unit="V", default="2.5", help="threshold"),
            FieldWord(name="volts", unit="V", default="60", help="rated drain-source voltage"),
            FieldWord(name="amps", unit="A", default="1", help="rated drain current"),
        ),
        help="Drain, gate, source; the body diode is inside.",
        example=example,
    )


KINDS = (
    PowerMosfet(
        sign=1.0, types=types_of("nmos", _COLUMNS, _N),
        word=_word("nmos", "MOSFET, N-channel", "Q7 nmos 2N7000 d=OUT g=IN s=GND"),
    ),
    PowerMosfet(
        sign=-1.0, types=types_of("pmos", _COLUMNS, _P),
        word=_word("pmos", "MOSFET, P-channel", "Q8 pmos IRF9530 d=OUT g=IN s=+12"),
    ),
)  # fmt: skip
