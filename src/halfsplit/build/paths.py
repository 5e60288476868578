"""Signal paths: from what drives a board, stage by stage, to what its owner sees it do."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from halfsplit.board.model import BLOCK, Board, Output
from halfsplit.build.blocks import blocks
from halfsplit.build.channels import links_of
from halfsplit.build.wiring import with_far_sides
from halfsplit.frozen import dataclass
from halfsplit.parts.block import block_inputs, block_outputs

__all__ = ["Path", "Stage", "paths"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One part on the way, the net before it and the net after it."""

    part: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """From a driven net to an output, by the fewest stages. ``origin`` is the block that makes the
    signal of ``source`` from nothing that was typed, empty when there is none."""

    source: str
    output: str
    stages: tuple[Stage, ...]
    origin: str = ""

    @property
    def nets(self) -> tuple[str, ...]:
        """In order, the source first."""
        return (self.source, *(stage.after for stage in self.stages))


def paths(board: Board) -> tuple[Path, ...]:
    """The paths of every output, longest first within an output. Left out are a driven net whose
    way leads through another driven net, and ways round to an output much farther off than the
    driven net's own. Where blocks bring several signals together, each has a path."""
    board = with_far_sides(board)
    rails = _supplies(board)
    near = _near(board, rails)
    origins = _origins(board, rails)
    driven = (_driven(board) | set(origins)) - rails
    found: list[Path] = []
    for output in board.outputs:
        ways = _ways(_ends(output, board, rails), near)
        mine = []
        for source in sorted(driven & set(ways)):
            stages = ways[source]
            if not any(stage.after in driven for stage in stages):
                mine.append(Path(source=source, output=output.name, stages=stages))
        if origins:
            mine = _branches(mine, ways, near, origins)
        found += sorted(mine, key=lambda path: -len(path.stages))
    nearest = {
        path.source: min(len(one.stages) for one in found if one.source == path.source)
        for path in found
    }
    return tuple(
        replace(path, origin=origins.get(path.source, ""))
        for path in found
        if path.source in origins or len(path.stages) <= nearest[path.source] + 1
    )


def _branches(
    known: Sequence[Path],
    ways: Mapping[str, tuple[Stage, ...]],
    near: Mapping[str, dict[str, str]],
    sources: Iterable[str],
) -> list[Path]:
    """Paths with more beside them, so that every net that leads to the output is on one."""
    found = list(known)
    seen = {net for path in found for net in path.nets}
    output = known[0].output if known else ""
    for net in sorted(ways, key=lambda one: -len(ways[one])):
        if net in seen or not output:
            continue
        back = _ways(((net, ""),), near)
        for source in sources:
            if source in back:
                path = Path(source=source, output=output, stages=(*back[source], *ways[net]))
                if len(set(path.nets)) == len(path.nets):
                    found.append(path)
                    seen |= set(path.nets)
                    break
    return found


def _supplies(board: Board) -> set[str]:
    """Rails and ground, and where fuses and plugs take them."""
    rails = {board.ground, *(rail.net for rail in board.rails)}
    for part in board.parts:
        if part.kind == "fuse" and rails & set(part.pins.values()):
            rails |= set(part.pins.values())
    return rails | {
        f"{part.designator}/{pin}"
        for part in board.parts
        if part.kind == "connector"
        for pin, net in part.pins.items()
        if net in rails
    }


def _near(board: Board, rails: set[str]) -> Mapping[str, dict[str, str]]:
    """Net -> net one part nearer to the source -> that part. A gate leads from its inputs to its
    output only; other elements lead both ways."""
    near: dict[str, dict[str, str]] = defaultdict(dict)
    for part in board.parts:
        before: dict[str, set[str]] = defaultdict(set)
        for link in links_of(part):
            own = [node for node in link.nodes if node not in rails]
            for node in own[:1] if link.one_way else own:
                before[node] |= {other for other in own if other != node}
        for net in sorted(set(part.pins.values()) & set(before)):
            for other in sorted(_reach(net, before) - {net}):
                near[net].setdefault(other, part.designator)
    return near


def _reach(net: str, before: Mapping[str, set[str]]) -> set[str]:
    """Nets that lead to a net through one part, by way of nodes inside it."""
    reach, edge = {net}, {net}
    while edge:
        new = set[str]().union(*(before.get(node, set()) for node in edge)) - reach
        reach |= new
        edge = {node for node in new if " " in node}
    return {node for node in reach if " " not in node}


def _driven(board: Board) -> set[str]:
    """Nets that the states drive, by themselves or by a part they set, and those that are driven
    from off the sheet."""
    nets = set(board.nets())
    by_state = {
        drive.target
        for state in board.states
        for step in state.steps
        for drive in step.drives
        if not blocks(board) or _can_be_set(board, drive.target)
    }
    off = {leaving.net for leaving in board.offsheet if leaving.what == "drive"}
    by_part = {
        net
        for part in board.parts
        if part.designator in by_state and part.kind != "connector"
        for net in part.pins.values()
    }
    return (by_state & nets) | by_part | off


def _can_be_set(board: Board, net: str) -> bool:
    """Whether a state can set a net of a board with blocks; else it says what should be there."""
    if any(leaving.net == net for leaving in board.offsheet):
        return True
    return any(
        at == net and part.kind != BLOCK and part.roles.get(pin, "") in ("out", "oc", "tri", "io")
        for part in board.parts
        for pin, at in part.pins.items()
    )


def _origins(board: Board, rails: set[str]) -> dict[str, str]:
    """Nets whose signal begins there -> the block that makes it; empty where it comes from outside
    to a block."""
    found: dict[str, str] = {}
    boxes = {part.designator for part in blocks(board)}
    nets = {net: {name for name, _ in pins} for net, pins in board.nets().items()}
    given = {part.pins[pin] for part in blocks(board) for pin in block_outputs(part)}
    for part in blocks(board):
        fed = [part.pins[pin] for pin in block_inputs(part)]
        outside = [net for net in fed if net not in given and nets[net] <= boxes]
        found |= dict.fromkeys(outside, "")
        if not set(fed) - rails:
            found |= {part.pins[pin]: part.designator for pin in block_outputs(part)}
    return found


def _ends(output: Output, board: Board, rails: set[str]) -> tuple[tuple[str, str], ...]:
    """The nets at which an output is seen, with the part it is seen by, if it is one."""
    part = board.part(output.target)
    if part is None:
        return ((output.target, ""),)
    return tuple((net, part.designator) for net in part.pins.values() if net not in rails)


def _ways(
    ends: tuple[tuple[str, str], ...], near: Mapping[str, dict[str, str]]
) -> dict[str, tuple[Stage, ...]]:
    """Net -> the fewest stages from it to an end."""
    ways: dict[str, tuple[Stage, ...]] = {net: () for net, _ in ends}
    edge = list(ways)
    while edge:
        new = []
        for net in edge:
            for other, part in near.get(net, {}).items():
                if other not in ways:
                    ways[other] = (Stage(part=part, before=other, after=net), *ways[net])
                    new.append(other)
        edge = new
    return ways
