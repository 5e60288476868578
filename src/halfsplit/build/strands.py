"""Nets that are one but for the drop along a fuse, a contact or a few turns of wire."""

from __future__ import annotations

from collections.abc import Mapping

from halfsplit.board.model import Board, Part
from halfsplit.parts.registry import KINDS
from halfsplit.solve.laws.linear import Conductance

__all__ = ["strands"]

JOINS = 0.5
"""Siemens: what conducts better joins the nets on its ends."""


def strands(board: Board) -> Mapping[str, str]:
    """Net -> the first of all nets that it is joined with, where there are several."""
    first: dict[str, str] = {}

    def root(net: str) -> str:
        while net in first:
            net = first[net]
        return net

    for part in board.parts:
        for one, other in _joined(part):
            ends = sorted({root(one), root(other)})
            if len(ends) == 2 and board.ground not in ends:
                first[ends[1]] = ends[0]
    return {net: root(net) for net in first}


def _joined(part: Part) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    if part.kind not in KINDS:
        return found
    for element in KINDS.get(part.kind).elements(part):
        nets = [part.pins.get(terminal) for terminal in element.terminals]
        if isinstance(element.law, Conductance) and element.params["g"] >= JOINS:
            one, other = nets
            if one is not None and other is not None and one != other:
                found.append((one, other))
    return found
