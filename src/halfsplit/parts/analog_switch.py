"""CMOS analog switches and multiplexers: each switch an N and a P transistor side by side.

The gates of a pair stand at the two supplies, as the control inputs say, so that resistance follows
the supply and a signal beyond the supplies passes as in the chip.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import BaseKind, changed, connected, failing, terminal
from halfsplit.parts._dip import numbered
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._logic_chips import rename
from halfsplit.parts._supply import supply_elements
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve import expression
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.logic import LogicOutput
from halfsplit.solve.laws.mosfet import Mosfet

__all__ = ["KINDS", "AnalogSwitch"]

_ROW = "Microcircuit digital MOS"
_SHEET = "data sheet, from memory"
_THRESHOLD = 0.69
_FAMILY = 0.5
"""Control inputs switch at half the supply."""
_SHIFTED = 0.75
"""Of the whole supply: tells the control's levels when the signal's low supply is below ground."""
_LEAK = 1e-10
_STUCK_OPEN = 1e-12
_NO_JUNCTION = 1e-30
_INPUT_SHORT = 0.2


@dataclass(frozen=True, kw_only=True)
class AnalogSwitch(BaseKind):
    """``switches``: (name, one side, other side, when it is on), the last an expression over the
    titles of the control pins. ``beta`` A/V^2 of each transistor."""

    switches: tuple[tuple[str, str, str, str], ...]
    beta: float

    def elements(self, part: Part) -> Sequence[Element]:
        used = self._used(part)
        if not used:
            return ()
        found = [*supply_elements("icc", *self._logic(part), 1e-6, Spread(relative=0.25))]
        for pin in self._signals(part):
            high, low = self._rails(part)
            found += _clamps(part, pin, high, low)
        for pin in self._controls(part):
            found += _clamps(part, pin, *self._logic(part))
        for switch in used:
            found += self._switch(part, *switch)
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        used, controls = self._used(part), self._controls(part)
        if not used:
            return ()
        found: list[Mode] = []
        for name, one, other, _ in used:
            found += self._broken(name, f"{one} to {other}", 1.0 / len(used))
        for pin in controls:
            found += self._blind(part, pin, used, 1.0 / len(controls))
        asleep = [change for name, *_ in used for change in self._held(name, closed=False)]
        found.append(failing("supply open", "open inside at its supply lead", asleep,
                             row=(_ROW, "supply open"), of=0.9))  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC digital MOS 1-100 gates")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="supply voltage, most", value=18.0, unit="V", source=_SHEET),
            Rating(name="current through a switch", value=10e-3, unit="A", source=_SHEET),
        )

    def _used(self, part: Part) -> tuple[tuple[str, str, str, str], ...]:
        return tuple(each for each in self.switches
                     if each[1] in part.pins and each[2] in part.pins)  # fmt: skip

    def _pin(self, title: str) -> str:
        return next(pin.name for pin in self.word.pins if pin.title == title)

    def _roles(self, role: str) -> list[str]:
        return [pin.name for pin in self.word.pins if pin.role == role]

    def _logic(self, part: Part) -> tuple[str, str]:
        """Supply and ground of the control inputs."""
        return terminal(part, self._roles("supply")[0]), terminal(part, self._roles("ground")[0])

    def _rails(self, part: Part) -> tuple[str, str]:
        """Supplies of the signals: the low one is pin VEE where the chip has one."""
        high, low = self._logic(part)
        apart = [pin.name for pin in self.word.pins if pin.title == "VEE"]
        return (high, terminal(part, apart[0])) if apart else (high, low)

    def _signals(self, part: Part) -> list[str]:
        return [pin for pin in self._roles("passive") if pin in part.pins
                and any(pin in switch[1:3] for switch in self._used(part))]  # fmt: skip

    def _controls(self, part: Part) -> list[str]:
        """Control pins that are connected, or that a switch in use looks at."""
        wanted = {name for each in self._used(part) for name in expression.names(each[3])}
        return [pin.name for pin in self.word.pins
                if pin.role == "in" and (pin.title in wanted or pin.name in part.pins)]  # fmt: skip

    def _switch(self, part: Part, name: str, one: str, other: str, on: str) -> Iterator[Element]:
        logic, (high, low) = self._logic(part), self._rails(part)
        titles = tuple(expression.names(on))
        yield _stage(f"core {name}", f"~{name}", logic, titles, on, _FAMILY,
                     tuple(terminal(part, self._pin(title)) for title in titles))  # fmt: skip
        for gate, level in (("n", "x"), ("p", "!x")):
            yield _stage(f"gate{gate} {name}", f"~{name}{gate}", (high, low), ("x",), level,
                         _SHIFTED, (f"~{name}",))  # fmt: skip
        for sign, gate in ((1.0, "n"), (-1.0, "p")):
            yield Element(
                name=f"{gate} {name}", law=Mosfet(sign=sign),
                terminals=(one, f"~{name}{gate}", other),
                params={"k": self.beta, "vth": _THRESHOLD, "gds": _LEAK, "ggs": _STUCK_OPEN,
                        "ggd": _STUCK_OPEN},
                spread={"k": Spread(relative=0.3, shape="log", together="die"),
                        "vth": Spread(absolute=0.15, shape="normal", together="die")},
            )  # fmt: skip

    def _held(self, name: str, *, closed: bool) -> tuple[Change, ...]:
        """The switch always closed, or always open."""
        return changed(f"core {name}", a0=1.0 if closed else 0.0, a1=0.0)

    def _broken(self, name: str, where: str, of: float) -> Iterator[Mode]:
        yield failing(f"{name} stuck open", f"never conducting, pins {where}",
                      self._held(name, closed=False), row=(_ROW, "output open"),
                      of=0.7 * of, test_out=0.9)  # fmt: skip
        yield failing(f"{name} stuck closed", f"always conducting, pins {where}",
                      self._held(name, closed=True), row=(_ROW, "output stuck high"), of=of,
                      test_out=0.9)  # fmt: skip
        yield failing(f"{name} leaky", f"leaking when off, pins {where}",
                      changed(f"n {name}", gds=1e-5), row=(_ROW, "output stuck low"), of=of,
                      test_out=0.6)  # fmt: skip
        weak = tuple(Change(element=f"{gate} {name}", param="k", value=0.1, scale=True)
                     for gate in "np")  # fmt: skip
        yield failing(f"{name} weak", f"of ten times its resistance, pins {where}", weak,
                      row=(_ROW, "output open"), of=0.3 * of, test_out=0.6)  # fmt: skip

    def _blind(
        self, part: Part, pin: str, used: Sequence[tuple[str, str, str, str]], of: float
    ) -> Iterator[Mode]:
        title = next(each.title for each in self.word.pins if each.name == pin)
        gone = [
            change
            for name in (f"clamp{pin}", f"top{pin}")
            for change in changed(name, is_=_NO_JUNCTION, gp=_STUCK_OPEN)
        ]
        for level, word in ((1.0, "high"), (0.0, "low")):
            seen = [
                change
                for name, _, _, on in used
                if title in (names := tuple(expression.names(on)))
                for change in _sees(f"core {name}", names.index(title) + 1, level)
            ]
            yield failing(
                f"{pin} open, read {word}",
                f"open inside at control pin {pin}, which it takes for {word}",
                (*gone, *seen), row=(_ROW, "input open"), of=0.45 * of, pin=pin,
            )  # fmt: skip
        yield failing(f"{pin} short", f"shorted to ground inside at control pin {pin}",
                      changed(f"clamp{pin}", gp=_INPUT_SHORT), row=(_ROW, "input open"),
                      of=0.1 * of, pin=pin)  # fmt: skip


def _clamps(part: Part, pin: str, high: str, low: str) -> Iterator[Element]:
    here = terminal(part, pin)
    for name, anode, cathode in ((f"clamp{pin}", low, here), (f"top{pin}", here, high)):
        yield Element(
            name=name, law=Diode(), terminals=(anode, cathode),
            params={"is_": 1e-14, "n": 1.0, "bv": 1e3, "nbv": 2.0, "gp": _LEAK},
            spread={"is_": Spread(relative=0.5, shape="log", together="die")},
        )  # fmt: skip


def _sees(element: str, place: int, level: float) -> tuple[Change, ...]:
    return changed(element, **{f"o{place}": level, f"w{place}": 0.0})


def _stage(
    name: str, at: str, rails: tuple[str, str], inputs: tuple[str, ...], level: str,
    threshold: float, looks_at: tuple[str, ...],
) -> Element:  # fmt: skip
    """A gate inside, between the rails given."""
    inner = {title: f"p{k}" for k, title in enumerate(inputs, start=1)}
    params = {
        "vth": threshold, "rel": 1.0, "steep": 20.0, "swing": 0.0, "a0": 0.0, "a1": 1.0,
        "e0": 1.0, "e1": 0.0, "bit": 0.0, "kl": 1.0, "kh": 1.0, "il": 3e-3, "rl": 400.0,
        "off": 0.0, "ih": 3e-3, "rh": 400.0, "drop": 0.0, "on_at": 2.0, "leak": 1e-9,
    }  # fmt: skip
    for k in range(1, len(inputs) + 1):
        params |= {f"o{k}": 0.0, f"w{k}": 1.0}
    return Element(
        name=name, params=params, terminals=(at, *rails, *looks_at),
        law=LogicOutput(inputs=tuple(inner.values()), level=rename(level, inner), high="mos"),
    )  # fmt: skip


_BETA = 5.9e-4
"""470, 180 and 125 ohm at 5, 10 and 15 V (data sheet of the CD4066B and CD4051B, typical) need
0.59 mA/V^2 and two thresholds of 0.69 V: 470, 197 and 125 ohm."""
_OLD_BETA = 3.7e-4
"""200 ohm at 15 V (data sheet of the CD4016B, typical, from memory)."""
_HELP = (
    "Each switch conducts both ways while its control says so; signals must stay between the "
    "supplies. Resistance falls with the supply, about 470 ohm at 5 V and 125 ohm at 15 V."
)


def _quad(name: str, beta: float, types: Sequence[str]) -> AnalogSwitch:
    sides = (("1", "2", "13"), ("4", "3", "5"), ("8", "9", "6"), ("11", "10", "12"))
    return AnalogSwitch(
        beta=beta,
        switches=tuple((f"{n}", one, other, f"EN{n}") for n, (one, other, _) in
                       enumerate(sides, start=1)),
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        word=KindWord(
            name=name, title="Analog switch, quad, CMOS", help=_HELP, supply_volts=(3.0, 15.0),
            pins=numbered(
                "passive/X1/a passive/Y1/a passive/Y2/b passive/X2/b in/EN2/b in/EN3/c ground/VSS "
                "passive/X3/c passive/Y3/c passive/Y4/d passive/X4/d in/EN4/d in/EN1/a supply/VDD"
            ),
            example=f"U9 {name} 1=A 2=B 13=ON",
        ),
    )  # fmt: skip


def _multiplexer(
    name: str, title: str, pins: str, ways: Sequence[tuple[str, str, str]], types: Sequence[str]
) -> AnalogSwitch:
    """``ways``: pin of the common side, pin of the channel, when it is chosen."""
    return AnalogSwitch(
        beta=_BETA,
        switches=tuple((channel, common, channel, f"!INH & {chosen}")
                       for common, channel, chosen in ways),
        types=tuple(TypeWord(name=each, kind=name) for each in types),
        word=KindWord(
            name=name, title=f"Analog multiplexer, {title}, CMOS", pins=numbered(pins),
            help=f"{_HELP} VEE (pin 7) is the signals' low supply: type it, ground or below.",
            supply_volts=(3.0, 15.0),
            example=f"U9 {name} {ways[0][0]}=OUT {ways[0][1]}=IN 6=GND 7=GND 10=SELECT",
        ),
    )  # fmt: skip


def _chosen(bits: str, number: int) -> str:
    """The address ``number`` in an expression; ``bits`` are the inputs, the lowest first."""
    return " & ".join(bit if number >> k & 1 else f"!{bit}" for k, bit in enumerate(bits))


_EIGHT = ("13", "14", "15", "12", "1", "5", "2", "4")
_FOURS = {"13": ("12", "14", "15", "11"), "3": ("1", "5", "2", "4")}
_TWOS = {"A": ("14", "12", "13"), "B": ("15", "2", "1"), "C": ("4", "5", "3")}
"""Pins by TI's data sheet of the CD405xB, SCHS047, and of the CD4066B, SCHS051, table of pins."""

