"""Where everything goes.

Boxes that are wired together make a piece. In a piece signal flows from column to column: which
column (`ranks`), in which order (`order`), how high (`heights`), and the wires between (`wires`).
Pieces are packed side by side, parts that hang on rails only into a tray below.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from halfsplit.draw.columns import Item, columns_of, item_of, naming
from halfsplit.draw.hang import feeds, hangs, hung, hung_item
from halfsplit.draw.heights import stand
from halfsplit.draw.model import Box, Sheet
from halfsplit.draw.order import arrange
from halfsplit.draw.pack import packed
from halfsplit.draw.ranks import LOADED, THROUGH, Node, ranks
from halfsplit.draw.symbol import Symbol
from halfsplit.draw.symbols import symbol_of
from halfsplit.draw.two_pins import hanging
from halfsplit.draw.wires import Wire, wires_of
from halfsplit.frozen import dataclass

__all__ = ["Drawing", "Placed", "lay_out"]

EDGE = 20
"""Units of white around everything."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A box where it stands: ``x``, ``y`` of its symbol's top left corner, and the corners of the
    room that it takes with all that is written at it."""

    box: Box
    symbol: Symbol
    x: int
    y: int
    room: tuple[int, int, int, int]
    tray: bool = False

    def moved(self, right: int, down: int) -> Placed:
        """The same elsewhere."""
        left, top, far, low = self.room
        room = (left + right, top + down, far + right, low + down)
        return replace(self, x=self.x + right, y=self.y + down, room=room)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A whole drawing in its own units. ``named``: places of pins at which nets are named."""

    sheet: Sheet
    width: int
    height: int
    boxes: tuple[Placed, ...]
    wires: tuple[Wire, ...]
    named: frozenset[str]
    heights: Mapping[str, int]
    """Item -> its height, for a drawing of the edited board to begin with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """Boxes that are wired together, from (0, 0) on."""

    width: int
    height: int
    boxes: tuple[Placed, ...]
    wires: tuple[Wire, ...] = ()
    named: frozenset[str] = frozenset()
    heights: Mapping[str, int]


def lay_out(sheet: Sheet, before: Drawing | None = None) -> Drawing:
    """Lay a sheet out; the same sheet always gives the same drawing. What stood in ``before``, a
    drawing of the board before it was edited, keeps its order."""
    earlier = before.heights if before else {}
    signal = [box for box in sheet.boxes if any(not sheet.labelled(pin.net) for pin in box.pins)]
    pieces = [_laid(boxes, sheet, earlier) for boxes in _pieces(signal, sheet)]
    tray = [_alone(box, sheet) for box in sheet.boxes if box not in signal]
    spots, width, bottom = packed([(piece.width, piece.height) for piece in pieces])
    below, wide, height = packed([(piece.width, piece.height) for piece in tray], least=width)
    boxes: list[Placed] = []
    wires: list[Wire] = []
    for piece, (x, y) in zip(pieces, spots, strict=True):
        boxes += [one.moved(x + EDGE, y + EDGE) for one in piece.boxes]
        wires += [wire.moved(x + EDGE, y + EDGE) for wire in piece.wires]
    down = bottom + 2 * EDGE if pieces else EDGE
    for piece, (x, y) in zip(tray, below, strict=True):
        boxes += [replace(one.moved(x + EDGE, y + down), tray=True) for one in piece.boxes]
    return Drawing(
        sheet=sheet,
        width=max(width, wide) + 2 * EDGE,
        height=down + height + EDGE,
        boxes=tuple(boxes),
        wires=tuple(wires),
        named=frozenset(place for piece in pieces for place in piece.named),
        heights={item: y for piece in pieces for item, y in piece.heights.items()},
    )


def _pieces(boxes: Sequence[Box], sheet: Sheet) -> list[list[Box]]:
    """Boxes by what they are wired to, in the order in which they were typed."""
    group = list(range(len(boxes)))

    def root(at: int) -> int:
        while group[at] != at:
            group[at] = group[group[at]]
            at = group[at]
        return at

    first: dict[str, int] = {}
    for at, box in enumerate(boxes):
        for pin in box.pins:
            if not sheet.labelled(pin.net):
                a, b = sorted((root(at), root(first.setdefault(pin.net, at))))
                group[b] = a
    found: dict[int, list[Box]] = {}
    for at, box in enumerate(boxes):
        found.setdefault(root(at), []).append(box)
    return list(found.values())


def _laid(boxes: Sequence[Box], sheet: Sheet, earlier: Mapping[str, int]) -> _Piece:
    hangers = hung(boxes, sheet)
    away = {box.id for of in hangers.values() for box in of}
    standing = [box for box in boxes if box.id not in away]
    nodes = [_node(box, sheet) for box in standing]
    nodes += [[(net, THROUGH if feeds(of, net, sheet) else LOADED)] for net, of in hangers.items()]
    rank = ranks(nodes)
    turned = [_turned(at, standing, rank, sheet) for at in range(len(standing))]
    symbols = [
        symbol_of(box, turn, sheet.labelled) for box, turn in zip(standing, turned, strict=True)
    ]
    named = naming(symbols, sheet)
    items = [item_of(*one, sheet, named) for one in zip(standing, symbols, strict=True)]
    named |= _named_hanging(hangers, symbols)
    items += _hung_items(hangers, items, rank, sheet)
    columns = columns_of(items, rank)
    arrange(columns, earlier)
    stand(columns)
    wires, edges = wires_of(columns)
    spots = [
        (item, edge + column.inset(item), top)
        for column, edge in zip(columns, edges, strict=True)
        for item, top in zip(column.items, column.tops, strict=True)
    ]
    placed = [one for item, x, y in spots for one in _placed(item, x, y)]
    xs = [at for wire in wires for line in wire.lines for at in (line[0], line[2])]
    ys = [at for wire in wires for line in wire.lines for at in (line[1], line[3])]
    left = min([0, *xs])
    top = min([y for _, _, y in spots] + ys)
    right = max([x + item.width for item, x, _ in spots] + xs)
    low = max([y + item.height for item, _, y in spots] + ys)
    return _Piece(
        width=right - left,
        height=low - top,
        boxes=tuple(one.moved(-left, -top) for one in placed),
        wires=tuple(wire.moved(-left, -top) for wire in wires),
        named=named,
        heights={item.id: y - top for item, _, y in spots},
    )


def _node(box: Box, sheet: Sheet) -> Node:
    """Wired nets with their roles; what comes from a rail through a fuse or the like drives."""
    wired = [(pin.net, pin.role) for pin in box.pins if not sheet.labelled(pin.net)]
    fed = any(pin.net in sheet.rails for pin in box.pins)
    if len(box.pins) == 2 and fed and [role for _, role in wired] == ["passive"]:
        return [(net, "out") for net, _ in wired]
    return wired


def _hung_items(
    hanging: Mapping[str, Sequence[Box]], items: Sequence[Item], rank: Sequence[int], sheet: Sheet
) -> list[Item]:
    """What hangs, with a wire to each side on which something of its net ends."""
    gaps: dict[str, set[int]] = {}
    for item, at in zip(items, rank, strict=False):
        for end in item.ends:
            gaps.setdefault(end.net, set()).add(at + end.right)
    own = dict(zip(hanging, rank[len(items) :], strict=True))
    return [
        hung_item(
            net, boxes, sheet, left=any(gap <= own[net] for gap in gaps.get(net, ())),
            right=any(gap > own[net] for gap in gaps.get(net, ())),
        )
        for net, boxes in hanging.items()
    ]  # fmt: skip


def _named_hanging(
    hangers: Mapping[str, Sequence[Box]], symbols: Sequence[Symbol]
) -> frozenset[str]:
    """Places at which nets are named that nothing but hanging parts is on."""
    told = {port.pin.net for symbol in symbols for port in symbol.ports}
    return frozenset(
        next(pin.place for pin in boxes[0].pins if pin.net == net)
        for net, boxes in hangers.items()
        if net not in told
    )


def _placed(item: Item, x: int, y: int) -> list[Placed]:
    found = []
    for held in item.held:
        left, top = x + held.x, y + held.y
        room = (
            (left, top, left + held.symbol.width, top + held.symbol.height)
            if item.net
            else (x, y, x + item.width, y + item.height)
        )
        found.append(Placed(box=held.box, symbol=held.symbol, x=left, y=top, room=room))
    return found


def _alone(box: Box, sheet: Sheet) -> _Piece:
    """A part of the tray: what hangs between a rail and ground stands, the rest lies."""
    symbol = symbol_of(box, len(box.pins) == 2 and box.pins[0].net == sheet.ground, sheet.labelled)
    nets = [pin.net for pin in box.pins]
    if hangs(box) and (len(nets) == 1 or sheet.ground in nets):
        rail = next((net for net in nets if net != sheet.ground), sheet.ground)
        below = rail if rail.startswith("-") and len(nets) == 2 else sheet.ground
        symbol = hanging(box, below, rail, up=True)
    item = item_of(box, symbol, sheet)
    return _Piece(
        width=item.width, height=item.height, boxes=tuple(_placed(item, 0, 0)), heights={}
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
