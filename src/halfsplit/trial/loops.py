"""Nets that gates lead back to themselves: latches made of plain gates remember."""

from __future__ import annotations

from halfsplit.board.model import Board
from halfsplit.parts.logic import LogicChip
from halfsplit.parts.registry import KINDS
from halfsplit.solve import expression
from halfsplit.solve.laws.logic import LogicOutput

__all__ = ["looped_nets"]


def looped_nets(board: Board) -> tuple[str, ...]:
    """Nets from which a chain of gates leads back to the same net, in the board's order. A stored
    bit of a flip-flop breaks the chain; its direct inputs do not."""
    leads: dict[str, set[str]] = {}
    for part in board.parts:
        kind = KINDS.get(part.kind)
        if not isinstance(kind, LogicChip):
            continue
        for element in kind.elements(part):
            law = element.law
            if not isinstance(law, LogicOutput) or element.terminals[0] not in part.pins:
                continue
            used = set(expression.names(law.level))
            used |= set(expression.names(law.enable)) if law.enable else set()
            for name, pin in zip(law.inputs, element.terminals[3:], strict=True):
                if name in used and pin in part.pins:
                    leads.setdefault(part.pins[pin], set()).add(part.pins[element.terminals[0]])
    return tuple(net for net in board.nets() if net in _reached(net, leads))


def _reached(start: str, leads: dict[str, set[str]]) -> set[str]:
    found: set[str] = set()
    todo = list(leads.get(start, ()))
    while todo:
        net = todo.pop()
        if net not in found:
            found.add(net)
            todo += leads.get(net, ())
    return found
