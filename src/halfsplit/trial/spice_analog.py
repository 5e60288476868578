"""Comparators, regulators and opto parts: sources for the core, native devices at the pins."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from halfsplit.board.model import Part
from halfsplit.errors import TrialError
from halfsplit.parts.comparator import ComparatorChip
from halfsplit.parts.registry import KINDS
from halfsplit.trial import spice_models as models
from halfsplit.trial import spice_stages as stages
from halfsplit.trial import typed
from halfsplit.trial.sheet import Sheet, Wrong
from halfsplit.trial.spice_junction import leak

__all__ = ["RENDERERS", "SETTABLE"]

_OPEN = 1e9
_BLOCKED = 0.003
_BEYOND = 40.0
"""Ohms for each ampere of rating by which a regulator gives way above its limit: on a short it
gives a few tenths of an ampere more (2.1 A there, 2.4 A at most; LM340 data sheet, from memory)."""
_TAKEN = {1: 5e-3, 2: 0.4e-3, 4: 0.8e-3}
"""Comparators in a case -> what it takes from a supply of 5 V, A: LM311, LM393 and LM339, typical
in their data sheets (from memory)."""


def _comparator(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    """Input bias out of the pins, a steep core, and a transistor with an open collector."""
    kind = KINDS.get(part.kind)
    if not isinstance(kind, ComparatorChip):
        raise TrialError(f"expected a comparator, got {part.kind!r} ({part.designator})")
    vcc, gnd = sheet.pin(part, kind.supply), sheet.pin(part, kind.ground)
    stages.supply_current(sheet, part, vcc, gnd, _TAKEN[len(kind.units)] * sheet.factor(0.3))
    large = kind.name in ("LM111", "LM211", "LM311")
    for unit in kind.units:
        if any(pin in part.pins for pin in unit[1:]):
            _unit(sheet, part, wrong, unit, vcc, gnd, large)


def _unit(
    sheet: Sheet, part: Part, wrong: Wrong, unit: tuple[str, str, str, str], vcc: str, gnd: str,
    large: bool,
) -> None:  # fmt: skip
    letter, out, plus, minus = unit
    offset = float(sheet.rng.normal(0.0, 2e-3))
    if wrong.is_(f"{out} offset up", f"{out} offset down"):
        offset += 0.1 if wrong.mode.endswith("up") else -0.1
    junction = models.diode(sheet, is_=1e-15, n=1.0, bv=60.0)
    # from the substrate to the base of an input's PNP: nanoamperes at 0.3 V below ground, a knee at
    # 0.4 V (application note on the LM339 family, negative input voltages)
    clamp = models.diode(sheet, is_=1e-13, n=1.0, bv=60.0)
    for pin in (plus, minus):
        node, feed = sheet.pin(part, pin), sheet.inner(part, f"bias{pin}")
        sheet.add(f"{sheet.name('d', part, f'bias{pin}')} {vcc} {feed} {junction}")
        sheet.ohms(sheet.name("r", part, f"bias{pin}"), feed, node, 7e7 * sheet.factor(0.3))
        sheet.ohms(sheet.name("r", part, f"in{pin}"), node, gnd, 2e9)
        if not large:
            sheet.add(f"{sheet.name('d', part, f'clamp{pin}')} {gnd} {node} {clamp}")
        if wrong.is_(f"{pin} input short"):
            sheet.ohms(sheet.name("r", part, f"short{pin}"), node, gnd, 4.0)
        if wrong.is_(f"{pin} input leaky"):
            sheet.ohms(sheet.name("r", part, f"leak{pin}"), node, gnd, sheet.near(1e5, 0.3))
    p, m = sheet.pin(part, plus), sheet.pin(part, minus)
    sinks = f"(0.5-0.5*tanh(400*(v({p},{m})+{offset:.5g})))"
    if wrong.is_(f"{out} stuck low"):
        sinks = "1"
    awake = f"(0.5+0.5*tanh(4*(v({vcc},{gnd})-1.7)))"
    base, inside = sheet.inner(part, f"b{letter}"), sheet.inner(part, f"o{letter}")
    push = 2.2e-3 if large else 0.4e-3
    sheet.add(f"{sheet.name('b', part, f'b{letter}')} {vcc} {base} i={push:g}*{sinks}*{awake}")
    sheet.ohms(sheet.name("r", part, f"b{letter}"), base, gnd, 20e3)
    area = 4.0 if large else 1.0
    model = models.npn(sheet, is_=5e-16 * area, bf=50.0, br=0.3, ikf=0.03 * area, rb=30.0,
                       rc=26.0 / area, re=0.4)  # fmt: skip
    sheet.add(f"{sheet.name('q', part, f'o{letter}')} {inside} {base} {gnd} {model}")
    sheet.ohms(sheet.name("r", part, f"o{letter}"), sheet.pin(part, out), inside,
               _OPEN if wrong.is_(f"{out} output open") else 0.05)  # fmt: skip
    # a collector is isolated from the substrate, which is the ground pin, by a junction
    sheet.add(f"{sheet.name('d', part, f'sub{letter}')} {gnd} {inside} {junction}")
    if wrong.is_(f"{out} leaky"):
        sheet.ohms(sheet.name("r", part, f"leak{letter}"), inside, gnd, leak(sheet))


def _regulator(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    """Follows the lower of its set point and what the input leaves, up to a current limit; a
    diode from output to input is the pass transistor's own junction."""
    if len(part.pins) < 2:
        return
    minus = part.kind == "negative-regulator"
    amps, iq = typed.number(part, "amps", 1.0), typed.number(part, "iq", 5e-3)
    volts = sheet.near(typed.value(part, 5.0), 0.03 if part.tolerance is None else part.tolerance)
    volts *= 0.75 if wrong.is_("low") else 1.25 if wrong.is_("high") else 1.0
    limit = 1.9 * amps * sheet.factor(0.15) * (0.1 if wrong.is_("weak") else 1.0)
    dead = wrong.is_("dead")
    i, o, g = (sheet.pin(part, pin) for pin in ("in", "out", "gnd"))
    vi = f"v({g},{i})" if minus else f"v({i},{g})"
    drop = sheet.near(typed.number(part, "drop", 2.0) * 0.9, 0.1)
    target, held = sheet.inner(part, "t"), sheet.inner(part, "h")
    sense, out = sheet.name("v", part, "sense"), sheet.inner(part, "s")
    a, b = (o, i) if minus else (i, o)
    if not dead:
        sign = "-" if minus else ""
        sheet.add(
            f"{sheet.name('b', part, 'target')} {target} {g} "
            f"v={sign}(max(min({volts:.5g},{vi}-{drop:.4g}),-0.6)"
            f"-{_BEYOND / amps:.4g}*max({sign}i({sense})-{limit:.5g},0))"
        )
        sheet.volts(sense, target, held, 0.0)
        valve = sheet.model("valve", "d(is=1e-9 n=0.05 rs=0)")
        ends = f"{out} {held}" if minus else f"{held} {out}"
        sheet.add(f"{sheet.name('d', part, 'valve')} {ends} {valve}")
        sheet.ohms(sheet.name("r", part, "slope"), out, o, 0.03 / amps)
        sheet.add(f"{sheet.name('b', part, 'feed')} {i} {g} i=i({sense})")
    kind = models.diode(sheet, is_=1e-13, n=1.1, rs=0.3, bv=100.0)
    sheet.add(f"{sheet.name('d', part, 'back')} {b} {a} {kind}")
    own = 1e-6 if dead else iq * sheet.near(1.0, 0.2)
    ends = f"{g} {i}" if minus else f"{i} {g}"
    sheet.add(f"{sheet.name('b', part, 'own')} {ends} i={own:.4g}*(0.5+0.5*tanh(3*({vi}-1.6)))")
    sheet.ohms(sheet.name("r", part, "divider"), o, g,
               sheet.near(7e3, 0.3) if iq > 1e-3 else 1e6)  # fmt: skip
    if wrong.is_("in short to out"):
        sheet.ohms(sheet.name("r", part, "short"), i, o, 0.6)
    elif wrong.is_("out short to gnd"):
        sheet.ohms(sheet.name("r", part, "short"), o, g, 0.6)


