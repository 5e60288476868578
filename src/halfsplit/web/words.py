"""The answers a check is given by a press of a button."""

from __future__ import annotations

from halfsplit.board.model import Board
from halfsplit.checks.kind import Check, CheckKind

__all__ = ["answers"]


def answers(check: Check, kind: CheckKind, board: Board) -> list[str]:
    """The outcome words that answer this check, in the order of its kind. What an output does is
    answered in one way: right and wrong, which can be typed too, have a table of their own."""
    words = list(kind.words)
    if kind.takes != "output":
        return words
    output = next((one for one in board.outputs if one.name == check.places[0]), None)
    level = output is not None and output.measure == "level"
    kept = {"high", "low", "undefined"} if level else {"on", "weak", "off"}
    return [word for word in words if word in kept] or words
