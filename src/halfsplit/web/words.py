"""The answers a check takes."""

from __future__ import annotations

from halfsplit.board.model import Board
from halfsplit.checks.kind import Check, CheckKind

__all__ = ["answers"]


def answers(check: Check, kind: CheckKind, board: Board) -> list[str]:
    """The outcome words that answer this check, in the order of its kind."""
    words = list(kind.words)
    if kind.takes != "output":
        return words
    output = next((one for one in board.outputs if one.name == check.places[0]), None)
    level = output is not None and output.measure == "level"
    away = {"on", "weak", "off"} if level else {"high", "low", "undefined"}
    return [word for word in words if word not in away]
