"""Nets at inputs whose threshold is a share of the supply."""

from __future__ import annotations

from halfsplit.board.model import Board
from halfsplit.build.assemble import Assembly
from halfsplit.solve.laws.logic import LogicOutput

__all__ = ["nets_at_mos"]


def nets_at_mos(board: Board, assembly: Assembly) -> frozenset[str]:
    """The nets of the inputs of MOS chips."""
    nodes = {
        int(node)
        for group in assembly.circuit.groups
        if isinstance(group.law, LogicOutput)
        for node in group.nodes[3:, group.base[group.law.parameters.index("rel")] > 0].flat
    }
    pins = {part.designator: part.pins for part in board.parts}
    return frozenset(
        pins[ref.designator][ref.pin]
        for ref, node in assembly.leg_node.items()
        if node in nodes and ref.pin in pins.get(ref.designator, ())
    )
