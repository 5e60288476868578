"""Darlington driver arrays of the ULN2003A class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord
from halfsplit.parts._base import JUNCTION_SHORT, OPEN, BaseKind, changed, failing, terminal
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "DarlingtonArray"]

_ROW = "Microcircuit interface"
_SHEET = "ULN2003A datasheet (absolute maximum ratings), from memory"
_TRANSISTOR = {"n": 1.0, "br": 1.0, "gbe": OPEN, "gbc": OPEN, "gce": OPEN, "bvce": 75.0}
_IS = Spread(relative=0.4, shape="log", together="die")
_BF = Spread(relative=0.3, shape="log", together="die")
_OHMS = Spread(relative=0.25, together="die")
_ONE = Spread(relative=0.5, shape="log")
_COLLECTOR = 1.4
"""Ohm in the collector: the slope of the saturation voltage from 100 to 350 mA."""


@dataclass(frozen=True, kw_only=True)
class DarlingtonArray(BaseKind):
    """``channels`` channels: inputs from pin 1 up, outputs opposite, clamps to ``com``.

    A channel: ``r_in`` to the base, 7.2 kΩ and 3 kΩ across the junctions, clamp diode to COM,
    substrate diodes from ground to input and output.
    """

    channels: int
    r_in: float

    def elements(self, part: Part) -> Sequence[Element]:
        found: list[Element] = []
        for into, out in self._channels(part):
            found += self._channel(part, into, out)
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        channels = self._channels(part)
        com = self.com in part.pins
        outs = [out for _, out in channels if out in part.pins]
        ins = [(into, out) for into, out in channels if into in part.pins]
        found: list[Mode] = []
        for out in outs:
            of = 1.0 / len(outs)
            found += [
                failing(f"{out} short to ground", f"shorted to ground at output {out}",
                        changed(f"q2 {out}", gce=JUNCTION_SHORT), row=(_ROW, "output stuck low"),
                        of=0.6 * of, pin=out),
                failing(f"{out} leaky", f"leaking at output {out}",
                        changed(f"q2 {out}", gce=1e-3), row=(_ROW, "output stuck low"),
                        of=0.2 * of, pin=out, test_out=0.8),
                failing(f"{out} output open", f"open at output {out} inside",
                        self._pin_open(out, com), row=(_ROW, "output open"), of=0.8 * of, pin=out),
                failing(f"{out} weak", f"weak at output {out}",
                        (Change(element=f"q2 {out}", param="bf", value=0.05, scale=True),),
                        row=(_ROW, "output open"), of=0.2 * of, pin=out, test_out=0.4),
            ]  # fmt: skip
            if com:
                found += [
                    failing(f"{out} clamp short", f"shorted in the clamp diode of output {out}",
                            changed(f"clamp {out}", gp=JUNCTION_SHORT),
                            row=(_ROW, "output stuck low"), of=0.2 * of, pin=out),
                    failing(f"{out} clamp open", f"open in the clamp diode of output {out}",
                            changed(f"clamp {out}", **dead_diode()),
                            row=(_ROW, "supply open"), of=0.5 * of, pin=out, test_out=0.8),
                ]  # fmt: skip
        for into, out in ins:
            found.append(
                failing(f"{into} input open", f"open at input {into} inside",
                        (*changed(f"rin {out}", g=OPEN), *changed(f"sub {into}", **dead_diode())),
                        row=(_ROW, "input open"), of=1.0 / len(ins), pin=into)
            )  # fmt: skip
        if com and outs:
            all_clamps: list[Change] = []
            for out in outs:
                all_clamps += changed(f"clamp {out}", **dead_diode())
            found.append(
                failing("common clamp open", "open at the common pin of its clamp diodes inside",
                        all_clamps, row=(_ROW, "supply open"), of=0.5, pin=self.com)
            )  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="output voltage", value=50.0, unit="V", source=_SHEET),
            Rating(name="output current", value=0.5, unit="A", source=_SHEET),
            Rating(name="input voltage", value=30.0, unit="V", source=_SHEET),
        )

    @property
    def ground(self) -> str:
        """Ground pin, after the last input."""
        return str(self.channels + 1)

    @property
    def com(self) -> str:
        """Common pin of the clamp diodes, opposite."""
        return str(self.channels + 2)

    def _channels(self, part: Part) -> tuple[tuple[str, str], ...]:
        pairs = ((str(n), str(2 * self.channels + 3 - n)) for n in range(1, self.channels + 1))
        return tuple((a, b) for a, b in pairs if a in part.pins or b in part.pins)

    def _channel(self, part: Part, into: str, out: str) -> list[Element]:
        ground = terminal(part, self.ground)
        base, middle, collector = f"~b{out}", f"~m{out}", f"~c{out}"
        wired = out in part.pins
        found = [
            Element(name=f"q1 {out}", law=Bipolar(), terminals=(collector, base, middle),
                    params={**_TRANSISTOR, "is_": 5e-14, "bf": 60.0},
                    spread={"is_": _IS, "bf": _BF}),
            Element(name=f"q2 {out}", law=Bipolar(), terminals=(collector, middle, ground),
                    params={**_TRANSISTOR, "is_": 5e-13, "bf": 60.0, "gce": 1e-9},
                    spread={"is_": _IS, "bf": _BF}),
            _ohms(f"r1 {out}", base, middle, 7200.0, _OHMS),
            _ohms(f"r2 {out}", middle, ground, 3000.0, _OHMS),
        ]  # fmt: skip
        if into in part.pins:
            found += [
                _ohms(f"rin {out}", into, base, self.r_in, _OHMS),
                _diode(f"sub {into}", ground, into),
            ]
        if wired:
            found += [
                _ohms(f"rc {out}", out, collector, _COLLECTOR, _OHMS),
                _diode(f"sub {out}", ground, out),
            ]
            if self.com in part.pins:
                found.append(_diode(f"clamp {out}", out, self.com, is_=1e-13, n=1.7))
        return found

    def _pin_open(self, out: str, com: bool) -> tuple[Change, ...]:
        lost = (*changed(f"rc {out}", g=OPEN), *changed(f"sub {out}", **dead_diode()))
        return (*lost, *changed(f"clamp {out}", **dead_diode())) if com else lost


def _ohms(name: str, first: str, second: str, ohms: float, spread: Spread) -> Element:
    return Element(name=name, law=Conductance(), terminals=(first, second),
                   params={"g": 1.0 / ohms}, spread={"g": spread})  # fmt: skip


def _diode(name: str, anode: str, cathode: str, is_: float = 1e-14, n: float = 1.1) -> Element:
    return Element(name=name, law=Diode(), terminals=(anode, cathode),
                   params={"is_": is_, "n": n, "bv": 90.0, "nbv": 1.0, "gp": OPEN},
                   spread={"is_": _ONE})  # fmt: skip


def _kind(name: str, channels: int, r_in: float) -> DarlingtonArray:
    pins = [PinWord(name=str(n), role="in", title=f"input {n}", other_names=(f"{n}B",))
            for n in range(1, channels + 1)]  # fmt: skip
    pins.append(PinWord(name=str(channels + 1), role="ground", title="ground",
                        other_names=("GND", "E")))  # fmt: skip
    pins.append(PinWord(name=str(channels + 2), title="common of the clamp diodes",
                        other_names=("COM",)))  # fmt: skip
    pins += [PinWord(name=str(2 * channels + 3 - n), role="oc", title=f"output {n}",
                     other_names=(f"{n}C",))
             for n in range(channels, 0, -1)]  # fmt: skip
    return DarlingtonArray(
        channels=channels,
        r_in=r_in,
        word=KindWord(
            name=name,
            title=f"Darlington array, {channels} channels",
            pins=tuple(pins),
            help="Open-collector drivers with clamp diodes to the common pin; unused channels "
            "may be left out.",
            example=f"U5 {name} 1=A {channels + 1}=GND {channels + 2}=+24 {2 * channels + 2}=PHA",
        ),
    )


KINDS = (
    _kind("ULN2003A", 7, 2700.0),
    _kind("ULN2004A", 7, 10500.0),
    _kind("ULN2803A", 8, 2700.0),
    _kind("ULN2804A", 8, 10500.0),
)
