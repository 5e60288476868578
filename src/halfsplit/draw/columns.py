"""Columns of boxes, and of wires that only pass a column."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from halfsplit.draw.model import Box, Sheet
from halfsplit.draw.symbols import Symbol, text_width

__all__ = ["Column", "End", "Item", "channels", "columns_of", "item_of", "naming"]

STUB = 10
"""Units from a pin to the mark of a rail or ground."""


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """Where a net leaves an item: ``y`` from its top."""

    net: str
    y: int
    right: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Item:
    """A box with room for what is written beside it (``left``, ``right`` of its symbol), or, when
    ``box`` is ``None``, a wire that passes."""

    box: Box | None
    symbol: Symbol
    ends: tuple[End, ...]
    left: int = 0
    right: int = 0

    @property
    def width(self) -> int:
        return self.left + self.symbol.width + self.right

    @property
    def height(self) -> int:
        return self.symbol.height


@dataclass(slots=True, kw_only=True)
class Column:
    """Items from top to bottom; ``tops`` their heights once they are known; ``odd`` columns stand
    at fives."""

    items: list[Item]
    odd: bool
    tops: list[int] = field(default_factory=list)

    @property
    def width(self) -> int:
        return max((item.width for item in self.items), default=0)


def naming(symbols: Sequence[Symbol], sheet: Sheet) -> frozenset[str]:
    """Places of pins on the left at which a net is named: those of nets that leave no pin to the
    right, where names usually stand."""
    right = {port.pin.net for symbol in symbols for port in symbol.ports if port.right}
    first: dict[str, str] = {}
    for symbol in symbols:
        for port in symbol.ports:
            if port.pin.net not in right and not sheet.labelled(port.pin.net):
                first.setdefault(port.pin.net, port.pin.place)
    return frozenset(first.values())


def item_of(box: Box, symbol: Symbol, sheet: Sheet, named: frozenset[str] = frozenset()) -> Item:
    """A box with its symbol, its ends, and the room that its labels take; see `naming`."""
    left = right = 0
    for port in symbol.ports:
        net = port.pin.net
        labelled = sheet.labelled(net)
        room = STUB + (14 if net == sheet.ground else text_width(net) + 6) if labelled else 0
        if not labelled and (port.right or port.pin.place in named):
            room = text_width(net) + 8
        left, right = (left, max(right, room)) if port.right else (max(left, room), right)
    ends = tuple(
        End(net=port.pin.net, y=port.y, right=port.right)
        for port in symbol.ports
        if not sheet.labelled(port.pin.net)
    )
    return Item(box=box, symbol=symbol, ends=ends, left=_tens(left), right=_tens(right))


def columns_of(items: Sequence[Item], rank: Sequence[int], sheet: Sheet) -> list[Column]:
    """Items by rank, with a passing wire for each net that must cross a column."""
    count = max(rank, default=-1) + 1
    columns = [Column(items=[], odd=bool(at % 2)) for at in range(count)]
    for item, at in zip(items, rank, strict=True):
        columns[at].items.append(item)
    for net, between in channels(columns).items():
        for at in range(min(between), max(between)):
            columns[at].items.append(_passing(net))
    return columns


def channels(columns: Sequence[Column]) -> dict[str, set[int]]:
    """Net -> the gaps it shows in; gap k is right of column k - 1, so left of column k."""
    found: dict[str, set[int]] = {}
    for at, column in enumerate(columns):
        for item in column.items:
            for end in item.ends:
                found.setdefault(end.net, set()).add(at + 1 if end.right else at)
    return found


def _passing(net: str) -> Item:
    symbol = Symbol(width=0, height=0, ports=())
    ends = (End(net=net, y=0, right=False), End(net=net, y=0, right=True))
    return Item(box=None, symbol=symbol, ends=ends)


def _tens(units: int) -> int:
    return -(-units // 10) * 10
