"""Timers: a ladder, two comparators, a latch and real output transistors.

Block diagram and output stage as the 555 data sheets draw them (from memory); numbers are this
file's own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from halfsplit.board.model import Part
from halfsplit.errors import TrialError
from halfsplit.frozen import dataclass
from halfsplit.parts.registry import KINDS
from halfsplit.parts.timer import Timer, TimerPins
from halfsplit.trial import spice_models as models
from halfsplit.trial.sheet import Sheet, Wrong
from halfsplit.trial.spice_chip import Bit

__all__ = ["STORING"]

_OPEN = 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class _Die:
    """Nodes of the supply; ``awake`` is 1 where there is enough between them."""

    vcc: str
    gnd: str
    awake: str


def _timer(sheet: Sheet, part: Part, wrong: Wrong) -> list[Bit]:
    kind = KINDS.get(part.kind)
    if not isinstance(kind, Timer):
        raise TrialError(f"expected a timer, got {part.kind!r} ({part.designator})")
    vcc, gnd = sheet.pin(part, kind.supply), sheet.pin(part, kind.ground)
    awake = f"(0.5+0.5*tanh(3*(v({vcc},{gnd})-2.6)))"
    inside = _Die(vcc=vcc, gnd=gnd, awake="0" if wrong.is_("supply open") else awake)
    own = 5e-3 * sheet.factor(0.25)
    sheet.add(f"{sheet.name('b', part, 'own')} {vcc} {gnd} i={own:.4g}*{inside.awake}")
    units = [
        (letter, pins)
        for letter, pins in kind.units
        if any(pin in part.pins for pin in (pins.out, pins.discharge, pins.trigger, pins.threshold))
    ]
    return [_unit(sheet, part, wrong, letter, pins, inside) for letter, pins in units]


def _unit(sheet: Sheet, part: Part, wrong: Wrong, letter: str, pins: TimerPins, die: _Die) -> Bit:
    vcc, gnd = die.vcc, die.gnd
    trigger, threshold = sheet.pin(part, pins.trigger), sheet.pin(part, pins.threshold)
    reset, control = sheet.pin(part, pins.reset), sheet.pin(part, pins.control)
    third, ladder = sheet.inner(part, f"third{letter}"), 5e3 * sheet.near(1.0, 0.2)
    off = 2.0 if wrong.is_(f"{pins.control} thresholds off") else 1.0
    steps = (("top", vcc, control, ladder * off), ("middle", control, third, ladder),
             ("foot", third, gnd, ladder))  # fmt: skip
    for what, a, b, ohms in steps:
        sheet.ohms(sheet.name("r", part, f"{what}{letter}"), a, b, ohms)
    sheet.ohms(sheet.name("r", part, f"trig{letter}"), vcc, trigger, 4e7)
    sheet.ohms(sheet.name("r", part, f"thres{letter}"), threshold, gnd, 2e8)
    sheet.ohms(sheet.name("r", part, f"reset{letter}"), vcc, reset, 2e6)
    low, high = (0.01 * float(sheet.rng.standard_normal()) for _ in range(2))
    levels = {
        "s": f"0.5+0.5*tanh(150*(v({third},{trigger})+{low:.4g}))",
        "c": f"0.5+0.5*tanh(150*(v({threshold},{control})+{high:.4g}))",
        "f": f"0.5+0.5*tanh(25*(v({reset},{gnd})-0.7))",
    }
    if wrong.is_(f"{pins.trigger} trigger dead"):
        levels["s"] = "0"
    if wrong.is_(f"{pins.threshold} threshold dead"):
        levels["c"] = "0"
    held = sheet.name("v", part, f"bit{letter}")
    sheet.volts(held, sheet.inner(part, f"q{letter}"), "0", 0.0, knob=True)
    node = {name: sheet.inner(part, f"{name}{letter}") for name in (*levels, "q", "fh", "fl")}
    s, c, f = (f"v({node[name]})" for name in "scf")
    levels |= {
        "fh": f"min({f},{s})",
        "fl": f"max(1-{f},min({c},1-{s}))",
    }
    for name, told in levels.items():
        sheet.add(f"{sheet.name('b', part, name + letter)} {node[name]} 0 v={told}")
    level = f"v({node['q']})"  # the latch alone: a comparator must not hold it half way
    _output(sheet, part, wrong, pins.out, level, die)
    _discharge(sheet, part, wrong, pins.discharge, level, die)
    return Bit(source=held, clock="", data="", edge=True, force_high=node["fh"],
               force_low=node["fl"])  # fmt: skip


def _output(sheet: Sheet, part: Part, wrong: Wrong, out: str, level: str, die: _Die) -> None:
    """A Darlington above, one transistor below."""
    vcc, gnd = die.vcc, die.gnd
    if wrong.is_(f"{out} stuck low", f"{out} stuck high"):
        level = "1" if wrong.mode.endswith("high") else "0"
    inside, base, middle = (sheet.inner(part, f"{name}{out}") for name in ("o", "u", "m"))
    drive, push = sheet.inner(part, f"d{out}"), sheet.inner(part, f"b{out}")
    kind = models.npn(sheet, is_=2e-15, bf=80.0, br=1.0, ikf=0.3, rb=5.0, rc=2.0, re=0.3,
                      spread=0.15)  # fmt: skip
    sheet.add(
        f"{sheet.name('b', part, f'd{out}')} {drive} {gnd} v=v({vcc},{gnd})*{level}*{die.awake}"
    )
    sheet.ohms(sheet.name("r", part, f"u{out}"), drive, base, 6.8e3 * sheet.near(1.0, 0.2))
    sheet.add(f"{sheet.name('q', part, f'u1{out}')} {vcc} {base} {middle} {kind}")
    sheet.add(f"{sheet.name('q', part, f'u2{out}')} {vcc} {middle} {inside} {kind}")
    sheet.ohms(sheet.name("r", part, f"m{out}"), middle, inside, 4.7e3)
    sheet.add(f"{sheet.name('b', part, f'b{out}')} 0 {push} i=6m*(1-{level})*{die.awake}")
    sheet.ohms(sheet.name("r", part, f"b{out}"), push, gnd, 10e3)
    sink = models.npn(sheet, is_=2e-14, bf=60.0, br=0.3, ikf=0.4, rb=3.0, rc=7.0, re=0.3,
                      spread=0.15)  # fmt: skip
    sheet.add(f"{sheet.name('q', part, f'l{out}')} {inside} {push} {gnd} {sink}")
    _substrate(sheet, part, out, inside, gnd)
    sheet.ohms(sheet.name("r", part, f"o{out}"), inside, sheet.pin(part, out),
               _OPEN if wrong.is_(f"{out} output open") else 0.05)  # fmt: skip


def _discharge(sheet: Sheet, part: Part, wrong: Wrong, pin: str, level: str, die: _Die) -> None:
    if wrong.is_(f"{pin} discharge short"):
        level = "0"
    base, inside = sheet.inner(part, f"b{pin}"), sheet.inner(part, f"o{pin}")
    sheet.add(f"{sheet.name('b', part, f'b{pin}')} 0 {base} i=3m*(1-{level})*{die.awake}")
    sheet.ohms(sheet.name("r", part, f"b{pin}"), base, die.gnd, 10e3)
    kind = models.npn(sheet, is_=1e-14, bf=60.0, br=0.3, ikf=0.1, rb=3.0, rc=10.0, re=0.3,
                      spread=0.15)  # fmt: skip
    sheet.add(f"{sheet.name('q', part, pin)} {inside} {base} {die.gnd} {kind}")
    _substrate(sheet, part, pin, inside, die.gnd)
    sheet.ohms(sheet.name("r", part, f"o{pin}"), inside, sheet.pin(part, pin),
               _OPEN if wrong.is_(f"{pin} discharge open") else 0.05)  # fmt: skip


def _substrate(sheet: Sheet, part: Part, pin: str, collector: str, gnd: str) -> None:
    """The junction that isolates a collector from the ground pin."""
    kind = models.diode(sheet, is_=2e-15, n=1.0, rs=0.0, bv=50.0)
    sheet.add(f"{sheet.name('d', part, f'sub{pin}')} {gnd} {collector} {kind}")


STORING: Mapping[str, Callable[[Sheet, Part, Wrong], list[Bit]]] = {"555": _timer, "556": _timer}
"""Kind -> how it is written; returns what it stores."""
