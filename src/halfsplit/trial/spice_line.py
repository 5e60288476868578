"""Line drivers and receivers of the RS-232 kind.

Driver: diode inputs that pull on a resistor from the positive supply, an output between both
supplies with the series resistance and the current limit of the data sheet. Receiver: an input
resistor to ground, a saturating transistor with a pull-up (data-sheet schematics, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from halfsplit.board.model import Part
from halfsplit.errors import TrialError
from halfsplit.parts.registry import KINDS
from halfsplit.parts.rs232 import LineDriver, LineReceiver
from halfsplit.trial import spice_models as models
from halfsplit.trial.sheet import Sheet, Wrong

__all__ = ["RENDERERS"]

_OPEN = 1e9


def _driver(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    kind = KINDS.get(part.kind)
    if not isinstance(kind, LineDriver):
        raise TrialError(f"expected a line driver, got {part.kind!r} ({part.designator})")
    minus, gnd, plus = (sheet.pin(part, pin) for pin in (kind.minus, kind.ground, kind.plus))
    awake = f"(0.5+0.5*tanh(2*(v({plus},{minus})-4.5)))"
    if wrong.is_("supply open"):
        awake = "0"
    own = 6e-3 * sheet.factor(0.25)
    sheet.add(f"{sheet.name('b', part, 'own')} {plus} {minus} i={own:.4g}*{awake}")
    ohms = sheet.near(300.0, 0.2)
    for _, out, inputs in kind.units:
        used = [pin for pin in inputs if pin in part.pins]
        if not used and out not in part.pins:
            continue
        level = "1"
        for pin in used:
            level = f"min({level},v({_driver_input(sheet, part, wrong, pin, plus, gnd)}))"
        if wrong.is_(f"{out} stuck low", f"{out} stuck high"):
            level = "0" if wrong.mode.endswith("high") else "1"
        high, low = sheet.near(1.6, 0.25), sheet.near(1.5, 0.25)
        core, inside = sheet.inner(part, f"core{out}"), sheet.inner(part, f"o{out}")
        span = f"max(v({plus},{minus})-{high + low:.4g},0.02)"
        sheet.add(f"{sheet.name('b', part, f'core{out}')} {core} {minus} "
                  f"v={low:.4g}+{span}*(1-{level})")  # fmt: skip
        most = 10e-3 * sheet.factor(0.2) * (0.15 if wrong.is_(f"{out} weak") else 1.0)
        told = f"{most:.4g}*tanh(v({core},{inside})/{ohms * most:.4g})"
        for name, ends, sign in (("h", f"{plus} {inside}", "+"), ("l", f"{inside} {minus}", "-")):
            sheet.add(f"{sheet.name('b', part, name + out)} {ends} "
                      f"i=0.5*{awake}*(sqrt(({told})^2+1e-12){sign}({told}))")  # fmt: skip
        sheet.ohms(sheet.name("r", part, f"o{out}"), inside, sheet.pin(part, out),
                   _OPEN if wrong.is_(f"{out} output open") else 0.05)  # fmt: skip


def _driver_input(sheet: Sheet, part: Part, wrong: Wrong, pin: str, plus: str, gnd: str) -> str:
    """A diode and a resistor from the supply; returns the node of its level."""
    node, feed, level = (
        sheet.inner(part, f"in{pin}"), sheet.inner(part, f"f{pin}"), sheet.inner(part, f"x{pin}")
    )  # fmt: skip
    sheet.ohms(sheet.name("r", part, f"in{pin}"), sheet.pin(part, pin), node,
               _OPEN if wrong.is_(f"{pin} input open") else 0.05)  # fmt: skip
    sheet.ohms(sheet.name("r", part, f"f{pin}"), plus, feed, 10e3 * sheet.near(1.0, 0.2))
    kind = models.diode(sheet, is_=1e-15, n=1.0, rs=0.0, bv=40.0)
    sheet.add(f"{sheet.name('d', part, f'in{pin}')} {feed} {node} {kind}")
    hold = models.diode(sheet, is_=1e-15, n=2.0, rs=0.0, bv=40.0)
    sheet.add(f"{sheet.name('d', part, f'h{pin}')} {feed} {gnd} {hold}")
    sheet.add(f"{sheet.name('b', part, f'x{pin}')} {level} 0 "
              f"v=0.5+0.5*tanh(8*(v({node},{gnd})-{sheet.near(1.35, 0.1):.4g}))")  # fmt: skip
    if wrong.is_(f"{pin} input short"):
        sheet.ohms(sheet.name("r", part, f"short{pin}"), node, gnd, 4.0)
    if wrong.is_(f"{pin} input open"):
        sheet.ohms(sheet.name("r", part, f"float{pin}"), plus, node, 1e6)
    return level


def _receiver(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    kind = KINDS.get(part.kind)
    if not isinstance(kind, LineReceiver):
        raise TrialError(f"expected a line receiver, got {part.kind!r} ({part.designator})")
    vcc, gnd = sheet.pin(part, kind.supply), sheet.pin(part, kind.ground)
    awake = f"(0.5+0.5*tanh(3*(v({vcc},{gnd})-2.6)))"
    if wrong.is_("supply open"):
        awake = "0"
    own = 14e-3 * sheet.factor(0.25)
    sheet.add(f"{sheet.name('b', part, 'own')} {vcc} {gnd} i={own:.4g}*{awake}")
    at = 0.5 * (kind.up + kind.down) * sheet.near(1.0, 0.1)
    into_ohms, pull = 3.9e3 * sheet.near(1.0, 0.2), 1.7e3 * sheet.near(1.0, 0.2)
    for _, into, out in kind.units:
        if into not in part.pins and out not in part.pins:
            continue
        node, base, inside = (sheet.inner(part, f"{name}{out}") for name in ("i", "b", "o"))
        lost = wrong.is_(f"{into} input open")
        sheet.ohms(sheet.name("r", part, f"i{into}"), sheet.pin(part, into), node,
                   _OPEN if lost else 0.05)  # fmt: skip
        sheet.ohms(sheet.name("r", part, f"in{into}"), node, gnd, into_ohms)
        if wrong.is_(f"{into} input short"):
            sheet.ohms(sheet.name("r", part, f"short{into}"), node, gnd, 4.0)
        level = f"(0.5+0.5*tanh(8*(v({node},{gnd})-{at:.4g})))"
        if wrong.is_(f"{out} stuck low", f"{out} stuck high"):
            level = "1" if wrong.mode.endswith("low") else "0"
        sheet.add(f"{sheet.name('b', part, f'b{out}')} 0 {base} i=1.2m*{level}*{awake}")
        sheet.ohms(sheet.name("r", part, f"b{out}"), base, gnd, 10e3)
        model = models.npn(sheet, is_=2e-15, bf=45.0, br=0.3, ikf=0.05, rb=0.0, rc=12.0, re=0.0,
                           spread=0.15)  # fmt: skip
        sheet.add(f"{sheet.name('q', part, f'o{out}')} {inside} {base} {gnd} {model}")
        sheet.ohms(sheet.name("r", part, f"pull{out}"), vcc, inside,
                   pull if awake != "0" else _OPEN)  # fmt: skip
        clamp = models.diode(sheet, is_=1e-14, n=1.0, rs=2.0, bv=30.0)
        sheet.add(f"{sheet.name('d', part, f'c{out}')} {gnd} {inside} {clamp}")
        sheet.ohms(sheet.name("r", part, f"o{out}"), inside, sheet.pin(part, out),
                   _OPEN if wrong.is_(f"{out} output open") else 0.05)  # fmt: skip


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong], None]] = {
    "1488": _driver,
    "1489": _receiver,
    "1489A": _receiver,
}
"""Kind -> how it is written."""
