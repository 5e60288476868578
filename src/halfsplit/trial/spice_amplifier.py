"""Operational amplifiers: a macromodel with a transistor pair, a steep core, a bounded output.

The division into an input pair, a gain stage and an output with clamps and a limited current is
that of G. R. Boyle et al., "Macromodeling of integrated circuit operational amplifiers", IEEE
Journal of Solid-State Circuits 9 (1974), at DC; the numbers are drawn around data-sheet classes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from halfsplit.board.model import Part
from halfsplit.errors import TrialError
from halfsplit.frozen import dataclass
from halfsplit.parts.amplifier import AmplifierChip
from halfsplit.parts.registry import KINDS
from halfsplit.trial import spice_models as models
from halfsplit.trial import typed
from halfsplit.trial.sheet import Sheet, Wrong

__all__ = ["RENDERERS"]

_OPEN = 1e9
_TAIL, _LOAD = 20e-6, 5e3
"""Current of the input pair, A, and its collector resistors, ohm."""
_SLOPE = _TAIL * _LOAD / (2.0 * 0.025852)
"""Volts between the collectors for one between the inputs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Inputs:
    """An input stage: ``bias`` A; the swing's distance from the supplies, V."""

    bias: float
    high: float
    low: float
    pnp: bool = False


_CLASSES = {
    "npn": _Inputs(bias=80e-9, high=1.1, low=1.2),
    "pnp": _Inputs(bias=45e-9, high=1.4, low=0.03, pnp=True),
    "fet": _Inputs(bias=5e-11, high=1.4, low=1.6),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Supply:
    """Nodes of the supply pins; ``awake`` is 1 where there is enough between them."""

    plus: str
    minus: str
    awake: str


def _amplifier(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    kind = KINDS.get(part.kind)
    if not isinstance(kind, AmplifierChip):
        raise TrialError(f"expected an amplifier, got {part.kind!r} ({part.designator})")
    plus, minus = sheet.pin(part, kind.plus), sheet.pin(part, kind.minus)
    used = [unit for unit in kind.units if any(pin in part.pins for pin in unit[1:])]
    if not used:
        return
    awake = f"(0.5+0.5*tanh(3*(v({plus},{minus})-2.6)))"
    supply = _Supply(plus=plus, minus=minus, awake="0" if wrong.is_("supply open") else awake)
    own = typed.number(part, "own", 1e-3) * sheet.factor(0.2)
    sheet.add(f"{sheet.name('b', part, 'own')} {plus} {minus} i={own:.4g}*{supply.awake}")
    for unit in used:
        _unit(sheet, part, wrong, unit, supply)


def _unit(
    sheet: Sheet, part: Part, wrong: Wrong, unit: tuple[str, str, str, str], supply: _Supply
) -> None:
    plus, minus = supply.plus, supply.minus
    letter, out, into_plus, into_minus = unit
    made = _CLASSES[typed.text(part, "input", "npn")]
    offset = typed.number(part, "offset", 6e-3) * 0.3 * float(sheet.rng.standard_normal())
    if wrong.is_(f"{out} offset up", f"{out} offset down"):
        offset += sheet.near(0.05, 0.3) * (1.0 if wrong.mode.endswith("up") else -1.0)
    sides = _pair(sheet, part, letter, (into_plus, into_minus), made, supply, offset)
    for pin in (into_plus, into_minus):
        if wrong.is_(f"{pin} input leaky"):
            sheet.ohms(sheet.name("r", part, f"leak{pin}"), sheet.pin(part, pin), minus,
                       sheet.near(1e5, 0.3))  # fmt: skip
    gain = 1e5 * sheet.factor(0.4) * (1e-4 if wrong.is_(f"{out} lost gain") else 1.0)
    high, low = sheet.near(made.high, 0.2), sheet.near(made.low, 0.3)
    span = f"max(v({plus},{minus})-{high + low:.4g},0.02)"
    side = f"tanh({2.0 * gain / _SLOPE:.5g}*{sides}/{span})"
    if wrong.is_(f"{out} stuck high", f"{out} stuck low"):
        side = "1" if wrong.mode.endswith("high") else "-1"
    core, inside = sheet.inner(part, f"core{letter}"), sheet.inner(part, f"o{letter}")
    sheet.add(f"{sheet.name('b', part, f'core{letter}')} {core} {minus} "
              f"v={low:.4g}+{span}*(0.5+0.5*{side})")  # fmt: skip
    most = typed.number(part, "amps", 25e-3) * sheet.factor(0.2)
    most *= sheet.near(0.05, 0.3) if wrong.is_(f"{out} weak") else 1.0
    ohms = typed.number(part, "ohms", 75.0) * sheet.factor(0.2)
    told = f"{most:.4g}*tanh(v({core},{inside})/{ohms * most:.4g})"
    for end, sign in ((plus, 1.0), (minus, -1.0)):
        name = sheet.name("b", part, f"{'high' if sign > 0 else 'low'}{letter}")
        ends = f"{end} {inside}" if sign > 0 else f"{inside} {end}"
        sheet.add(f"{name} {ends} i=0.5*{supply.awake}*(sqrt(({told})^2+1e-12)+{sign:g}*({told}))")
    sheet.ohms(sheet.name("r", part, f"o{letter}"), inside, sheet.pin(part, out),
               _OPEN if wrong.is_(f"{out} output open") else 0.05)  # fmt: skip
    if wrong.is_(f"{out} short to minus"):
        sheet.ohms(sheet.name("r", part, f"short{letter}"), sheet.pin(part, out), minus,
                   sheet.near(4.0, 0.7))  # fmt: skip


def _pair(
    sheet: Sheet, part: Part, letter: str, ends: tuple[str, str], made: _Inputs, supply: _Supply,
    offset: float,
) -> str:  # fmt: skip
    """A long-tailed pair; returns the difference of its collectors, positive when plus is above.

    Its collector resistors lead to a supply by way of a source: on the die a mirror stands there,
    through which an ohmmeter finds no way.
    """
    plus, minus = supply.plus, supply.minus
    tail, top = sheet.inner(part, f"tail{letter}"), sheet.inner(part, f"top{letter}")
    bf = 0.5 * _TAIL / (made.bias * sheet.factor(0.4))
    make = models.pnp if made.pnp else models.npn
    kind = make(sheet, is_=1e-15, bf=bf, br=1.0, rb=0.0, rc=0.0, re=0.0, spread=0.1)
    rail = minus if made.pnp else plus
    sheet.add(f"{sheet.name('b', part, f'top{letter}')} {top} 0 v=v({rail})")
    collectors = []
    for pin, shift in zip(ends, (offset, 0.0), strict=True):
        collector, base = sheet.inner(part, f"c{pin}"), sheet.inner(part, f"b{pin}")
        sheet.volts(sheet.name("v", part, f"b{pin}"), base, sheet.pin(part, pin), shift)
        sheet.add(f"{sheet.name('q', part, pin)} {collector} {base} {tail} {kind}")
        sheet.ohms(sheet.name("r", part, f"c{pin}"), top, collector, _LOAD)
        collectors.append(collector)
    first, last = (plus, tail) if made.pnp else (tail, minus)
    sheet.add(f"{sheet.name('b', part, f'tail{letter}')} {first} {last} "
              f"i={_TAIL:g}*{supply.awake}*tanh(max(v({first},{last}),0)/0.1)")  # fmt: skip
    return f"v({collectors[1]},{collectors[0]})"


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong], None]] = dict.fromkeys(
    ("op-amp", "dual-op-amp", "quad-op-amp"), _amplifier
)
"""Kind -> how it is written."""
