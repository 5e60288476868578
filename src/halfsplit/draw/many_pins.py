"""Parts with several pins and a shape of their own: bridge, transformer, relay, Hall switch,
resistor networks, rows of switches. IEC 60617, from memory."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.draw.model import Box, Pin
from halfsplit.draw.symbol import HEAD, Labelled, Port, Side, Symbol

__all__ = ["bridge", "hall", "network", "relay", "switches", "transformer"]

_ROW = 20


def bridge(box: Box) -> Symbol:
    """Four diodes in a diamond: the alternating side and − left, + right."""
    where: dict[str, tuple[int, int, Side]] = {
        "ac1": (0, 10, "left"), "-": (0, 40, "left"), "ac2": (0, 70, "left"),
        "+": (100, 40, "right"),
    }  # fmt: skip
    top, bottom, left, right = (50, 10), (50, 70), (20, 40), (80, 40)
    ways = ((left, top), (left, bottom), (top, right), (bottom, right))
    lines = ["M0 10H50M0 70H50M0 40H20M80 40H100", *(_edge(*way) for way in ways)]
    signs = ((24, 37, "end", "−"), (84, 37, "start", "+"))
    return Symbol(
        width=100, height=HEAD + 92, ports=_ports(box, where), lines=tuple(lines),
        shapes=tuple(_diode(*way) for way in ways),
        words=(*((x, HEAD + y, at, word) for x, y, at, word in signs),
               (50, HEAD + 91, "middle", box.label)),
    )  # fmt: skip


def transformer(box: Box) -> Symbol | None:
    """Primary left, core, secondary right with its tap; ``None`` for other windings."""
    left = [pin for pin in box.pins if pin.name in ("1", "2")]
    right = sorted((pin for pin in box.pins if pin not in left), key=lambda pin: pin.name)
    rows = {2: (10, 50), 3: (10, 30, 50)}
    if len(left) != 2 or len(right) not in rows:
        return None
    where: dict[str, tuple[int, int, Side]] = {left[0].name: (0, 10, "left")}
    where[left[1].name] = (0, 50, "left")
    where |= {pin.name: (80, y, "right") for pin, y in zip(right, rows[len(right)], strict=True)}
    lines = ["M0 10H26M0 50H26M54 10H80M54 50H80", "M38 8V52M42 8V52"]
    if len(right) == 3:
        lines.append("M54 30H80")
    turns = "".join("a5 5 0 0 {way} 0 10" for _ in range(4))
    shapes = ("M26 10" + turns.format(way=1), "M54 10" + turns.format(way=0))
    return Symbol(
        width=80, height=HEAD + 72, ports=_ports(box, where), lines=tuple(lines), shapes=shapes,
        words=((40, HEAD + 68, "middle", box.label),),
    )  # fmt: skip


def relay(box: Box) -> Symbol:
    """The coil left, its contacts at rest right."""
    where: dict[str, tuple[int, int, Side]] = {
        "1": (0, 10, "left"), "2": (0, 50, "left"),
        "nc": (100, 10, "right"), "no": (100, 30, "right"), "com": (100, 50, "right"),
    }  # fmt: skip
    drawn = {
        "nc": "M62 20V10H100", "no": "M80 22V30H100", "com": "M70 46V50H100",
    }  # fmt: skip
    names = {pin.name for pin in box.pins}
    lines = ["M0 10H24V18M24 42V50H0", "M36 34h5M45 34h5M54 34h5", "M70 46L61 21"]
    lines += [path for name, path in drawn.items() if name in names]
    return Symbol(
        width=100, height=HEAD + 72, ports=_ports(box, where), lines=tuple(lines),
        shapes=("M14 18H34V42H14Z", "M68 46a2 2 0 1 0 4 0a2 2 0 1 0 -4 0"),
        words=((50, HEAD + 68, "middle", box.label),),
    )  # fmt: skip


def hall(box: Box, labelled: Labelled) -> Symbol:
    """A crossed rectangle; supplies above and below when they are on rails."""
    pins = {pin.name: pin for pin in box.pins}
    ports = [Port(pin=pins["out"], x=70, y=HEAD + 20, side="right")]
    lines = ["M16 4L54 36M54 4L16 36", "M60 20H70"]
    ends: tuple[tuple[str, int, int, Side], ...] = (("vcc", 10, 0, "up"), ("gnd", 30, 40, "down"))
    for name, row, edge, side in ends:
        if labelled(pins[name].net):
            ports.append(Port(pin=pins[name], x=35, y=HEAD + edge, side=side))
        else:
            lines.append(f"M0 {row}H10")
            ports.append(Port(pin=pins[name], x=0, y=HEAD + row, side="left"))
    return Symbol(
        width=70, height=HEAD + 52, ports=tuple(ports), lines=tuple(lines),
        shapes=("M10 0H60V40H10Z",), words=((66, HEAD + 51, "end", box.label),), numbered=False,
    )  # fmt: skip


def network(box: Box, bussed: bool) -> Symbol | None:
    """Resistors in rows: each by itself, or all from one common pin; ``None`` when a pin's partner
    was not typed."""
    pins = sorted(box.pins, key=lambda pin: int(pin.name))
    if bussed:
        if pins[0].name != "1" or len(pins) < 2:
            return None
        rows: list[tuple[Pin | None, Pin | None]] = [(None, pin) for pin in pins[1:]]
        rows[0] = (pins[0], rows[0][1])
    else:
        known = {int(pin.name): pin for pin in pins}
        if any((number + 1 if number % 2 else number - 1) not in known for number in known):
            return None
        rows = [(known[n], known[n + 1]) for n in sorted(known) if n % 2]
    bus = f"M14 10V{10 + _ROW * (len(rows) - 1)}" if bussed else ""
    return _rows(box, rows, "M{start} {y}H24M64 {y}H88", "M24 {top}H64V{low}H24Z", bus)


def switches(box: Box) -> Symbol | None:
    """A row of switches, each between opposite pins; ``None`` for pins of another case."""
    poles = int(box.kind.rpartition("-")[2])
    known = {pin.name: pin for pin in box.pins}
    rows = [(known.pop(str(n), None), known.pop(str(2 * poles + 1 - n), None))
            for n in range(1, poles + 1)]  # fmt: skip
    rows = [row for row in rows if row != (None, None)]
    if known or not rows:
        return None
    ends = "M26 {y}a2 2 0 1 0 4 0a2 2 0 1 0 -4 0M58 {y}a2 2 0 1 0 4 0a2 2 0 1 0 -4 0"
    return _rows(box, rows, "M0 {y}H26M62 {y}H88M30 {y}L57 {blade}", ends, "")


def _rows(
    box: Box, rows: Sequence[tuple[Pin | None, Pin | None]], line: str, shape: str, more: str
) -> Symbol:
    ports, lines, shapes = [], [more] if more else [], []
    for at, (left, right) in enumerate(rows):
        y = 10 + _ROW * at
        lines.append(line.format(y=y, blade=y - 9, start=0 if left or not more else 14))
        shapes.append(shape.format(y=y, top=y - 6, low=y + 6))
        if left:
            ports.append(Port(pin=left, x=0, y=HEAD + y, side="left"))
        if right:
            ports.append(Port(pin=right, x=88, y=HEAD + y, side="right"))
    height = _ROW * len(rows)
    return Symbol(
        width=88, height=HEAD + height + 12, ports=tuple(ports), lines=tuple(lines),
        shapes=tuple(shapes), words=((44, HEAD + height + 11, "middle", box.label),), numbered=True,
    )  # fmt: skip


def _ports(box: Box, where: dict[str, tuple[int, int, Side]]) -> tuple[Port, ...]:
    spots = ((pin, where[pin.name]) for pin in box.pins)
    return tuple(Port(pin=pin, x=x, y=HEAD + y, side=side) for pin, (x, y, side) in spots)


def _edge(start: tuple[int, int], end: tuple[int, int]) -> str:
    """A line with the bar of a diode's cathode in its middle."""
    x, y, right, down = _middle(start, end)
    return (
        f"M{start[0]} {start[1]}L{end[0]} {end[1]}"
        f"M{x + 4 * right - 5 * down:g} {y + 4 * down + 5 * right:g}"
        f"l{10 * down:g} {-10 * right:g}"
    )


def _diode(start: tuple[int, int], end: tuple[int, int]) -> str:
    x, y, right, down = _middle(start, end)
    return (
        f"M{x - 4 * right - 5 * down:g} {y - 4 * down + 5 * right:g}"
        f"l{10 * down:g} {-10 * right:g}L{x + 4 * right:g} {y + 4 * down:g}Z"
    )


def _middle(start: tuple[int, int], end: tuple[int, int]) -> tuple[float, float, float, float]:
    """The middle of a line, and its direction, of length one."""
    (x1, y1), (x2, y2) = start, end
    long = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
    return (x1 + x2) / 2, (y1 + y2) / 2, (x2 - x1) / long, (y2 - y1) / long
