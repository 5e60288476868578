"""Several devices in one case: transistor arrays on a substrate, seven-segment displays."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from halfsplit.board.model import Part
from halfsplit.errors import TrialError
from halfsplit.parts.display import SevenSegment
from halfsplit.parts.registry import KINDS
from halfsplit.parts.transistor_array import TransistorArray
from halfsplit.trial import spice_models as models
from halfsplit.trial.sheet import Sheet, Wrong
from halfsplit.trial.spice_junction import leak, short

__all__ = ["RENDERERS"]

_OPEN = 1e9
_MISMATCH = 0.02
"""Spread of the saturation currents on one die: two V BE then differ by 0.5 mV (CA3046 data sheet:
0.45 mV typical, 5 mV at most)."""
_SEGMENTS = ("a", "b", "c", "d", "e", "f", "g", "dp")


def _array(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    kind = KINDS.get(part.kind)
    if not isinstance(kind, TransistorArray):
        raise TrialError(f"expected a transistor array, got {part.kind!r} ({part.designator})")
    area, gain = 1.0 if kind.amps < 0.1 else 4.0, 110.0 * sheet.factor(0.2)
    is_ = 1.2e-15 * area * sheet.factor(0.2)
    bulk = models.diode(sheet, is_=2e-15, n=1.0, rs=5.0, bv=60.0)
    substrate = sheet.pin(part, kind.substrate)
    for unit in kind.transistors:
        if not unit.used(part):
            continue
        weak = 0.1 if wrong.is_(f"{unit.b} low gain") else 1.0
        model = models.npn(sheet, is_=is_, bf=gain * weak, br=1.0, vaf=90.0, ikf=0.025 * area,
                           rb=60.0 / area, rc=12.0 / area, re=0.6 / area, spread=0.03,
                           mismatch=_MISMATCH)  # fmt: skip
        pins = {"c": unit.c, "b": unit.b, "e": unit.e}
        ends = {}
        for letter, pin in pins.items():
            ends[letter] = sheet.pin(part, pin)
            if wrong.is_(f"{unit.b} {letter} open"):
                outside, ends[letter] = ends[letter], sheet.inner(part, f"{letter}{unit.letter}")
                sheet.ohms(sheet.name("r", part, f"{letter}{unit.letter}"), outside, ends[letter],
                           _OPEN)  # fmt: skip
        sheet.add(
            f"{sheet.name('q', part, unit.letter)} {ends['c']} {ends['b']} {ends['e']} {model}"
        )
        sheet.add(f"{sheet.name('d', part, f'sub{unit.letter}')} {substrate} {ends['c']} {bulk}")
        path = wrong.like(rf"{unit.b} (\w) (short|leaky) to (\w)")
        if path:
            ohms = short(sheet) if path[2] == "short" else leak(sheet)
            sheet.ohms(sheet.name("r", part, f"path{unit.letter}"), sheet.pin(part, pins[path[1]]),
                       sheet.pin(part, pins[path[3]]), ohms)  # fmt: skip


def _display(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    kind = KINDS.get(part.kind)
    if not isinstance(kind, SevenSegment):
        raise TrialError(f"expected a display, got {part.kind!r} ({part.designator})")
    common = sheet.pin(part, "com")
    inside = sheet.inner(part, "com")
    sheet.ohms(sheet.name("r", part, "com"), common, inside,
               _OPEN if wrong.is_("common open") else 0.05)  # fmt: skip
    volts = sheet.near(1.75, 0.06)
    for segment in _SEGMENTS:
        if segment not in part.pins:
            continue
        pin, wire = sheet.pin(part, segment), sheet.inner(part, f"w{segment}")
        sheet.ohms(sheet.name("r", part, segment), pin, wire,
                   _OPEN if wrong.is_(f"{segment} open") else 0.05)  # fmt: skip
        ends = f"{inside} {wire}" if kind.anode else f"{wire} {inside}"
        sheet.add(f"{sheet.name('d', part, segment)} {ends} {models.led(sheet, volts)}")
        if wrong.is_(f"{segment} short"):
            sheet.ohms(sheet.name("r", part, f"short{segment}"), pin, common, short(sheet))


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong], None]] = {
    **dict.fromkeys(
        ("CA3045", "CA3046", "CA3086", "LM3046", "LM3086", "CA3083", "CA3081", "CA3082"), _array
    ),
    "display-anode": _display,
    "display-cathode": _display,
}
"""Kind -> how it is written."""
