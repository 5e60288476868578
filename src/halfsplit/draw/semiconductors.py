"""Transistors, thyristors and the potentiometer: parts with three pins of their own shape."""

from __future__ import annotations

from halfsplit.draw.model import Box, Pin
from halfsplit.draw.symbol import HEAD, Labelled, Port, Side, Symbol

__all__ = [
    "ARRAY_TRANSISTOR", "bipolar", "mosfet", "potentiometer", "shunt_reference", "thyristor",
    "triac",
]  # fmt: skip

ARRAY_TRANSISTOR = "transistor of an array"
"""Kind of a box that is one NPN of several in a case: its pins have b, c, e as titles."""


def bipolar(box: Box, labelled: Labelled) -> Symbol:
    """Base left, collector and emitter right: an NPN's emitter below, a PNP's above."""
    in_array = box.kind == ARRAY_TRANSISTOR
    pins = {pin.title if in_array else pin.name: pin for pin in box.pins}
    pnp = box.kind.startswith("pnp")
    top, bottom = ("e", "c") if pnp else ("c", "e")
    arrow = "M18 13L24 6L26.5 11.5Z" if pnp else "M32 36L24.5 35L28 29.5Z"
    lines = ["M0 20H16", "M16 8V32", "M16 14L32 3V0", "M16 26L32 37V40", arrow]
    if "darlington" in box.kind:
        lines.append("M20 8V32")
    return _three(box, labelled, pins["b"], pins[top], pins[bottom], lines, numbered=in_array)


def mosfet(box: Box, labelled: Labelled) -> Symbol:
    """Gate left, drain and source right: an N-channel's source below, a P-channel's above."""
    pins = {pin.name: pin for pin in box.pins}
    p = box.kind == "pmos"
    top, bottom = ("s", "d") if p else ("d", "s")
    lines = ["M0 20H14V10M14 20V30", "M20 6V14M20 16V24M20 26V34", "M20 10H32V0",
             "M20 30H32V40", "M20 20H32V30" if not p else "M20 20H32V10",
             "M20 20L27 17V23Z" if not p else "M30 20L23 17V23Z"]  # fmt: skip
    return _three(box, labelled, pins["g"], pins[top], pins[bottom], lines)


def thyristor(box: Box, labelled: Labelled) -> Symbol:
    """Anode above, cathode below, the gate left."""
    pins = {pin.name: pin for pin in box.pins}
    lines = ["M32 0V40", "M22 28H42", "M0 20H12L26 28"]
    return _three(
        box, labelled, pins["g"], pins["a"], pins["k"], lines, ring="M22 12H42L32 28Z"
    )  # fmt: skip


def triac(box: Box, labelled: Labelled) -> Symbol:
    """Main terminal 2 above, 1 below, the gate left beside it."""
    pins = {pin.name: pin for pin in box.pins}
    lines = ["M32 0V12M32 28V40", "M18 12H46M18 28H46", "M0 20H10L21 28"]
    both = "M20 28H32L26 12ZM32 12H44L38 28Z"
    return _three(box, labelled, pins["g"], pins["mt2"], pins["mt1"], lines, ring=both)


def shunt_reference(box: Box, labelled: Labelled) -> Symbol:
    """A Zener diode with its reference at the cathode's bar; the cathode above."""
    pins = {pin.name: pin for pin in box.pins}
    lines = ["M32 0V40", "M20 16V12H44V8", "M0 20H14V12H20"]
    return _three(
        box, labelled, pins["ref"], pins["k"], pins["a"], lines, ring="M22 28H42L32 12Z"
    )  # fmt: skip


def potentiometer(box: Box, labelled: Labelled) -> Symbol:
    """A standing track with the wiper's arrow to the right."""
    pins = {pin.name: pin for pin in box.pins}
    lines = ["M20 0V5M20 35V40", "M28 20H60", "M28 20L35 16.5V23.5Z"]
    ports = [Port(pin=pins["w"], x=60, y=HEAD + 20, side="right")]
    ends: tuple[tuple[str, int, Side], ...] = (("1", 0, "up"), ("3", 40, "down"))
    for name, y, side in ends:
        if labelled(pins[name].net):
            ports.append(Port(pin=pins[name], x=20, y=HEAD + y, side=side))
        else:
            lines.append(f"M20 {y}H0")
            ports.append(Port(pin=pins[name], x=0, y=HEAD + y, side="left"))
    return Symbol(
        width=60, height=HEAD + 50, ports=tuple(ports), lines=tuple(lines),
        shapes=("M12 5H28V35H12Z",), words=((32, HEAD + 38, "start", box.label),),
    )  # fmt: skip


_ROOM = 16
"""Units left of the body, for the type below it."""
_RING = "M6 20A18 18 0 1 1 42 20A18 18 0 1 1 6 20Z"


def _three(
    box: Box, labelled: Labelled, left: Pin, top: Pin, bottom: Pin, lines: list[str],
    ring: str = _RING, *, numbered: bool = False,
) -> Symbol:  # fmt: skip
    """Control on the left, a path from top to bottom; what is wired leaves to the right."""
    ports = [Port(pin=left, x=0, y=HEAD + 20, side="left")]
    lines = [f"M{-_ROOM} 20H0", *lines]
    ends: tuple[tuple[Pin, int, Side], ...] = ((top, 0, "up"), (bottom, 40, "down"))
    for pin, y, side in ends:
        if labelled(pin.net):
            ports.append(Port(pin=pin, x=_ROOM + 32, y=HEAD + y, side=side))
        else:
            lines.append(f"M32 {y}H44")
            ports.append(Port(pin=pin, x=_ROOM + 44, y=HEAD + y, side="right"))
    return Symbol(
        width=_ROOM + 44, height=HEAD + 52, ports=tuple(ports), lines=tuple(lines), shapes=(ring,),
        words=((_ROOM + 22, HEAD + 51, "end", box.label),),
        transform=f"translate({_ROOM} {HEAD})", numbered=numbered,
    )  # fmt: skip
