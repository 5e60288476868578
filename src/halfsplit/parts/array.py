"""Darlington driver arrays of the ULN2003A, ULN2803A and ULN2064B classes."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, OPEN, BaseKind, changed, failing, scaled, terminal
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "DarlingtonArray"]

_ROW = "Microcircuit interface"
_SHEET = "datasheet (absolute maximum ratings), from memory"
_TRANSISTOR = {"n": 1.0, "br": 1.0, "gbe": OPEN, "gbc": OPEN, "gce": OPEN}
_IS = Spread(relative=0.4, shape="log", together="die")
_BF = Spread(relative=0.3, shape="log", together="die")
_OHMS = Spread(relative=0.25, together="die")
_ONE = Spread(relative=0.5, shape="log")
_COLLECTOR = 1.4
"""Ohm in the collector: the slope of the saturation voltage from 100 to 350 mA."""


@dataclass(frozen=True, kw_only=True)
class DarlingtonArray(BaseKind):
    """``pairs``: (input, output, common of its clamp) pins of each channel.

    A channel: ``r_in`` to the base, behind a zener of ``zener`` V where there is one, 7.2 kΩ and
    3 kΩ across the junctions, clamp diode to its common, substrate diodes from ground to input
    and output. ``more_grounds`` are joined to ``ground`` inside.
    """

    pairs: tuple[tuple[str, str, str], ...]
    ground: str
    r_in: float
    more_grounds: tuple[str, ...] = ()
    emitters: tuple[str, ...] = ()
    """Of each channel, where they are not the ground."""
    volts: float = 50.0
    amps: float = 0.5
    area: float = 0.0
    """Of a channel against one of 0.5 A; 0: as its rated current."""
    zener: float = 0.0

    def elements(self, part: Part) -> Sequence[Element]:
        found = [
            _ohms(f"tab {pin}", terminal(part, self.ground), pin, 0.01, Spread())
            for pin in self.more_grounds
            if pin in part.pins
        ]
        for into, out, com in self._channels(part):
            found += self._channel(part, into, out, com)
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        channels = self._channels(part)
        clamped = {out: com in part.pins for _, out, com in channels}
        outs = [out for _, out, _ in channels if out in part.pins]
        ins = [(into, out) for into, out, _ in channels if into in part.pins]
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
                        self._pin_open(out, clamped[out]), row=(_ROW, "output open"),
                        of=0.8 * of, pin=out),
                failing(f"{out} weak", f"weak at output {out}",
                        scaled(f"q2 {out}", bf=0.05),
                        row=(_ROW, "output open"), of=0.2 * of, pin=out, test_out=0.4),
            ]  # fmt: skip
            if clamped[out]:
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
        commons = [com for com in dict.fromkeys(com for *_, com in self.pairs)
                   if any(each == com and out in outs and clamped[out]
                          for _, out, each in channels)]  # fmt: skip
        for common in commons:
            all_clamps: list[Change] = []
            for _, out, com in channels:
                if com == common and out in outs:
                    all_clamps += changed(f"clamp {out}", **dead_diode())
            found.append(
                failing(f"{common} common clamp open", "open at the common pin of its clamp diodes "
                        f"({common}) inside", all_clamps, row=(_ROW, "supply open"),
                        of=0.5 / len(commons), pin=common)
            )  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="output voltage", value=self.volts, unit="V", source=_SHEET),
            Rating(name="output current", value=self.amps, unit="A", source=_SHEET),
            Rating(name="input voltage", value=30.0, unit="V", source=_SHEET),
        )

    def _channels(self, part: Part) -> tuple[tuple[str, str, str], ...]:
        return tuple(pair for pair in self.pairs if pair[0] in part.pins or pair[1] in part.pins)

    def _channel(self, part: Part, into: str, out: str, com: str) -> list[Element]:
        ground = terminal(part, self.ground)
        at = self.pairs.index((into, out, com))
        emitter = terminal(part, self.emitters[at]) if self.emitters else ground
        base, middle, collector = f"~b{out}", f"~m{out}", f"~c{out}"
        wired = out in part.pins
        kept = {**_TRANSISTOR, "bvce": 1.5 * self.volts}
        size = self.area or self.amps / 0.5
        found = [
            Element(name=f"q1 {out}", law=Bipolar(), terminals=(collector, base, middle),
                    params={**kept, "is_": 5e-14 * size, "bf": 60.0},
                    spread={"is_": _IS, "bf": _BF}),
            Element(name=f"q2 {out}", law=Bipolar(), terminals=(collector, middle, emitter),
                    params={**kept, "is_": 5e-13 * size, "bf": 60.0, "gce": 1e-9},
                    spread={"is_": _IS, "bf": _BF}),
            _ohms(f"r1 {out}", base, middle, 7200.0, _OHMS),
            _ohms(f"r2 {out}", middle, emitter, 3000.0, _OHMS),
        ]  # fmt: skip
        if into in part.pins:
            behind = f"~z{out}" if self.zener else base
            found += [
                _ohms(f"rin {out}", into, behind, self.r_in, _OHMS),
                _diode(f"sub {into}", ground, into, 1.8 * self.volts),
            ]
            if self.zener:
                found.append(_diode(f"zener {out}", base, behind, self.zener))
        if wired:
            found += [
                _ohms(f"rc {out}", out, collector, _COLLECTOR / size, _OHMS),
                _diode(f"sub {out}", ground, out, 1.8 * self.volts),
            ]
            if com in part.pins:
                found.append(_diode(f"clamp {out}", out, com, 1.8 * self.volts, is_=1e-13, n=1.7))
        return found

    def _pin_open(self, out: str, com: bool) -> tuple[Change, ...]:
        lost = (*changed(f"rc {out}", g=OPEN), *changed(f"sub {out}", **dead_diode()))
        return (*lost, *changed(f"clamp {out}", **dead_diode())) if com else lost


def _ohms(name: str, first: str, second: str, ohms: float, spread: Spread) -> Element:
    return Element(name=name, law=Conductance(), terminals=(first, second),
                   params={"g": 1.0 / ohms}, spread={"g": spread})  # fmt: skip


def _diode(
    name: str, anode: str, cathode: str, breaks_at: float, is_: float = 1e-14, n: float = 1.1
) -> Element:
    return Element(name=name, law=Diode(), terminals=(anode, cathode),
                   params={"is_": is_, "n": n, "bv": breaks_at, "nbv": 1.0, "gp": OPEN},
                   spread={"is_": _ONE})  # fmt: skip


def _opposite(
    name: str, channels: int, r_in: float, *, volts: float = 50.0, zener: float = 0.0,
    types: Sequence[str] = (),
) -> DarlingtonArray:  # fmt: skip
    """Inputs from pin 1 up, outputs opposite, then ground and common."""
    ground, com = str(channels + 1), str(channels + 2)
    outs = [str(2 * channels + 3 - n) for n in range(1, channels + 1)]
    pins = [PinWord(name=str(n), role="in", title=f"input {n}", other_names=(f"{n}B",))
            for n in range(1, channels + 1)]  # fmt: skip
    pins.append(PinWord(name=ground, role="ground", title="ground", other_names=("GND", "E")))
    pins.append(PinWord(name=com, title="common of the clamp diodes", other_names=("COM",)))
    pins += [PinWord(name=outs[n - 1], role="oc", title=f"output {n}", other_names=(f"{n}C",))
             for n in range(channels, 0, -1)]  # fmt: skip
    return DarlingtonArray(
        pairs=tuple((str(n), out, com) for n, out in enumerate(outs, start=1)),
        ground=ground,
        r_in=r_in,
        volts=volts,
        zener=zener,
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        word=KindWord(
            name=name,
            title=f"Darlington array, {channels} channels",
            pins=tuple(pins),
            help="Open-collector drivers with clamp diodes to the common pin; unused channels "
            "may be left out.",
            example=f"U5 {name} 1=A {ground}=GND {com}=+24 {outs[0]}=PHA",
        ),
    )


def _quad(name: str, r_in: float, volts: float, types: Sequence[str] = ()) -> DarlingtonArray:
    """Four channels of 1.5 A with cooling tabs (pins 4, 5, 12, 13)."""
    pairs = (("3", "2", "1"), ("6", "8", "9"), ("11", "10", "9"), ("15", "16", "1"))
    titles = {"1": "K1", "9": "K2", "4": "GND", "5": "GND", "12": "GND", "13": "GND"}
    for number, (into, out, _) in enumerate(pairs, start=1):
        titles |= {into: f"{number}B", out: f"{number}C"}
    roles = {**{into: "in" for into, *_ in pairs}, **{out: "oc" for _, out, _ in pairs},
             **dict.fromkeys(("4", "5", "12", "13"), "ground")}  # fmt: skip
    return DarlingtonArray(
        pairs=pairs, ground="4", more_grounds=("5", "12", "13"), r_in=r_in, volts=volts, amps=1.5,
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        word=KindWord(
            name=name, title="Darlington array, four channels of 1.5 A",
            pins=tuple(
                PinWord(name=str(n), role=roles.get(str(n), "passive"), title=titles[str(n)],
                        other_names=() if titles[str(n)] == "GND" else (titles[str(n)],))
                if str(n) in titles
                else PinWord(name=str(n), role="nc", title="not connected")
                for n in range(1, 17)
            ),
            help="Clamp diodes go to the common pin next to them (1 or 9; the pairing is assumed, "
            "both are mostly on one supply).",
            example=f"U5 {name} 3=A 4=GND 1=+24 2=PHA",
        ),
    )  # fmt: skip


_BASE_ALONE = 1.0
"""Ohm in the input of an array without resistors."""

KINDS = (
    _opposite("ULN2001A", 7, _BASE_ALONE, types=("MC1411",)),
    _opposite("ULN2002A", 7, 10500.0, zener=7.0, types=("MC1412",)),
    _opposite("ULN2003A", 7, 2700.0, types=("ULN2003", "MC1413")),
    _opposite("ULN2004A", 7, 10500.0, types=("ULN2004", "MC1416")),
    _opposite("ULN2023A", 7, 2700.0, volts=95.0),
    _opposite("ULN2024A", 7, 10500.0, volts=95.0),
    _opposite("75468", 7, 2700.0, volts=100.0),
    _opposite("75469", 7, 10500.0, volts=100.0),
    _opposite("ULN2801A", 8, _BASE_ALONE),
    _opposite("ULN2802A", 8, 10500.0, zener=7.0),
    _opposite("ULN2803A", 8, 2700.0, types=("ULN2803",)),
    _opposite("ULN2804A", 8, 10500.0, types=("ULN2804",)),
    _quad("ULN2064B", 350.0, 50.0, ("ULN2064", "UDN2064")),
    _quad("ULN2065B", 350.0, 80.0, ("ULN2065", "UDN2065")),
)
"""Input circuits by the datasheets of the ULN2001A to 2004A (2.7 kilohm, 10.5 kilohm, 7 V zener:
read) and of the ULN2064B (350 ohm: from memory; the place of its pins as in the ULN2068B: read)."""
