"""Relays and solenoids: a coil's resistance, and contacts that follow the voltage across it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from halfsplit.board.model import Part
from halfsplit.trial import typed
from halfsplit.trial.sheet import Sheet, Wrong

__all__ = ["RENDERERS"]

_OPEN = 1e9
_NEVER = 1e3


def _coil(sheet: Sheet, part: Part, wrong: Wrong, ohms: float) -> None:
    ohms = sheet.near(ohms, 0.1 if part.tolerance is None else part.tolerance)
    if wrong.is_("coil open", "open"):
        ohms = _OPEN
    elif wrong.is_("coil short", "short"):
        ohms *= 0.02
    elif wrong.is_("coil turns", "turns"):
        ohms *= sheet.near(0.5, 0.1)
    sheet.ohms(sheet.name("r", part, "coil"), sheet.pin(part, "1"), sheet.pin(part, "2"), ohms)


def _solenoid(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    """A stiff plunger shows at no pin while nothing moves."""
    unseen = 1e-5 if wrong.is_("sluggish") else 0.0
    if len(part.pins) == 2:
        _coil(sheet, part, wrong, typed.value(part, 30.0) * (1.0 + unseen))


def _relay(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    if not {"1", "2"} <= part.pins.keys():
        return
    _coil(sheet, part, wrong, typed.value(part, 250.0))
    rated = typed.number(part, "volts", 12.0)
    pull = rated * sheet.near(0.5, 0.3)
    if wrong.is_("sticks", "coil open", "coil turns", "coil short"):
        pull = _NEVER * rated
    across = f"abs(v({sheet.pin(part, '1')},{sheet.pin(part, '2')}))"
    pulled = f"(0.5+0.5*tanh({40.0 / rated:.4g}*({across}-{pull:.4g})))"
    if wrong.is_("stays"):
        pulled = "1"
    for common, other, makes in _contacts(part):
        name, ohms = f"{common}-{other}", sheet.near(0.08, 0.5)
        closed = pulled if makes else f"(1-{pulled})"
        if wrong.is_(f"{name} welded"):
            closed = "1"
        elif wrong.is_(f"{name} contact open"):
            closed = "0"
        elif wrong.is_(f"{name} contact resistive"):
            ohms = sheet.near(25.0, 0.6)
        a, b = sheet.pin(part, common), sheet.pin(part, other)
        sheet.add(
            f"{sheet.name('b', part, name)} {a} {b} i=v({a},{b})*({1.0 / ohms:.4g}*{closed}+1e-9)"
        )


def _contacts(part: Part) -> Iterator[tuple[str, str, bool]]:
    """Common, other side, and whether it makes."""
    for pole in ("", "2"):
        for other in ("no", "nc"):
            if f"com{pole}" in part.pins and f"{other}{pole}" in part.pins:
                yield f"com{pole}", f"{other}{pole}", other == "no"


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong], None]] = {
    "relay": _relay,
    "solenoid": _solenoid,
}
"""Kind -> how it is written."""
