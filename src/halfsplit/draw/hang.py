"""Parts that hang between a signal net and a rail: pull-ups above the wire, loads and bypasses
below it, test points on it. All that hang on one net stand side by side along the wire."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from halfsplit.draw.columns import End, Held, Item
from halfsplit.draw.model import Box, Sheet
from halfsplit.draw.symbol import TEST_POINT
from halfsplit.draw.two_pins import DROP, KINDS, hanging

__all__ = ["feeds", "hangs", "hung", "hung_item"]

_LYING = frozenset({"fuse", "crystal"})
"""Kinds that stay in the line of signal."""


def hung(boxes: Sequence[Box], sheet: Sheet) -> dict[str, list[Box]]:
    """Net -> the boxes that hang on it, nets with none left out."""
    found: dict[str, list[Box]] = {}
    for box in boxes:
        net = _hangs_on(box, sheet)
        if net:
            found.setdefault(net, []).append(box)
    return found


def hung_item(net: str, boxes: Sequence[Box], sheet: Sheet, left: bool, right: bool) -> Item:
    """What hangs on a net as one item; the wire goes on to the ``left``, to the ``right``."""
    ups = [box for box in boxes if _up(box, net, sheet)]
    downs = [box for box in boxes if box not in ups]
    above = max((_symbol_height(box) for box in ups), default=10)
    x = 10
    held: list[Held] = []
    taps: list[tuple[int, int]] = []
    for up, down in zip_longest(ups, downs):
        symbols = [
            (box, hanging(box, net, _rail(box, net), box is up))
            for box in (up, down)
            if box is not None
        ]
        axis = max(port.x for _, symbol in symbols for port in symbol.ports)
        for box, symbol in symbols:
            own = symbol.ports[0].x
            y = above - symbol.height if box is up else above
            held.append(Held(box=box, symbol=symbol, x=x + axis - own, y=y))
        taps.append((x + axis, len(symbols)))
        x += max(axis - symbol.ports[0].x + symbol.width for _, symbol in symbols)
    width = -(-x // 10) * 10
    ends = [End(net=net, x=0, y=above, right=False)] if left else []
    ends += [End(net=net, x=width, y=above, right=True)] if right else []
    return Item(
        id=f"net {net}", width=width, height=above + (DROP if downs else 10), held=tuple(held),
        ends=tuple(ends), net=net, level=above, taps=tuple(taps), lane=sheet.lanes.get(net),
    )  # fmt: skip


def feeds(boxes: Sequence[Box], net: str, sheet: Sheet) -> bool:
    """Whether any of them brings current to the net from a rail."""
    return any(box.kind != TEST_POINT and _up(box, net, sheet) for box in boxes)


def hangs(box: Box) -> bool:
    """Whether a box is of a kind that may hang."""
    if box.kind == TEST_POINT:
        return True
    return box.kind in KINDS and box.kind not in _LYING and len(box.pins) == 2


def _hangs_on(box: Box, sheet: Sheet) -> str:
    if not hangs(box):
        return ""
    free = [pin.net for pin in box.pins if not sheet.labelled(pin.net)]
    return free[0] if len(free) == 1 else ""


def _up(box: Box, net: str, sheet: Sheet) -> bool:
    rail = _rail(box, net)
    return box.kind == TEST_POINT or not (rail == sheet.ground or rail.startswith("-"))


def _rail(box: Box, net: str) -> str:
    return next((pin.net for pin in box.pins if pin.net != net), "")


def _symbol_height(box: Box) -> int:
    return 30 if box.kind == TEST_POINT else DROP
