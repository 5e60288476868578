"""Darlingtons, driver arrays and MOSFETs: native devices wired as the datasheets draw them.

Inner resistors: 8 kΩ and 120 Ω in a TIP120, 2.7 kΩ, 7.2 kΩ and 3 kΩ in a ULN2003A (datasheet
schematics, from memory; the array's input resistor is in the ULQ2003A datasheet).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from halfsplit.board.model import Part
from halfsplit.trial import spice_models as models
from halfsplit.trial import typed
from halfsplit.trial.sheet import Sheet, Wrong
from halfsplit.trial.spice_junction import leads, leak, paths

__all__ = ["RENDERERS"]

_OPEN = 1e9
_ARRAYS = {"ULN2003A": (7, 2700.0), "ULN2004A": (7, 10.5e3), "ULN2803A": (8, 2700.0),
           "ULN2804A": (8, 10.5e3), "ULN2023A": (7, 2700.0), "ULN2024A": (7, 10.5e3),
           "75468": (7, 2700.0), "75469": (7, 10.5e3)}  # fmt: skip
"""Kind -> channels, input resistor."""


def _darlington(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    if len(part.pins) < 2:
        return
    p = part.kind == "pnp-darlington"
    make = models.pnp if p else models.npn
    weak = 0.3 if wrong.is_("low gain") else 1.0
    nodes, middle = leads(sheet, part, wrong, ("c", "b", "e")), sheet.inner(part, "m")
    first = make(sheet, is_=2e-14, bf=70.0 * weak, br=2.0, ikf=0.4, rb=8.0, rc=3.0, re=0.3)
    second = make(sheet, is_=4e-13, bf=45.0 * weak, br=2.0, ikf=3.0, rb=1.0, rc=0.08, re=0.03)
    c, b, e = (nodes[pin] for pin in "cbe")
    sheet.add(f"{sheet.name('q', part, 'q1')} {c} {b} {middle} {first}")
    sheet.add(f"{sheet.name('q', part, 'q2')} {c} {middle} {e} {second}")
    r1, r2 = typed.number(part, "r1", 8e3), typed.number(part, "r2", 120.0)
    sheet.ohms(sheet.name("r", part, "r1"), b, middle, sheet.near(r1, 0.3))
    sheet.ohms(sheet.name("r", part, "r2"), middle, e, sheet.near(r2, 0.3))
    has = typed.text(part, "damper", "yes") == "yes" and "c" in part.pins and "e" in part.pins
    if has and not wrong.is_("damper open"):
        kind = models.diode(sheet, is_=5e-13, n=1.15, rs=0.06, bv=300.0)
        ends = f"{c} {e}" if p else f"{e} {c}"
        sheet.add(f"{sheet.name('d', part, 'damper')} {ends} {kind}")
    paths(sheet, part, wrong)


def _array(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    count, r_in = _ARRAYS[part.kind]
    r_in, scale = sheet.near(r_in, 0.2), sheet.near(1.0, 0.2)
    ground = sheet.pin(part, str(count + 1))
    com = sheet.pin(part, str(count + 2))
    common = sheet.inner(part, "com")
    sheet.ohms(sheet.name("r", part, "com"), com, common,
               _OPEN if wrong.is_(f"{count + 2} common clamp open") else 0.05)  # fmt: skip
    for n in range(1, count + 1):
        into, out = str(n), str(2 * count + 3 - n)
        if into in part.pins or out in part.pins:
            _channel(sheet, part, wrong, into, out, ground, common, r_in, scale)


def _channel(
    sheet: Sheet, part: Part, wrong: Wrong, into: str, out: str, ground: str, common: str,
    r_in: float, scale: float,
) -> None:  # fmt: skip
    base, middle = sheet.inner(part, f"b{out}"), sheet.inner(part, f"m{out}")
    outside, inside = sheet.pin(part, out), sheet.inner(part, f"o{out}")
    weak = 0.05 if wrong.is_(f"{out} weak") else 1.0
    lost = wrong.is_(f"{out} output open")
    sheet.ohms(sheet.name("r", part, f"o{out}"), outside, inside, _OPEN if lost else 0.05)
    first = models.npn(sheet, is_=3e-15, bf=75.0, br=0.8, ikf=0.05, rb=40.0, rc=32.0, re=0.5,
                       spread=0.15)  # fmt: skip
    second = models.npn(sheet, is_=8e-14, bf=75.0 * weak, br=0.8, ikf=0.9, rb=3.0, rc=0.8,
                        re=0.6, spread=0.15)  # fmt: skip
    sheet.add(f"{sheet.name('q', part, f'f{out}')} {inside} {base} {middle} {first}")
    sheet.add(f"{sheet.name('q', part, f's{out}')} {inside} {middle} {ground} {second}")
    sheet.ohms(sheet.name("r", part, f"b{out}"), base, middle, 7200.0 * scale)
    sheet.ohms(sheet.name("r", part, f"m{out}"), middle, ground, 3000.0 * scale)
    bulk = models.diode(sheet, is_=8e-15, n=1.05, rs=3.0, bv=80.0)
    sheet.add(f"{sheet.name('d', part, f'sub{out}')} {ground} {inside} {bulk}")
    entry = sheet.inner(part, f"i{into}")
    sheet.ohms(sheet.name("r", part, f"i{into}"), sheet.pin(part, into), entry,
               _OPEN if wrong.is_(f"{into} input open") else 0.05)  # fmt: skip
    sheet.ohms(sheet.name("r", part, f"in{into}"), entry, base, r_in)
    sheet.add(f"{sheet.name('d', part, f'sub{into}')} {ground} {entry} {bulk}")
    if not wrong.is_(f"{out} clamp open"):
        clamp = models.diode(sheet, is_=4e-13, n=1.5, rs=1.2, bv=90.0)
        sheet.add(f"{sheet.name('d', part, f'clamp{out}')} {inside} {common} {clamp}")
    if wrong.is_(f"{out} clamp short"):
        sheet.ohms(sheet.name("r", part, f"clamp{out}"), inside, common, 0.8)
    elif wrong.is_(f"{out} short to ground"):
        sheet.ohms(sheet.name("r", part, f"short{out}"), inside, ground, 0.7)
    elif wrong.is_(f"{out} leaky"):
        sheet.ohms(sheet.name("r", part, f"leak{out}"), inside, ground, leak(sheet))


def _mosfet(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    if len(part.pins) < 2:
        return
    p = part.kind == "pmos"
    ohms, vto = typed.number(part, "ron", 1.0), typed.number(part, "vth", 2.5)
    ohms *= 10.0 if wrong.is_("high resistance") else 1.0
    vto *= 2.0 if wrong.is_("high threshold") else 1.0
    d, g, s = (sheet.pin(part, pin) for pin in "dgs")
    inside, gate = d, g
    if wrong.is_("open"):
        inside = sheet.inner(part, "d")
        sheet.ohms(sheet.name("r", part, "lead"), d, inside, _OPEN)
    if wrong.is_("g open"):
        gate = sheet.inner(part, "g")
        sheet.ohms(sheet.name("r", part, "gate"), gate, s, 1e8)
    kind = models.mosfet(sheet, ohms=ohms, vto=vto * sheet.near(1.0, 0.15), at=10.0, p=p)
    sheet.add(f"{sheet.name('m', part, 'm')} {inside} {gate} {s} {s} {kind} w=1u l=1u")
    body = models.diode(sheet, is_=2e-13, n=1.15, rs=0.03,
                        bv=1.3 * typed.number(part, "volts", 60.0))  # fmt: skip
    ends = f"{inside} {s}" if p else f"{s} {inside}"
    sheet.add(f"{sheet.name('d', part, 'body')} {ends} {body}")
    if wrong.is_("g leaky"):
        sheet.ohms(sheet.name("r", part, "gleak"), g, s, sheet.near(1000.0, 0.4))
        sheet.ohms(sheet.name("r", part, "dleak"), d, s, sheet.near(10e3, 0.4))
    paths(sheet, part, wrong)


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong], None]] = {
    "darlington": _darlington,
    "pnp-darlington": _darlington,
    "nmos": _mosfet,
    "pmos": _mosfet,
    **dict.fromkeys(_ARRAYS, _array),
}
"""Kind -> how it is written."""
