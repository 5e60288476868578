"""Transistors of one die that lead to pins: of arrays, and beside the gates of driver chips."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.board.model import Part
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, OPEN, SHORT, changed, failing, scaled, terminal
from halfsplit.parts._bipolar import base_open, collector_open, emitter_open
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Mode
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Conductance

__all__ = ["ArrayTransistor", "Process"]

_ROW = "Transistor bipolar"
_BR = 1.0
_MATCH = 0.0007
"""Of V BE, by which each transistor of a die is off the others: two of them by 0.7 mV (CA3046 data
sheet: 0.45 mV typical, which is two thirds of a standard deviation; 5 mV at most)."""
_BASE_SPREAD = Spread(relative=0.7, shape="log", together="die")
_SPREADS = {
    "is_": Spread(relative=0.2, shape="log", together="die"),
    "bf": Spread(relative=0.3, shape="log", together="die"),
    "n": Spread(relative=_MATCH, shape="normal"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """What the transistors of a chip have in common.

    ``is_`` A, ``gain``, ``volts`` rated collector to emitter, ``ohms`` in the collector and
    ``base`` in the base (0: none).
    """

    is_: float
    gain: float
    volts: float
    ohms: float = 0.0
    base: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ArrayTransistor:
    """One of them, with the pins it leads to."""

    letter: str
    c: str
    b: str
    e: str
    process: Process

    def used(self, part: Part) -> bool:
        """Whether at least two of its pins are connected."""
        return sum(pin in part.pins for pin in (self.c, self.b, self.e)) >= 2

    def elements(self, part: Part, substrate: str) -> Iterator[Element]:
        """``q<letter>``, its collector's ``rc<letter>``, its base's ``rb<letter>``, and
        ``sub<letter>`` from the substrate."""
        c, b, e = (terminal(part, pin) for pin in (self.c, self.b, self.e))
        made = self.process
        inner = f"~c{self.letter}" if made.ohms else c
        if made.ohms:
            yield Element(name=f"rc{self.letter}", law=Conductance(), terminals=(c, inner),
                          params={"g": 1.0 / made.ohms},
                          spread={"g": Spread(relative=0.3, together="die")})  # fmt: skip
        base = f"~b{self.letter}" if made.base else b
        if made.base:
            yield Element(name=f"rb{self.letter}", law=Conductance(), terminals=(b, base),
                          params={"g": 1.0 / made.base},
                          spread={"g": _BASE_SPREAD})  # fmt: skip
        yield Element(
            name=f"q{self.letter}", law=Bipolar(), terminals=(inner, base, e), spread=_SPREADS,
            params={"is_": made.is_, "bf": made.gain, "br": _BR, "n": 1.0,
                    "bvce": 1.3 * made.volts, "gbe": OPEN, "gbc": OPEN, "gce": 1e-9},
        )  # fmt: skip
        yield Element(name=f"sub{self.letter}", law=Diode(),
                      terminals=(terminal(part, substrate), c),
                      params={"is_": 1e-15, "n": 1.0, "bv": 4.0 * made.volts, "nbv": 1.0,
                              "gp": OPEN})  # fmt: skip

    def modes(self, of: float) -> Iterator[Mode]:
        """Its ways of failing, which have the fraction ``of`` of the chip's."""
        made, name = self.process, f"q{self.letter}"
        pins = f"{self.c}, {self.b}, {self.e}"
        ways = (
            ("c short to e", "short", 0.45, {"gce": JUNCTION_SHORT}),
            ("b short to c", "short", 0.2, {"gbc": JUNCTION_SHORT}),
            ("b short to e", "short", 0.2, {"gbe": JUNCTION_SHORT}),
            ("c leaky to e", "short", 0.15, {"gce": 1e-3}),
            ("b open", "open", 0.35, base_open()),
            ("c open", "open", 0.25, collector_open(made.is_, made.gain, _BR)),
            ("e open", "open", 0.25, emitter_open(made.is_, made.gain, _BR)),
        )
        for what, mode, share, to in ways:
            more = changed(f"sub{self.letter}", **dead_diode()) if what == "c open" else ()
            if made.base and what.startswith("b short"):
                more = changed(f"rb{self.letter}", g=SHORT)
            yield failing(
                f"{self.b} {what}", f"{what} in the transistor of pins {pins}",
                (*changed(name, **to), *more), row=(_ROW, mode), of=share * of,
            )  # fmt: skip
        yield failing(f"{self.b} low gain", f"down to a tenth of its gain at pins {pins}",
                      scaled(name, bf=0.1),
                      row=(_ROW, "open"), of=0.15 * of, test_out=0.5)  # fmt: skip
