"""Items that stand in columns: a box, parts that hang on one net, or a wire that only passes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

from halfsplit.draw.model import Box, Sheet
from halfsplit.draw.symbol import OUTPUTS, Port, Symbol, text_width
from halfsplit.frozen import dataclass

__all__ = ["STUB", "Column", "End", "Held", "Item", "columns_of", "gaps_of", "item_of", "naming"]

STUB = 10
"""Units from a pin to the mark of a rail or ground."""
_GROUND = 14
_LETTERS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """Where a net leaves an item: ``x``, ``y`` from its top left corner."""

    net: str
    x: int
    y: int
    right: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A box in an item: ``x``, ``y`` of its symbol's corner from the item's."""

    box: Box
    symbol: Symbol
    x: int
    y: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Item:
    """What moves as one. Of parts that hang, ``net`` is theirs, ``level`` the height of its wire
    and ``taps`` (x, how many hang there); an item without boxes is a wire that passes."""

    id: str
    width: int
    height: int
    held: tuple[Held, ...] = ()
    ends: tuple[End, ...] = ()
    net: str = ""
    level: int = 0
    taps: tuple[tuple[int, int], ...] = ()
    lane: tuple[int, int] | None = None
    """Group of like channels, and which of them."""


@dataclass(slots=True, kw_only=True)
class Column:
    """Items from top to bottom, and their heights once they are known."""

    items: list[Item]
    tops: list[int] = field(default_factory=list)

    @property
    def width(self) -> int:
        return max((item.width for item in self.items), default=0)

    def inset(self, item: Item) -> int:
        """From the column's left edge to the item's: items stand in the middle."""
        return (self.width - item.width) // 2


def naming(symbols: Sequence[Symbol], sheet: Sheet) -> frozenset[str]:
    """Places of pins at which nets are named, one for each: at what drives it, else on a right
    side, else on a left."""
    best: dict[str, tuple[int, str]] = {}
    for symbol in symbols:
        for port in symbol.ports:
            if sheet.labelled(port.pin.net):
                continue
            merit = 2 * port.right + (port.right and port.pin.role in OUTPUTS)
            if merit > best.get(port.pin.net, (-1, ""))[0]:
                best[port.pin.net] = (merit, port.pin.place)
    return frozenset(place for _, place in best.values())


def item_of(box: Box, symbol: Symbol, sheet: Sheet, named: frozenset[str] = frozenset()) -> Item:
    """A box with its symbol, its ends, and the room that its labels take; see `naming`."""
    left = right = up = down = 0
    for port in symbol.ports:
        room = _room(port, sheet, named)
        if port.side in ("left", "right"):
            beyond = room - (port.x if port.side == "left" else symbol.width - port.x)
            left, right = (max(left, beyond), right) if port.side == "left" else (
                left, max(right, beyond))  # fmt: skip
        else:
            half = text_width(port.pin.net) // 2 if port.pin.net != sheet.ground else 7
            left, right = max(left, half - port.x), max(right, half - symbol.width + port.x)
            up = max(up, room - port.y) if port.side == "up" else up
            down = down if port.side == "up" else max(down, port.y + room - symbol.height)
    left, right, up, down = (_tens(side) for side in (left, right, up, down))
    ends = tuple(
        End(net=port.pin.net, x=left + port.x, y=up + port.y, right=port.right)
        for port in symbol.ports
        if not sheet.labelled(port.pin.net)
    )
    return Item(
        id=box.id, width=left + symbol.width + right, height=up + symbol.height + down,
        held=(Held(box=box, symbol=symbol, x=left, y=up),), ends=ends, lane=_lane(ends, sheet),
    )  # fmt: skip


def columns_of(items: Sequence[Item], rank: Sequence[int]) -> list[Column]:
    """Items by rank, with a passing wire for each net that must cross a column."""
    columns = [Column(items=[]) for _ in range(max(rank, default=-1) + 1)]
    lanes: dict[str, tuple[int, int]] = {}
    for item, at in zip(items, rank, strict=True):
        columns[at].items.append(item)
        if item.lane is not None:
            lanes.update(dict.fromkeys((end.net for end in item.ends), item.lane))
    for net, between in gaps_of(columns).items():
        for at in range(min(between), max(between)):
            if not any(item.net == net for item in columns[at].items):
                columns[at].items.append(_passing(net, at, lanes))
    return columns


def gaps_of(columns: Sequence[Column]) -> dict[str, set[int]]:
    """Net -> the gaps it shows in; gap k is right of column k - 1, so left of column k."""
    found: dict[str, set[int]] = {}
    for at, column in enumerate(columns):
        for item in column.items:
            for end in item.ends:
                found.setdefault(end.net, set()).add(at + 1 if end.right else at)
    return found


def _passing(net: str, at: int, lanes: Mapping[str, tuple[int, int]]) -> Item:
    ends = (End(net=net, x=0, y=0, right=False), End(net=net, x=0, y=0, right=True))
    return Item(id=f"{net} {at}", width=0, height=0, ends=ends, lane=lanes.get(net))


def _lane(ends: Sequence[End], sheet: Sheet) -> tuple[int, int] | None:
    """The channel of an item, when all its channels are one."""
    found = {sheet.lanes[end.net] for end in ends if end.net in sheet.lanes}
    return found.pop() if len(found) == 1 else None


def _room(port: Port, sheet: Sheet, named: frozenset[str]) -> int:
    """Units that a label takes beyond a pin."""
    net = port.pin.net
    if port.side in ("up", "down"):
        return _GROUND if net == sheet.ground else 6 + _LETTERS
    if net == sheet.ground:
        return STUB + _GROUND // 2
    if sheet.labelled(net):
        return STUB + text_width(net) + 6
    return text_width(net) + 8 if port.pin.place in named else 0


def _tens(units: int) -> int:
    return -(-units // 10) * 10
