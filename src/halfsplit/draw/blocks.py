"""Rectangles: chips, regulators, opto couplers, connectors, and the power pins of chips."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.draw.model import Box, Pin
from halfsplit.draw.symbol import HEAD, OUTPUTS, Labelled, Port, Side, Symbol, text_width

__all__ = ["FAR", "chip", "connector", "optocoupler", "power", "regulator"]

FAR = "'"
"""Behind the number of a connector's pin: its other side."""
_LEAD = 20
_SHARE = 44
"""Units between the designator and the name of a rail, for a number of suspicion."""
_ROW = 20


def chip(box: Box, labelled: Labelled) -> Symbol:
    """Inputs left, outputs right, supplies at the top, ground at the bottom."""
    power = [pin for pin in box.pins if pin.role in ("supply", "ground") and labelled(pin.net)]
    right = [pin for pin in box.pins if pin.role in OUTPUTS]
    left = [pin for pin in box.pins if pin not in right and pin not in power]
    if not right and len(left) > 3 and all(pin.role == "passive" for pin in left):
        half = (len(left) + 1) // 2
        left, right = left[:half], left[half:]
    up = [pin for pin in power if pin.role == "supply"]
    down = [pin for pin in power if pin.role == "ground"]
    inner = max(
        44,
        2 * max((text_width(_inside(pin)) for pin in box.pins), default=0) + 16,
        24 * len(up) + text_width(box.part, 11.0) + (_SHARE if up else 12),
        24 * len(down) + 16,
    )
    width = _tens(_LEAD * bool(left) + inner + _LEAD * bool(right))
    from_x, to_x = _LEAD * bool(left), width - _LEAD * bool(right)
    top = 10 if up else 0
    height = _ROW * max(len(left), len(right), 1) + 2 * top
    ports, lines, words = _rows(left, right, from_x, to_x, width, top)
    for at, pin in enumerate(up):
        ports.append(Port(pin=pin, x=to_x - 12 - 24 * at, y=HEAD, side="up"))
        words.append((to_x - 12 - 24 * at, HEAD + 10, "middle", _inside(pin)))
    for at, pin in enumerate(down):
        x = from_x + 16 + 24 * at
        ports.append(Port(pin=pin, x=x, y=HEAD + height, side="down"))
    words.append((to_x if down else (from_x + to_x) // 2, HEAD + height + 11,
                  "end" if down else "middle", box.label))  # fmt: skip
    return Symbol(
        width=width, height=HEAD + height + 12, ports=tuple(ports), lines=tuple(lines),
        shapes=(f"M{from_x} 0H{to_x}V{height}H{from_x}Z",), words=tuple(words), numbered=True,
        name=(from_x, 13),
    )  # fmt: skip