def _opto(sheet: Sheet, part: Part, wrong: Wrong) -> dict[str, dict[str, float]]:
    """LED, and a phototransistor whose base current is the light's; returns word -> knobs."""
    light = sheet.name("v", part, "light")
    node, sense = sheet.inner(part, "light"), sheet.inner(part, "sense")
    sheet.volts(light, node, "0", 1.0, knob=True)
    _lamp(sheet, part, wrong, sense)
    _receiver(sheet, part, wrong, node)
    if part.kind != "slotted-sensor":
        return {}
    return {"clear": {light: 1.0}, "blocked": {light: _BLOCKED}}


def _lamp(sheet: Sheet, part: Part, wrong: Wrong, sense: str) -> None:
    a, k, lead = sheet.pin(part, "a"), sheet.pin(part, "k"), sheet.inner(part, "a")
    sheet.ohms(sheet.name("r", part, "lead"), a, lead, _OPEN if wrong.is_("led open") else 0.05)
    sheet.add(f"{sheet.name('d', part, 'led')} {lead} {sense} {models.led(sheet, 1.15)}")
    sheet.volts(sheet.name("v", part, "sense"), sense, k, 0.0)
    if wrong.is_("led short"):
        sheet.ohms(sheet.name("r", part, "ledshort"), a, k, 0.8)
    if not {"a", "k"} & set(part.pins):
        sheet.ohms(sheet.name("r", part, "hold"), k, "0", 1e9)


