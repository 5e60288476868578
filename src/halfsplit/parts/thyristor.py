"""Thyristors as switches: SCR and triac, each as the pair of transistors that latch one another.

(Two-transistor analogy: J. J. Ebers, Proc. IRE 40, 1952, p. 1361.)
"""

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
    terminal,
    types_of,
)
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Bipolar
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "Thyristor"]

_ROW = "Transistor bipolar"
_NOTE = "datasheet typical, from memory"
_GATE_VOLTS = 0.65
"""Across the gate resistor when it fires."""
_IS = 1e-12
_TIED = 1e-6
"""Base to emitter, S: shorts of the emitters, which keep a blocking one off."""
_BETA = {"near": 10.0, "far": 1.0}
"""Gain of the transistor at the gate's end and at the other: their product must be above 1."""


@dataclass(frozen=True, kw_only=True)
class Thyristor(BaseKind):
    """Main terminals ``top`` and ``bottom`` and the gate, which fires against ``bottom``."""

    top: str
    bottom: str
    both_ways: bool

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        top, bottom, gate = (terminal(part, pin) for pin in (self.top, self.bottom, "g"))
        found = [
            Element(name="rg", law=Conductance(), terminals=(gate, bottom),
                    params={"g": self.number(part, "fire") / _GATE_VOLTS},
                    spread={"g": Spread(relative=0.5, shape="log")}),
            Element(name="leak", law=Conductance(), terminals=(top, bottom), params={"g": 1e-8}),
            Element(name="rtop", law=Conductance(), terminals=(top, "~top"),
                    params={"g": self.number(part, "amps") / 0.2}),
        ]  # fmt: skip
        for sign in (1.0, -1.0) if self.both_ways else (1.0,):
            inner = f"~base{sign:+.0f}"
            # the transistor at the gate, and the one at the far end that feeds it
            for name, polarity, ends in (
                ("near", sign, (inner, gate, bottom)),
                ("far", -sign, (gate, inner, "~top")),
            ):
                found.append(
                    Element(name=f"{name}{sign:+.0f}", law=Bipolar(sign=polarity), terminals=ends,
                            params={"is_": _IS, "bf": _BETA[name], "br": 0.1, "n": 1.0,
                                    "bvce": 1.2 * self.number(part, "volts"), "gbe": _TIED,
                                    "gbc": OPEN, "gce": OPEN})
                )  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        dead = tuple(
            change
            for sign in ((1, -1) if self.both_ways else (1,))
            for name in ("near", "far")
            for change in changed(f"{name}{sign:+d}", is_=0.0)
        )
        found = [
            failing("short", f"shorted from {self.top} to {self.bottom}",
                    changed("leak", g=JUNCTION_SHORT), row=(_ROW, "short"), of=0.7, test_out=1.0),
            failing("leaky", f"leaking from {self.top} to {self.bottom}", changed("leak", g=1e-3),
                    row=(_ROW, "short"), of=0.1, test_out=0.8),
            failing("gate short", "shorted from its gate", changed("rg", g=JUNCTION_SHORT),
                    row=(_ROW, "short"), of=0.2, pin="g", test_out=1.0),
            failing("open", "never conducting", dead, row=(_ROW, "open"), of=0.7),
            failing("gate open", "open at its gate inside", changed("rg", g=1.0),
                    row=(_ROW, "open"), of=0.3, pin="g", test_out=1.0),
        ]  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Thyristor")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return self.limits(part, _NOTE, volts="off-state voltage", amps="on-state current")


_CAUTION = (
    "Once fired it stays on until its current stops: a state needs a step that fires it and one "
    "after. Many sit on the mains or carry its potential: unplug, discharge, and work by the "
    "local code."
)


def _fields(fire: str, volts: str, amps: str) -> tuple[FieldWord, ...]:
    return (
        FieldWord(name="fire", unit="A", default=fire, help="gate current that fires it"),
        FieldWord(name="volts", unit="V", default=volts, help="rated off-state voltage"),
        FieldWord(name="amps", unit="A", default=amps, help="rated on-state current"),
    )


_COLUMNS = ("fire", "volts", "amps")
_GATE = PinWord(name="g", title="gate", other_names=("G", "gate"))

KINDS = (
    Thyristor(
        top="a", bottom="k", both_ways=False,
        types=types_of("scr", _COLUMNS, (
            ("2N5060", "0.1m", "30", "0.8"), ("2N5061", "0.1m", "60", "0.8"),
            ("2N5062", "0.1m", "100", "0.8"), ("2N5064", "0.1m", "200", "0.8"),
            ("C103B", "0.1m", "200", "0.8"), ("C106B", "0.1m", "200", "4"),
            ("C106D", "0.1m", "400", "4"), ("TIC106D", "0.1m", "400", "5"),
            ("BT151", "5m", "500", "12"), ("2N6394", "10m", "50", "12"),
            ("2N6397", "10m", "400", "12"), ("2N3525", "8m", "400", "5"),
            ("C106A", "0.1m", "100", "4"), ("C106M", "0.1m", "600", "4"),
            ("TIC116D", "8m", "400", "8"), ("TIC126D", "8m", "400", "12"),
            ("2N4443", "7m", "400", "8"), ("2N6504", "9m", "50", "25"),
            ("2N6507", "9m", "400", "25"), ("MCR106-6", "0.2m", "400", "4"),
        )),
        word=KindWord(
            name="scr", title="Thyristor (SCR)", fields=_fields("1m", "200", "4"), help=_CAUTION,
            pins=(PinWord(name="a", title="anode", other_names=("A", "anode")), _GATE,
                  PinWord(name="k", title="cathode", other_names=("K", "cathode"))),
            example="Q3 scr C106B a=LOAD g=FIRE k=GND",
        ),
    ),
    Thyristor(
        top="mt2", bottom="mt1", both_ways=True,
        types=types_of("triac", _COLUMNS, (
            ("TIC206D", "5m", "400", "4"), ("TIC226D", "10m", "400", "8"),
            ("BT136", "10m", "500", "4"), ("BT137", "15m", "500", "8"),
            ("BT138", "15m", "500", "12"), ("2N6073A", "5m", "400", "4"),
            ("MAC97", "5m", "400", "0.6"), ("TIC216D", "5m", "400", "6"),
            ("TIC236D", "15m", "400", "12"), ("TIC246D", "15m", "400", "16"),
            ("2N6344", "12m", "600", "8"), ("MAC15", "20m", "400", "15"),
            ("BTA08", "15m", "600", "8"), ("T2800D", "10m", "400", "8"),
        )),
        word=KindWord(
            name="triac", title="Triac", fields=_fields("10m", "400", "4"),
            help=f"Both ways, fired by a gate of the same sign as the far terminal. {_CAUTION}",
            pins=(PinWord(name="mt2", title="main terminal 2", other_names=("MT2",)), _GATE,
                  PinWord(name="mt1", title="main terminal 1", other_names=("MT1",))),
            example="Q4 triac BT136 mt2=LAMP g=FIRE mt1=GND",
        ),
    ),
)  # fmt: skip
"""Type, gate current, volts, amps: datasheet typical, from memory."""
