"""What stands on a front panel: seven-segment displays and key matrices, in clear outline."""

from __future__ import annotations

from halfsplit.draw.model import Box
from halfsplit.draw.symbol import HEAD, Labelled, Port, Side, Symbol

__all__ = ["DISPLAYS", "display", "keypad"]

DISPLAYS = frozenset({"display-anode", "display-cathode"})
_ROW, _LEAD = 20, 20
_WIDE = 120
_FIGURE = {
    "a": (4, 0, 28, 0), "b": (30, 3, 28, 27), "c": (27, 33, 25, 57), "d": (-1, 60, 23, 60),
    "e": (0, 33, -2, 57), "f": (3, 3, 1, 27), "g": (2, 30, 26, 30),
}  # fmt: skip
"""Segment -> its stroke (x, y to x, y) in a figure 60 high that leans as it does on the part."""


def display(box: Box, labelled: Labelled) -> Symbol:
    """Pins left, the figure right; the common end above (anode) or below when it is on a rail."""
    anode = box.kind == "display-anode"
    ends = [pin for pin in box.pins if pin.name == "com" and labelled(pin.net)]
    rows = [pin for pin in box.pins if pin not in ends]
    height = max(_ROW * len(rows), 80)
    ports = [Port(pin=pin, x=0, y=HEAD + 10 + _ROW * at, side="left")
             for at, pin in enumerate(rows)]  # fmt: skip
    lines = [f"M0 {10 + _ROW * at}H{_LEAD}" for at in range(len(rows))]
    side: Side = "up" if anode else "down"
    ports += [Port(pin=pin, x=_LEAD + 60, y=HEAD + (0 if anode else height), side=side)
              for pin in ends]  # fmt: skip
    left, top = _LEAD + 50, height // 2 - 30
    lines += [f"M{left + x1} {top + y1}L{left + x2} {top + y2}"
              for x1, y1, x2, y2 in _FIGURE.values()]  # fmt: skip
    dot = f"M{left + 31} {top + 60}a2 2 0 1 0 4 0a2 2 0 1 0 -4 0Z"
    words = [(_LEAD + 4, port.y + 3, "start", port.pin.name) for port in ports
             if port.side == "left"]  # fmt: skip
    told = box.label or f"common {'anode' if anode else 'cathode'}"
    return Symbol(
        width=_WIDE, height=HEAD + height + 12, ports=tuple(ports), lines=tuple(lines),
        shapes=(f"M{_LEAD} 0H{_WIDE}V{height}H{_LEAD}Z", dot), name=(_LEAD, 13),
        words=(*words, (_LEAD + (_WIDE - _LEAD) // 2, HEAD + height + 11, "middle", told)),
    )  # fmt: skip


def keypad(box: Box) -> Symbol | None:
    """Rows from the left, columns to the right, and a key where they cross; ``None`` for other
    pins."""
    rows = [pin for pin in box.pins if pin.name.startswith("r")]
    columns = [pin for pin in box.pins if pin.name.startswith("c")]
    if not rows or not columns or len(rows) + len(columns) != len(box.pins):
        return None
    height = _ROW * (len(rows) + len(columns))
    wide = _LEAD + 30 + 24 * len(columns) + _LEAD
    ports: list[Port] = []
    lines: list[str] = []
    shapes: list[str] = []
    words: list[tuple[int, int, str, str]] = []
    for at, pin in enumerate(rows):
        y = 10 + _ROW * at
        ports.append(Port(pin=pin, x=0, y=HEAD + y, side="left"))
        lines.append(f"M0 {y}H{wide - _LEAD - 6}")
        words.append((_LEAD + 3, HEAD + y - 3, "start", pin.name))
    for at, pin in enumerate(columns):
        x, y = _LEAD + 34 + 24 * at, 10 + _ROW * (len(rows) + len(columns) - 1 - at)
        ports.append(Port(pin=pin, x=wide, y=HEAD + y, side="right"))
        lines.append(f"M{x} 4V{y}H{wide}")
        words.append((wide - _LEAD - 3, HEAD + y - 3, "end", pin.name))
        shapes += [_key(x, 10 + _ROW * row) for row in range(len(rows))]
    return Symbol(
        width=wide, height=HEAD + height + 12, ports=tuple(ports), lines=tuple(lines),
        shapes=(f"M{_LEAD} 0H{wide - _LEAD}V{height}H{_LEAD}Z", *shapes),
        words=(*words, (wide // 2, HEAD + height + 11, "middle", box.label)), name=(_LEAD, 13),
    )  # fmt: skip


def _key(x: int, y: int) -> str:
    """A key between a row and a column: a cap on the crossing, which joins nothing at rest."""
    return f"M{x - 5} {y - 5}h10v10h-10Z"
