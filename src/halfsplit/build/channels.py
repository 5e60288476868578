"""Channels: like paths on a board, found by the board's own symmetry.

Nets and the elements of parts are coloured by what they are (law, values; a rail is like no other
net) and recoloured by their neighbours' colours until nothing splits any more (colour refinement:
B. Weisfeiler and A. Leman, 1968). Nets of one colour are sisters; sisters that hang together make
a channel. Colours do not look at names or positions, and a board that is half typed has channels
as far as it is typed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence

from halfsplit.board.model import Board, Part
from halfsplit.build.wiring import with_far_sides
from halfsplit.errors import HalfsplitError
from halfsplit.frozen import dataclass
from halfsplit.parts.registry import KINDS
from halfsplit.solve.law import TROUBLE
from halfsplit.solve.laws.linear import Conductance
from halfsplit.solve.laws.logic import LogicOutput
from halfsplit.solve.laws.stage import StageDrive, StageTrouble

__all__ = ["Channel", "Link", "channels", "links_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One of several like paths: its nets, in the order of the classes that all of them have, and
    the parts that are its alone."""

    nets: tuple[str, ...]
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Link:
    """An element of a part, or a part as a whole: what it is, and the nodes it joins, in order
    unless it is the same ``either`` way round; ``one_way`` from all others to the first."""

    kind: Hashable
    part: str
    nodes: tuple[str, ...]
    either: bool = False
    one_way: bool = False


def channels(board: Board) -> tuple[tuple[Channel, ...], ...]:
    """Groups of like channels, the largest first; each group has two channels or more."""
    for known, found in _KEPT:
        if known is board:
            return found
    made = _channels(with_far_sides(board))
    _KEPT.insert(0, (board, made))
    del _KEPT[_MOST_KEPT:]
    return made


_KEPT: list[tuple[Board, tuple[tuple[Channel, ...], ...]]] = []
"""The boards asked for last; boards are frozen."""
_MOST_KEPT = 4


def _channels(board: Board) -> tuple[tuple[Channel, ...], ...]:
    links = [link for part in board.parts for link in links_of(part)]
    rails = {board.ground, *(rail.net for rail in board.rails)}
    colour = _refine(links, _first_colours(board, rails))
    nets = [net for net in board.nets() if net not in rails and net in colour]
    classes: dict[int, list[str]] = defaultdict(list)
    for net in nets:
        classes[colour[net]].append(net)
    sisters = [tuple(members) for members in classes.values() if len(members) > 1]
    groups = _aligned(sisters, _neighbours(links, rails))
    found = [_group(board, rails, members) for members in groups]
    return tuple(sorted(found, key=lambda group: -len(group[0].nets) * len(group)))


def links_of(part: Part) -> list[Link]:
    """The elements of a part that are connected; of an unknown kind, the part as a whole."""
    values = (part.kind, part.type, part.value, part.tolerance, tuple(sorted(part.fields.items())))
    try:
        elements = KINDS.get(part.kind).elements(part)
    except HalfsplitError:
        names = tuple(sorted(part.pins))
        return [Link((values, names), part.designator, tuple(part.pins[name] for name in names))]
    return [
        Link(
            (values[0], values[1:3], type(one.law).__name__, tuple(sorted(one.params.items()))),
            part.designator,
            tuple(_node(part, end) for end in one.terminals),
            isinstance(one.law, Conductance),
            isinstance(one.law, LogicOutput | StageTrouble),
        )
        for one in elements
        if not isinstance(one.law, StageDrive)
        and (one.params.get("g") != 0.0 or not isinstance(one.law, Conductance))
    ]


def _node(part: Part, end: str) -> str:
    return part.pins.get(end.removeprefix(TROUBLE), f"{part.designator} {end}")


def _first_colours(board: Board, rails: set[str]) -> dict[str, Hashable]:
    """Rails, and what leaves the sheet, are told apart from the start."""
    first: dict[str, Hashable] = {net: net for net in rails}
    for leaving in board.offsheet:
        first[leaving.net] = (leaving.what, leaving.family, leaving.count, leaving.ohms)
    for output in board.outputs:
        first.setdefault(output.target, ("output", output.measure, output.threshold))
    return first


def _refine(links: Sequence[Link], first: Mapping[str, Hashable]) -> dict[str, int]:
    """Node -> colour, as fine as neighbours make it."""
    nodes = dict.fromkeys([*first, *(node for link in links for node in link.nodes)])
    colour = _numbered({node: first.get(node, "") for node in nodes})
    while True:
        seen: dict[str, list[Hashable]] = defaultdict(list)
        for link in links:
            ends = tuple(colour[node] for node in link.nodes)
            what = (link.kind, tuple(sorted(ends)) if link.either else ends)
            for at, node in enumerate(link.nodes):
                seen[node].append((0 if link.either else at, what))
        finer = _numbered(
            {node: (colour[node], tuple(sorted(seen[node], key=repr))) for node in nodes}
        )
        if len(set(finer.values())) == len(set(colour.values())):
            return finer
        colour = finer


def _numbered(colour: Mapping[str, Hashable]) -> dict[str, int]:
    names: dict[Hashable, int] = {}
    return {node: names.setdefault(what, len(names)) for node, what in colour.items()}


def _neighbours(links: Sequence[Link], rails: set[str]) -> dict[str, set[str]]:
    """Node -> other nodes that an element joins with it, nodes inside parts and rails left out of
    the way."""
    near: dict[str, set[str]] = defaultdict(set)
    for link in links:
        own = set(link.nodes) - rails
        for node in own:
            near[node] |= own - {node}
    return near


def _aligned(
    sisters: Sequence[tuple[str, ...]], near: Mapping[str, set[str]]
) -> list[list[tuple[str, ...]]]:
    """Classes of sisters that hang together one to one, each in the order of the first."""
    left = list(sisters)
    groups = []
    while left:
        group = [left.pop(0)]
        grown = True
        while grown:
            grown = False
            for other in list(left):
                matched = next((m for mine in group if (m := _matched(mine, other, near))), None)
                if matched:
                    group.append(matched)
                    left.remove(other)
                    grown = True
        groups.append(group)
    return groups


def _matched(
    mine: tuple[str, ...], other: tuple[str, ...], near: Mapping[str, set[str]]
) -> tuple[str, ...] | None:
    """The other class in the order of this one, when each net has one neighbour in it."""
    if len(mine) != len(other):
        return None
    found = [_within(net, near) & set(other) for net in mine]
    if any(len(each) != 1 for each in found):
        return None
    order = tuple(next(iter(each)) for each in found)
    return order if len(set(order)) == len(order) else None


def _within(net: str, near: Mapping[str, set[str]]) -> set[str]:
    """Neighbours, by way of nodes inside a part too."""
    reach, edge = {net}, {net}
    while edge:
        new = set().union(*(near.get(node, set()) for node in edge)) - reach
        reach |= new
        edge = {node for node in new if " " in node}
    return reach - {net}


def _group(
    board: Board, rails: set[str], classes: Sequence[tuple[str, ...]]
) -> tuple[Channel, ...]:
    made = []
    everywhere = {net for members in classes for net in members}
    for at in range(len(classes[0])):
        nets = tuple(members[at] for members in classes)
        parts = [
            part.designator
            for part in board.parts
            if (own := set(part.pins.values()) - rails) & set(nets)
            and not own & (everywhere - set(nets))
        ]
        made.append(Channel(nets=nets, parts=tuple(parts)))
    return tuple(made)
