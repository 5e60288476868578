"""Timers: 555, and 556 with two of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, BaseKind, changed, connected, failing, terminal
from halfsplit.parts._dip import draws, numbered, supply_open
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve.law import Clocked, Element, Spread
from halfsplit.solve.laws.analog import Comparator
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.linear import Conductance, Source
from halfsplit.solve.laws.logic import LogicOutput

__all__ = ["KINDS", "Timer", "TimerPins"]

_ROW = "Microcircuit linear"
_SHEET = "datasheet, from memory"
_LADDER = 5e3
"""Each of the three resistors that set a third and two thirds of the supply, ohm."""
_RESET_AT = 0.7
_SET, _CLEAR, _FREE = "s", "c", "n"
_HELD = Clocked(clock="0", data="0", force_high=f"{_FREE} & {_SET}",
                force_low=f"!{_FREE} | ({_CLEAR} & !{_SET})")  # fmt: skip
"""Reset goes before trigger, trigger before threshold."""
_LEVEL = f"{_FREE} & ({_SET} | q)"
"""Threshold goes by way of the latch: by itself it would hold the output half way, where its own
discharge keeps it."""
_GATE = {
    "vth": 0.5, "rel": 1.0, "steep": 6.0, "a0": 0.0, "a1": 1.0, "e0": 1.0, "e1": 0.0, "bit": 0.0,
    "kl": 1.0, "kh": 1.0, "on_at": 3.0, "leak": 1e-9, "swing": 0.0,
    **{f"{what}{k}": value for k in (1, 2, 3) for what, value in (("o", 0.0), ("w", 1.0))},
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class TimerPins:
    """Pins of one timer."""

    discharge: str
    threshold: str
    control: str
    reset: str
    out: str
    trigger: str


@dataclass(frozen=True, kw_only=True)
class Timer(BaseKind):
    """Two comparators on a ladder of resistors, a latch, an output and a discharge transistor; the
    collectors of both are isolated from the substrate, the ground pin, by a junction."""

    units: tuple[tuple[str, TimerPins], ...]
    ground: str
    supply: str

    def elements(self, part: Part) -> Sequence[Element]:
        supply, ground = terminal(part, self.supply), terminal(part, self.ground)
        found: list[Element] = []
        for letter, pins in self._used(part):
            found += _unit(part, letter, pins, supply, ground)
        return (*found, *draws(supply, ground, 3e-3)) if found else ()

    def modes(self, part: Part) -> Sequence[Mode]:
        used = self._used(part)
        found: list[Mode] = []
        for letter, pins in used:
            found += _unit_modes(letter, pins, 1.0 / len(used))
        if used:
            ends = (f"{end} {letter}" for letter, _ in used for end in ("out", "dis"))
            asleep = [one for end in ends for one in changed(end, on_at=99.0)]
            found.append(supply_open(_ROW, asleep, entry="no output", of=0.3))
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors", float(len(self.units)))

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="supply", value=16.0, unit="V", source=_SHEET),
            Rating(name="output current", value=0.2, unit="A", source=_SHEET),
        )

    def _used(self, part: Part) -> tuple[tuple[str, TimerPins], ...]:
        return tuple(
            (letter, pins)
            for letter, pins in self.units
            if any(getattr(pins, field.name) in part.pins for field in fields(pins))
        )


def _unit(part: Part, letter: str, pins: TimerPins, supply: str, ground: str) -> Sequence[Element]:
    control, lower = terminal(part, pins.control), f"~third {letter}"
    states = tuple(f"~{name} {letter}" for name in (_SET, _CLEAR, _FREE))
    ladder = {"g": Spread(relative=0.15, together="die")}
    ends = ((supply, control), (control, lower), (lower, ground))
    found = [
        Element(name=f"r{k} {letter}", law=Conductance(), terminals=pair,
                params={"g": 1.0 / _LADDER}, spread=ladder)
        for k, pair in enumerate(ends, start=1)
    ]  # fmt: skip
    found.append(
        Element(name=f"reset {letter}", law=Source(), terminals=(f"~0.7 {letter}", ground),
                params={"g": 1e-3, "volts": _RESET_AT})
    )  # fmt: skip
    compared = (
        ("set", states[0], lower, terminal(part, pins.trigger), 1e-7),
        ("clear", states[1], terminal(part, pins.threshold), control, 0.0),
        ("free", states[2], terminal(part, pins.reset), f"~0.7 {letter}", 1e-6),
    )
    for name, out, plus, minus, bias in compared:
        found += [
            Element(name=f"{name} {letter}", law=Comparator(),
                    terminals=(out, supply, ground, plus, minus),
                    params={"vos": 0.0, "steep": 40.0, "a0": 0.0, "a1": 1.0, "k": 1.0,
                            "il": 2e-3, "rl": 50.0, "on_at": 2.5, "ib": bias,
                            "gp": 0.0, "gm": 0.0, "leak": 0.0},
                    spread={"vos": Spread(absolute=0.01)}),
            Element(name=f"load {name} {letter}", law=Conductance(), terminals=(supply, out),
                    params={"g": 2e-5}),
        ]  # fmt: skip
    names = (_SET, _CLEAR, _FREE)
    strong = {"il": 0.25, "rl": 8.0, "off": 0.05, "ih": 0.25, "rh": 3.0, "drop": 1.3}
    sink = {"il": 0.1, "rl": 10.0, "off": 0.02, "ih": 1e-3, "rh": 1e3, "drop": 0.0}
    found += [
        Element(name=f"out {letter}", law=LogicOutput(inputs=names, level=_LEVEL),
                terminals=(terminal(part, pins.out), supply, ground, *states),
                params={**_GATE, **strong}, clocked=_HELD,
                spread={"drop": Spread(absolute=0.2, together="die"),
                        "rl": Spread(relative=0.3, shape="log", together="die")}),
        Element(name=f"dis {letter}", law=LogicOutput(inputs=names, level=_LEVEL, high="none"),
                terminals=(terminal(part, pins.discharge), supply, ground, *states),
                params={**_GATE, **sink}, clocked=_HELD),
    ]  # fmt: skip
    found += [
        Element(name=f"substrate {end} {letter}", law=Diode(),
                terminals=(ground, terminal(part, pin)),
                params={"is_": 1e-14, "n": 1.0, "bv": 40.0, "nbv": 1.0, "gp": 0.0},
                spread={"is_": Spread(relative=0.7, shape="log", together="die")})
        for end, pin in (("out", pins.out), ("dis", pins.discharge))
    ]  # fmt: skip
    return found


def _unit_modes(letter: str, pins: TimerPins, of: float) -> Sequence[Mode]:
    wrong = (_ROW, "improper output")

    def mode(name: str, words: str, share: float, pin: str, *changes: Change) -> Mode:
        return failing(name, words, changes, row=wrong, of=share * of, pin=pin, test_out=0.9)

    out, dis = f"out {letter}", f"dis {letter}"
    return (
        mode(f"{pins.out} stuck low", f"stuck low at {pins.out}", 0.25, pins.out,
             *changed(out, a0=0.0, a1=0.0)),
        mode(f"{pins.out} stuck high", f"stuck high at {pins.out}", 0.2, pins.out,
             *changed(out, a0=1.0, a1=0.0)),
        mode(f"{pins.discharge} discharge open", f"never discharging at {pins.discharge}", 0.15,
             pins.discharge, *changed(dis, kl=0.0),
             *changed(f"substrate {dis}", **dead_diode())),
        mode(f"{pins.discharge} discharge short", f"always discharging at {pins.discharge}", 0.1,
             pins.discharge, *changed(dis, a0=0.0, a1=0.0)),
        mode(f"{pins.trigger} trigger dead", f"deaf to its trigger {pins.trigger}", 0.1,
             pins.trigger, *changed(f"set {letter}", a0=0.0, a1=0.0)),
        mode(f"{pins.threshold} threshold dead", f"deaf to its threshold {pins.threshold}", 0.1,
             pins.threshold, *changed(f"clear {letter}", a0=0.0, a1=0.0)),
        mode(f"{pins.control} thresholds off", "off by a third in its thresholds (ladder open)",
             0.1, "", *changed(f"r1 {letter}", g=0.5 / _LADDER)),
        failing(f"{pins.out} output open", f"open at output {pins.out} inside",
                (*changed(out, kl=0.0, kh=0.0, leak=OPEN),
                 *changed(f"substrate {out}", **dead_diode())),
                row=(_ROW, "no output"), of=0.7 * of, pin=pins.out),
    )  # fmt: skip


_HELP = (
    "Low trigger (below a third of the supply) sets the output high, threshold above two thirds "
    "low, reset below 0.7 V low at once. Between them it keeps what it had, so both are predicted "
    "until a state's steps settle it. Running free, its capacitor and output have no steady value: "
    "look with a scope."
)

KINDS = (
    Timer(
        units=(("a", TimerPins(trigger="2", out="3", reset="4", control="5", threshold="6",
                               discharge="7")),),
        ground="1", supply="8",
        types=tuple(TypeWord(name=name, kind="555") for name in ("NE555", "LM555", "SE555")),
        word=KindWord(
            name="555", title="Timer", help=_HELP, supply_volts=(4.5, 16.0),
            pins=numbered("ground/GND in/TRIG out/OUT in/RESET passive/CONT in/THRES oc/DISCH "
                          "supply/VCC"),
            example="U9 555 2=TRIG 3=OUT 4=+5 6=CAP 7=CAP",
        ),
    ),
    Timer(
        units=(("a", TimerPins(discharge="1", threshold="2", control="3", reset="4", out="5",
                               trigger="6")),
               ("b", TimerPins(trigger="8", out="9", reset="10", control="11", threshold="12",
                               discharge="13"))),
        ground="7", supply="14",
        types=(TypeWord(name="NE556", kind="556"), TypeWord(name="LM556", kind="556")),
        word=KindWord(
            name="556", title="Timer, dual", help=_HELP, supply_volts=(4.5, 16.0),
            pins=numbered("oc/1DISCH/a in/1THRES/a passive/1CONT/a in/1RESET/a out/1OUT/a "
                          "in/1TRIG/a ground/GND in/2TRIG/b out/2OUT/b in/2RESET/b "
                          "passive/2CONT/b in/2THRES/b oc/2DISCH/b supply/VCC"),
            example="U9 556 6=TRIG 5=OUT 4=+5 2=CAP 1=CAP",
        ),
    ),
)  # fmt: skip
"""Pins by the datasheets, from memory."""