def _receiver(sheet: Sheet, part: Part, wrong: Wrong, light: str) -> None:
    c, e = sheet.pin(part, "c"), sheet.pin(part, "e")
    base, collector = sheet.inner(part, "b"), sheet.inner(part, "c")
    gain = 200.0
    ratio = typed.number(part, "ctr", 0.3) * sheet.factor(0.25)
    ratio *= 0.1 if wrong.is_("weak") or wrong.is_("dirty") else 1.0
    ratio *= 0.01 if wrong.is_("misaligned") else 1.0
    sheet.ohms(sheet.name("r", part, "sensor"), c, collector,
               _OPEN if wrong.is_("sensor open") else 0.1)  # fmt: skip
    model = models.npn(sheet, is_=4e-15, bf=gain, br=1.0, ikf=0.05, rc=8.0, spread=0.0)
    sheet.add(f"{sheet.name('q', part, 'sensor')} {collector} {base} {e} {model}")
    lit = f"max(i({sheet.name('v', part, 'sense')}),0)"
    sheet.add(
        f"{sheet.name('b', part, 'light')} {collector} {base} "
        f"i={ratio / gain:.5g}*v({light})*0.05*tanh({lit}/0.05)"
    )
    sheet.ohms(sheet.name("r", part, "bleed"), base, e, 2e7)
    ohms = 0.8 if wrong.is_("sensor short") else 10e3 if wrong.is_("sensor leaky") else 5e8
    sheet.ohms(sheet.name("r", part, "dark"), c, e, ohms)


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong], None]] = {
    "LM339": _comparator,
    "LM239": _comparator,
    "LM393": _comparator,
    "LM2901": _comparator,
    "LM293": _comparator,
    "LM2903": _comparator,
    "LM311": _comparator,
    "LM111": _comparator,
    "LM211": _comparator,
    "regulator": _regulator,
    "negative-regulator": _regulator,
}
"""Kind -> how it is written."""

SETTABLE: Mapping[str, Callable[[Sheet, Part, Wrong], dict[str, dict[str, float]]]] = {
    "slotted-sensor": _opto,
    "optocoupler": _opto,
}
"""Kind -> how it is written, for kinds that a state sets; returns word -> knobs."""
