"""Diodes and transistors as the independent simulator sees them: native models, own numbers.

A kind's fields are used only where somebody typed them, and for ratings (amperes, volts); the
curves come from classes of device typical of the trade (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from halfsplit.board.model import Part
from halfsplit.trial import spice_models as models
from halfsplit.trial import typed
from halfsplit.trial.sheet import Sheet, Wrong

__all__ = ["RENDERERS", "leads", "leak", "paths", "short"]

_OPEN = 1e9
_GAIN = {"small": 170.0, "medium": 130.0, "power": 50.0}


def _diode(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    if len(part.pins) < 2:
        return
    model = _diode_model(sheet, part, wrong)
    anode, cathode = sheet.pin(part, "a"), sheet.pin(part, "k")
    inside = sheet.inner(part, "a")
    sheet.ohms(sheet.name("r", part, "lead"), anode, inside,
               _OPEN if wrong.is_("open") else 0.01)  # fmt: skip
    sheet.add(f"{sheet.name('d', part, 'd')} {inside} {cathode} {model}")
    if wrong.is_("short"):
        sheet.ohms(sheet.name("r", part, "short"), anode, cathode, short(sheet))
    elif wrong.is_("leaky"):
        ohms = 1000.0 if part.kind == "zener" else 10e3
        sheet.ohms(sheet.name("r", part, "leak"), anode, cathode,
                   ohms * float(sheet.rng.uniform(0.6, 1.6)))  # fmt: skip


def _diode_model(sheet: Sheet, part: Part, wrong: Wrong) -> str:
    volts, amps = typed.number(part, "volts", 100.0), typed.number(part, "amps", 0.2)
    if part.kind == "zener":
        value = typed.value(part, 5.1)
        if wrong.is_("low"):
            value *= 0.8
        elif wrong.is_("high"):
            value *= 1.2
        return models.zener(
            sheet,
            value,
            0.05 if part.tolerance is None else part.tolerance,
            amps=typed.number(part, "izt", 5e-3),
            ohms=typed.number(part, "zzt", 10.0),
        )
    if part.kind == "led":
        colours = {"red": 1.8, "yellow": 2.05, "green": 2.1, "infrared": 1.2, "blue": 3.2}
        known = colours.get(typed.text(part, "colour", "red"), 1.8)
        return models.led(sheet, typed.value(part, known))
    if part.kind == "schottky":
        return models.diode(sheet, is_=6e-7 * max(amps, 0.2), n=1.08, rs=0.06, bv=1.4 * volts)
    if part.kind == "germanium":
        return models.diode(sheet, is_=8e-7, n=1.5, rs=8.0, bv=1.4 * volts)
    if amps >= 0.5:
        return models.diode(sheet, is_=8e-9 * amps, n=1.9, rs=0.04, bv=1.5 * volts)
    return models.switching(sheet, bv=1.4 * volts)


def transistor_model(sheet: Sheet, part: Part, *, p: bool, gain: float = 1.0) -> str:
    """A model of the part's class by its rating; ``gain`` multiplies its current gain."""
    amps = typed.number(part, "amps", 0.2)
    size = "power" if amps >= 1.5 else "medium" if amps > 0.3 else "small"
    area = {"small": 1.0, "medium": 3.0, "power": 60.0}[size]
    bf = float(part.fields["gain"]) if "gain" in part.fields else _GAIN[size]
    make = models.pnp if p else models.npn
    return make(sheet, is_=6e-15 * area, bf=bf * gain, br=3.0, ikf=0.09 * area, rb=12.0 / area,
                rc=1.2 / area**0.7, re=0.15 / area**0.7)  # fmt: skip


def _transistor(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    if len(part.pins) < 2:
        return
    weak = 0.1 if wrong.is_("low gain") else 1.0
    model = transistor_model(sheet, part, p=part.kind == "pnp", gain=weak)
    nodes = leads(sheet, part, wrong, ("c", "b", "e"))
    sheet.add(f"{sheet.name('q', part, 'q')} {nodes['c']} {nodes['b']} {nodes['e']} {model}")
    paths(sheet, part, wrong)


def leads(sheet: Sheet, part: Part, wrong: Wrong, pins: tuple[str, ...]) -> dict[str, str]:
    """The nodes behind the leads; ``c open`` leaves that one hanging by a gigohm."""
    found = {}
    for pin in pins:
        if wrong.is_(f"{pin} open"):
            inside = sheet.inner(part, f"lead_{pin}")
            sheet.ohms(sheet.name("r", part, f"lead_{pin}"), sheet.pin(part, pin), inside, _OPEN)
            found[pin] = inside
        else:
            found[pin] = sheet.pin(part, pin)
    return found


def paths(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    """Shorts and leaks between two leads: ``b short to e``, ``c leaky to e``."""
    match = wrong.like(r"(\w+) (short|leaky) to (\w+)")
    if match:
        a, what, b = match.groups()
        ohms = short(sheet) if what == "short" else leak(sheet)
        sheet.ohms(sheet.name("r", part, "path"), sheet.pin(part, a), sheet.pin(part, b), ohms)


def short(sheet: Sheet) -> float:
    """Ohms of a junction that melted: 0.1 to 1."""
    return float(np.exp(sheet.rng.uniform(np.log(0.1), 0.0)))


def leak(sheet: Sheet) -> float:
    """Ohms of a leak that upsets a circuit: 500 to 2000."""
    return float(np.exp(sheet.rng.uniform(np.log(500.0), np.log(2000.0))))


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong], None]] = {
    "diode": _diode,
    "schottky": _diode,
    "germanium": _diode,
    "led": _diode,
    "zener": _diode,
    "npn": _transistor,
    "pnp": _transistor,
}
"""Kind -> how it is written."""
