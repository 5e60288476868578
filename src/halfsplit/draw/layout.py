"""Where everything goes: columns, the order in each, heights, and the wires between.

Columns alternate between heights at whole tens and at fives, so that a wire that leaves one column
never runs into a wire that leaves the next; between columns each net has a vertical of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.draw.columns import Column, Item, columns_of, item_of, naming
from halfsplit.draw.model import Box, Sheet
from halfsplit.draw.order import arranged
from halfsplit.draw.ranks import ranks
from halfsplit.draw.symbols import symbol_of
from halfsplit.draw.wires import Wire, wires_of

__all__ = ["Drawing", "Placed", "lay_out"]

EDGE = 20
"""Units of white around everything."""
TRAY_WIDTH = 900


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A box where it stands: ``x``, ``y`` of its symbol's top left corner."""

    item: Item
    x: int
    y: int
    tray: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A whole drawing in its own units."""

    sheet: Sheet
    width: int
    height: int
    boxes: tuple[Placed, ...]
    wires: tuple[Wire, ...]
    named: frozenset[str]
    """Places of pins on the left at which their net is named."""


def lay_out(sheet: Sheet) -> Drawing:
    """Lay a sheet out; the same sheet always gives the same drawing."""
    signal = [box for box in sheet.boxes if any(not sheet.labelled(pin.net) for pin in box.pins)]
    tray = [box for box in sheet.boxes if box not in signal]
    rank = ranks(signal, sheet)
    symbols = [symbol_of(box, _turned(at, signal, rank, sheet)) for at, box in enumerate(signal)]
    named = naming(symbols, sheet)
    items = [item_of(*one, sheet, named) for one in zip(signal, symbols, strict=True)]
    columns = arranged(columns_of(items, rank, sheet), sheet)
    wires, edges, width = wires_of(columns, sheet, EDGE)
    placed = _in_columns(columns, edges)
    top = min((one.y for one in placed), default=0)
    top = min([top, *(y for wire in wires for y in wire.heights)])
    shift = EDGE - top
    placed = [Placed(item=one.item, x=one.x, y=one.y + shift) for one in placed]
    wires = [wire.lower(shift) for wire in wires]
    bottom = max((one.y + one.item.symbol.height for one in placed), default=0)
    bottom = max([bottom, *(y for wire in wires for y in wire.heights)])
    in_tray, width, height = _tray(tray, sheet, max(width, 2 * EDGE), bottom + EDGE)
    return Drawing(
        sheet=sheet,
        width=width,
        height=height,
        boxes=(*placed, *in_tray),
        wires=tuple(wires),
        named=named,
    )


def _turned(at: int, boxes: Sequence[Box], rank: Sequence[int], sheet: Sheet) -> bool:
    """Whether a two-pin part stands better with its first pin on the right: rails left, ground
    right, else towards the boxes that it is wired to."""
    box = boxes[at]
    if len(box.pins) != 2:
        return False

    def pull(net: str) -> float:
        if net == sheet.ground:
            return 99.0
        if net in sheet.rails:
            return -99.0
        others = [
            rank[other]
            for other, one in enumerate(boxes)
            if other != at and any(pin.net == net for pin in one.pins)
        ]
        return sum(others) / len(others) - rank[at] if others else 0.0

    first, second = box.pins
    if sheet.labelled(first.net) != sheet.labelled(second.net):
        fixed, free = (first, second) if sheet.labelled(first.net) else (second, first)
        to_left = fixed.net != sheet.ground
        if pull(free.net):
            to_left = pull(free.net) > 0.0
        return (fixed is first) != to_left
    return pull(first.net) > pull(second.net)


def _in_columns(columns: Sequence[Column], edges: Sequence[int]) -> list[Placed]:
    placed = []
    for column, x in zip(columns, edges, strict=True):
        for item, y in zip(column.items, column.tops, strict=True):
            if item.box is not None:
                spare = (column.width - item.width) // 2
                placed.append(Placed(item=item, x=x + spare + item.left, y=y))
    return placed


def _tray(
    boxes: Sequence[Box], sheet: Sheet, width: int, top: int
) -> tuple[list[Placed], int, int]:
    """Parts that hang on rails only, in rows below the drawing."""
    room = max(width, TRAY_WIDTH if boxes else 0)
    placed: list[Placed] = []
    x, y, row = EDGE, top, 0
    for box in boxes:
        item = item_of(box, symbol_of(box, _rail_turned(box, sheet)), sheet)
        if x > EDGE and x + item.width + EDGE > room:
            x, y, row = EDGE, y + row + 10, 0
        placed.append(Placed(item=item, x=x + item.left, y=y, tray=True))
        x += item.width + 20
        row = max(row, item.symbol.height)
    reach = max((one.x + one.item.width for one in placed), default=0) + EDGE
    return placed, max(width, min(room, reach)), y + row + EDGE


def _rail_turned(box: Box, sheet: Sheet) -> bool:
    return len(box.pins) == 2 and box.pins[0].net == sheet.ground