def power(box: Box) -> Symbol:
    """The supply pins of a chip whose units stand elsewhere: supplies above, grounds below."""
    up = [pin for pin in box.pins if pin.role != "ground"]
    down = [pin for pin in box.pins if pin.role == "ground"]
    width = _tens(max(30 * max(len(up), len(down)), text_width(box.label), 50))
    ports = []
    edges: tuple[tuple[list[Pin], int, Side], ...] = (
        (up, HEAD + 20, "up"), (down, HEAD + 40, "down"),
    )  # fmt: skip
    for pins, y, side in edges:
        for at, pin in enumerate(pins):
            ports.append(Port(pin=pin, x=15 + 30 * at, y=y, side=side))
    return Symbol(
        width=width, height=HEAD + 60, ports=tuple(ports), shapes=(f"M4 20H{width - 4}V40H4Z",),
        words=((width // 2, HEAD + 33, "middle", box.label),), numbered=True,
    )  # fmt: skip


def regulator(box: Box, labelled: Labelled) -> Symbol:
    """Input left, output right, the common pin below when it is on a rail or ground."""
    pins = {pin.name: pin for pin in box.pins}
    ports = [
        Port(pin=pins["in"], x=0, y=HEAD + 10, side="left"),
        Port(pin=pins["out"], x=90, y=HEAD + 10, side="right"),
    ]
    lines = ["M0 10H10M80 10H90"]
    words = [(14, HEAD + 13, "start", "in"), (76, HEAD + 13, "end", "out"),
             (45, HEAD + 26, "middle", box.label)]  # fmt: skip
    if labelled(pins["gnd"].net):
        lines.append("M45 30V40")
        ports.append(Port(pin=pins["gnd"], x=45, y=HEAD + 40, side="down"))
    else:
        lines.append("M0 30H20V30")
        ports.append(Port(pin=pins["gnd"], x=0, y=HEAD + 30, side="left"))
        words.append((14, HEAD + 27, "start", "adj"))
    return Symbol(
        width=90, height=HEAD + 42, ports=tuple(ports), lines=tuple(lines),
        shapes=("M10 0H80V30H10Z",), words=tuple(words),
    )  # fmt: skip


def optocoupler(box: Box) -> Symbol:
    """A light-emitting diode and a phototransistor, the slot of a slotted one between; with all
    pins on the right when the diode's are outputs, as of a sensor on a cable."""
    pins = {pin.name: pin for pin in box.pins}
    aside = pins["a"].role in OUTPUTS
    width, high, dx = (80, 90, 10) if aside else (100, 60, 0)
    side: Side = "right" if aside else "left"
    rows: tuple[tuple[str, int, Side], ...] = (
        ("a", 10, side), ("k", 30 if aside else 50, side),
        ("c", 60 if aside else 10, "right"), ("e", 80 if aside else 50, "right"),
    )  # fmt: skip
    ports = tuple(
        Port(pin=pins[name], x=width if at == "right" else 0, y=HEAD + y, side=at)
        for name, y, at in rows
    )
    if aside:
        lines = ["M80 10H30V30H80", "M22 27H38", "M36 36L40 46M36.5 43L40 46L40.5 41.5",
                 "M44 34L48 44M44.5 41L48 44L48.5 39.5", "M30 60V80", "M30 66L46 60H80",
                 "M30 74L46 80H80", "M44 79.2L37.8 79.3L40 74.5Z"]  # fmt: skip
        light, slot = "M22 15H38L30 27Z", "M6 50H14M20 50H28M34 50H42M48 50H56M62 50H66"
    else:
        lines = ["M0 10H26V50H0", "M18 38H34", "M38 26L48 26M44 23.5L48 26L44 28.5",
                 "M38 33L48 33M44 30.5L48 33L44 35.5", "M64 20V40", "M64 26L76 17V10H100",
                 "M64 34L76 43V50H100", "M76 43L69.5 42L73 37Z"]  # fmt: skip
        light, slot = "M18 24H34L26 38Z", "M53 4V16M53 22V28M53 34V40M53 46V56"
    if box.kind == "slotted-sensor":
        lines.append(slot)
    frame = f"M{10 - dx} 0H{width - 10}V{high}H{10 - dx}Z"
    words = tuple(
        (
            width - 14 if at == "right" else 14,
            HEAD + y - 2,
            "end" if at == "right" else "start",
            name,
        )
        for name, y, at in rows
    )
    return Symbol(
        width=width, height=HEAD + high + 12, ports=ports, lines=tuple(lines),
        shapes=(frame, light),
        words=(*words, (width // 2, HEAD + high + 11, "middle", box.label)),
    )  # fmt: skip


def connector(box: Box) -> Symbol:
    """A strip of contacts, one row for a pin and its far side; the side of each is its role's."""
    rows = list(dict.fromkeys(pin.name.removesuffix(FAR) for pin in box.pins))
    inner = max(24, 2 * max(map(text_width, rows), default=0) // 2 + 12)
    left = [pin for pin in box.pins if pin.role not in OUTPUTS]
    right = [pin for pin in box.pins if pin.role in OUTPUTS]
    from_x, to_x = (_LEAD if left else 0), (_LEAD if left else 0) + inner
    width = _tens(to_x + (_LEAD if right else 0))
    to_x = width - (_LEAD if right else 0)
    ports = []
    lines = []
    for pin in box.pins:
        y = 10 + _ROW * rows.index(pin.name.removesuffix(FAR))
        out = pin.role in OUTPUTS
        ports.append(
            Port(pin=pin, x=width if out else 0, y=HEAD + y, side="right" if out else "left")
        )
        lines.append(f"M{to_x} {y}H{width}" if out else f"M0 {y}H{from_x}")
    middle = (from_x + to_x) // 2
    words = [(middle, HEAD + 13 + _ROW * at, "middle", row) for at, row in enumerate(rows)]
    height = _ROW * len(rows)
    rules = "".join(f"M{from_x} {_ROW * at}H{to_x}" for at in range(1, len(rows)))
    return Symbol(
        width=width, height=HEAD + height + 12, ports=tuple(ports),
        lines=(*lines, rules) if rules else tuple(lines),
        shapes=(f"M{from_x} 0H{to_x}V{height}H{from_x}Z",), name=(from_x, 13),
        words=(*words, (middle, HEAD + height + 11, "middle", box.label)),
    )  # fmt: skip


def _rows(
    left: Sequence[Pin], right: Sequence[Pin], from_x: int, to_x: int, width: int, top: int
) -> tuple[list[Port], list[str], list[tuple[int, int, str, str]]]:
    ports: list[Port] = []
    lines: list[str] = []
    words: list[tuple[int, int, str, str]] = []
    sides: tuple[tuple[Side, Sequence[Pin]], ...] = (("left", left), ("right", right))
    for side, pins in sides:
        out = side == "right"
        for at, pin in enumerate(pins):
            y = top + 10 + _ROW * at
            ports.append(Port(pin=pin, x=width if out else 0, y=HEAD + y, side=side))
            lines.append(f"M{to_x} {y}H{width}" if out else f"M0 {y}H{from_x}")
            x, anchor = (to_x - 4, "end") if out else (from_x + 4, "start")
            words.append((x, HEAD + y + 3, anchor, _inside(pin)))
    return ports, lines, words


def _inside(pin: Pin) -> str:
    """What is written inside at a pin, its number being outside."""
    return pin.title if len(pin.title) <= 7 else ""


def _tens(units: int) -> int:
    return -(-units // 10) * 10
