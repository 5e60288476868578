"""Passive parts as the independent simulator sees them at DC.

Each renderer writes one part on the sheet and applies the hidden fault's mode by its meaning,
with values of its own (a short is not always the same short).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from halfsplit.board.model import Part
from halfsplit.trial import typed
from halfsplit.trial.sheet import OFF, Sheet, Wrong
from halfsplit.trial.spice_junction import leak as ohms_of_leak

__all__ = ["RENDERERS"]

_OPEN = 1e9
_FILLS = 0.4e-6
"""Farads: smaller ones are full before the supply is up (with the usual kilohms, assumed)."""


def _resistor(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    if len(part.pins) < 2:
        return
    ohms = sheet.near(typed.value(part, 10e3), _tolerance(part, 0.05))
    drift = sheet.rng.uniform(0.8, 1.3)
    if wrong.is_("open"):
        ohms = _OPEN
    elif wrong.is_("short"):
        ohms = min(0.5 * drift, 0.05 * ohms)
    elif wrong.is_("drifted high"):
        ohms *= 2.0 * drift
    elif wrong.is_("drifted low"):
        ohms *= 0.5 * drift
    sheet.ohms(sheet.name("r", part, "1"), sheet.pin(part, "1"), sheet.pin(part, "2"), ohms)


def _network(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    value = sheet.near(typed.value(part, 10e3), _tolerance(part, 0.02))
    for first, second in _pairs(part):
        if first not in part.pins or second not in part.pins:
            continue
        ohms = sheet.near(value, 0.005)
        name = f"r{first}-{second}"
        if wrong.is_(f"{name} open"):
            ohms = _OPEN
        elif wrong.is_(f"{name} short"):
            ohms = 0.5
        sheet.ohms(sheet.name("r", part, name), sheet.pin(part, first),
                   sheet.pin(part, second), ohms)  # fmt: skip


def _pairs(part: Part) -> list[tuple[str, str]]:
    most = 16
    if part.kind == "bussed-network":
        common = typed.text(part, "common", "1")
        return [(common, str(n)) for n in range(1, most + 1) if str(n) != common]
    if typed.text(part, "layout", "single") == "single":
        return [(str(n), str(n + 1)) for n in range(1, most, 2)]
    size = int(typed.number(part, "package", 16.0))
    return [(str(n), str(size + 1 - n)) for n in range(1, size // 2 + 1)]


def _potentiometer(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    ohms = sheet.near(typed.value(part, 10e3), _tolerance(part, 0.1))
    at = typed.number(part, "at", 0.5)
    at = min(max(sheet.near(at, 0.05 if "at" in part.fields else 0.4), 0.005), 0.995)
    middle = sheet.inner(part, "w")
    for pin, share in (("1", at), ("3", 1.0 - at)):
        if pin not in part.pins:
            continue
        track = ohms * share
        if wrong.is_(f"track open at {pin}"):
            track = _OPEN
        elif wrong.is_(f"short at {pin}"):
            track = 0.3
        sheet.ohms(sheet.name("r", part, pin), sheet.pin(part, pin), middle, track)
    if "w" in part.pins:
        wiper = 2.0
        if wrong.is_("wiper open"):
            wiper = _OPEN
        elif wrong.is_("wiper dirty"):
            wiper = (ohms + 1e4) * float(sheet.rng.uniform(0.5, 2.0))
        sheet.ohms(sheet.name("r", part, "wiper"), middle, sheet.pin(part, "w"), wiper)


def _capacitor(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    """At DC a leak; open, dried out and low in value change nothing that a meter shows."""
    if len(part.pins) < 2:
        return
    wet = part.kind in ("electrolytic", "tantalum")
    farads = typed.value(part, 1e-7)
    leak = (5e8 if not wet else min(2e3 / max(farads, 1e-7), 5e8)) * sheet.factor(0.5)
    if wrong.is_("short"):
        leak = float(sheet.rng.uniform(0.2, 2.0))
    elif wrong.is_("leaky"):
        leak = ohms_of_leak(sheet)
    elif wrong.is_("electrolyte leak"):
        leak = float(sheet.rng.uniform(3e4, 3e5))
    elif wrong.is_("open", "low value", "dried out"):
        leak = _OPEN
    first, second = (sheet.pin(part, pin) for pin in part.pins)
    name = sheet.name("r", part, "leak")
    fills = _holds_a_net(sheet, part) and farads >= _FILLS and not wrong.is_("open")
    sheet.ohms(name, first, second, leak, knob=fills)
    if fills:
        sheet.empty.append(name)
    _store(sheet, part, wrong, (first, second))


def _holds_a_net(sheet: Sheet, part: Part) -> bool:
    """Whether one end is on a supply or ground and the other is not."""
    fixed = {sheet.board.ground, *(rail.net for rail in sheet.board.rails)}
    return len(set(part.pins.values()) - fixed) == 1 and bool(set(part.pins.values()) & fixed)


def _store(sheet: Sheet, part: Part, wrong: Wrong, ends: tuple[str, str]) -> None:
    """Its capacitance behind its series resistance; at DC neither is there, so they are written
    where no supply is on. Electrolytics have a loss factor of 0.08 to 0.2 at 120 Hz and values
    from -20 to +30 per cent (IEC 60384-4, from memory)."""
    wet = part.kind in ("electrolytic", "tantalum")
    farads = typed.value(part, 1e-7) * float(sheet.rng.uniform(0.8, 1.3 if wet else 1.2))
    loss = float(sheet.rng.uniform(0.08, 0.2) if wet else sheet.rng.uniform(0.001, 0.02))
    series = loss / (2.0 * math.pi * 120.0 * farads)
    how_far = float(sheet.rng.uniform())
    if wrong.is_("open"):
        farads = 1e-12
    elif wrong.is_("low value"):
        farads *= 0.2 + 0.4 * how_far
    elif wrong.is_("dried out"):
        farads, series = farads * (0.1 + 0.4 * how_far), series * 10.0 ** (1.0 + how_far)
    middle = sheet.inner(part, "esr")
    sheet.add("*", f"{sheet.name('c', part, 'store')} {ends[0]} {middle} {farads:.6g}")
    sheet.add("*", f"{sheet.name('r', part, 'series')} {middle} {ends[1]} {max(series, 1e-3):.6g}")


def _coil(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    if len(part.pins) < 2:
        return
    wound = part.kind == "winding"
    ohms = typed.value(part, 50.0) if wound else typed.number(part, "ohms", 1.0)
    ohms = sheet.near(ohms, _tolerance(part, 0.1))
    if wrong.is_("open"):
        ohms = _OPEN
    elif wrong.is_("short"):
        ohms *= 0.02
    elif wrong.is_("half the turns"):
        ohms *= sheet.near(0.5, 0.1)
    elif wrong.is_("some turns"):
        ohms *= sheet.near(0.8, 0.05)
    elif wrong.is_("high resistance"):
        ohms *= sheet.near(3.0, 0.2)
    sheet.ohms(sheet.name("r", part, "1"), sheet.pin(part, "1"), sheet.pin(part, "2"), ohms)


def _fuse(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    if len(part.pins) < 2:
        return
    ohms = 0.12 / typed.value(part, 1.0) * sheet.factor(0.3)
    if wrong.is_("open"):
        ohms = _OPEN
    sheet.ohms(sheet.name("r", part, "1"), sheet.pin(part, "1"), sheet.pin(part, "2"), ohms)


def _switch(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    """Its contact is a knob; a stuck contact is a second resistor that no state alters."""
    if len(part.pins) < 2:
        return
    a, b, middle = sheet.pin(part, "1"), sheet.pin(part, "2"), sheet.inner(part, "c")
    series, parallel = 0.05, OFF
    if wrong.is_("open"):
        series = _OPEN
    elif wrong.is_("resistive"):
        series = sheet.near(150.0, 0.6)
    elif wrong.is_("sticking", "short"):
        parallel = 0.1
    closed = typed.text(part, "rest", "open") == "closed"
    sheet.ohms(sheet.name("r", part, "contact"), a, middle, 0.05 if closed else OFF, knob=True)
    sheet.ohms(sheet.name("r", part, "series"), middle, b, series)
    sheet.ohms(sheet.name("r", part, "stuck"), a, b, parallel)


def _connector(sheet: Sheet, part: Part, wrong: Wrong) -> None:
    """Contacts between the board's side ``n`` and the cable's side: pin ``n'`` where the board
    has one, else the net ``J2/n``."""
    nets = sheet.board.nets()
    for pin in part.pins:
        far, beyond = pin + "'", f"{part.designator}/{pin}"
        if pin.endswith("'") or not (far in part.pins or beyond in nets):
            continue
        cable = sheet.pin(part, far) if far in part.pins else sheet.net(beyond)
        middle, ohms = sheet.inner(part, f"m{pin}"), sheet.near(0.015, 0.5)
        if wrong.is_(f"{pin} contact open"):
            ohms = _OPEN
        elif wrong.is_(f"{pin} contact resistive"):
            ohms = sheet.near(120.0, 0.6)
        sheet.ohms(sheet.name("r", part, f"plug{pin}"), sheet.pin(part, pin), middle, 0.005,
                   knob=True)  # fmt: skip
        sheet.ohms(sheet.name("r", part, f"contact{pin}"), middle, cable, ohms)
    bridged = wrong.like(r"(\S+)-(\S+) bridged")
    if bridged:
        sheet.ohms(sheet.name("r", part, "bridge"), sheet.pin(part, bridged[1]),
                   sheet.pin(part, bridged[2]), 0.2)  # fmt: skip


def _tolerance(part: Part, usual: float) -> float:
    if part.value is None and part.kind in ("resistor", "bussed-network", "isolated-network"):
        return 0.5
    return usual if part.tolerance is None else part.tolerance


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong], None]] = {
    "resistor": _resistor,
    "bussed-network": _network,
    "isolated-network": _network,
    "potentiometer": _potentiometer,
    "capacitor": _capacitor,
    "film-capacitor": _capacitor,
    "electrolytic": _capacitor,
    "tantalum": _capacitor,
    "coil": _coil,
    "winding": _coil,
    "fuse": _fuse,
    "switch": _switch,
    "connector": _connector,
}
"""Kind -> how it is written."""