KINDS = (
    _quad("4016", _OLD_BETA, ("CD4016", "CD4016B", "MC14016B")),
    _quad("4066", _BETA, ("CD4066", "CD4066B", "MC14066B")),
    _multiplexer(
        "4051", "8 to 1",
        "passive/X4 passive/X6 passive/X passive/X7 passive/X5 in/INH passive/VEE ground/VSS "
        "in/C in/B in/A passive/X3 passive/X0 passive/X1 passive/X2 supply/VDD",
        [("3", pin, _chosen("ABC", k)) for k, pin in enumerate(_EIGHT)],
        ("CD4051", "CD4051B", "MC14051B"),
    ),
    _multiplexer(
        "4052", "dual 4 to 1",
        "passive/Y0 passive/Y2 passive/Y passive/Y3 passive/Y1 in/INH passive/VEE ground/VSS "
        "in/B in/A passive/X3 passive/X0 passive/X passive/X1 passive/X2 supply/VDD",
        [(common, pin, _chosen("AB", k)) for common, pins in _FOURS.items()
         for k, pin in enumerate(pins)],
        ("CD4052", "CD4052B", "MC14052B"),
    ),
    _multiplexer(
        "4053", "triple 2 to 1",
        "passive/BY passive/BX passive/CY passive/CXY passive/CX in/INH passive/VEE ground/VSS "
        "in/C in/B in/A passive/AX passive/AY passive/AXY passive/BXY supply/VDD",
        [(common, pin, level) for bit, (common, *pins) in _TWOS.items()
         for pin, level in zip(pins, (f"!{bit}", bit), strict=True)],
        ("CD4053", "CD4053B", "MC14053B"),
    ),
)  # fmt: skip
