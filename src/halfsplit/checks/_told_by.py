"""Which of its outcome words answer a check."""

from __future__ import annotations

from collections.abc import Mapping

from halfsplit.board.model import Board
from halfsplit.checks.kind import Check, CheckKind

__all__ = ["answers", "words_for"]

_EITHER = {"right", "wrong"}
_KEPT = {"level": {"high", "low", "undefined"}, "right": _EITHER}
"""The words for what an output does, by how it is measured; on, weak and off else."""


def answers(check: Check, kind: CheckKind, board: Board) -> list[str]:
    """The outcome words that answer this check, in the order of its kind. What an output does is
    answered in one way: right and wrong, which can be typed too, have a table of their own."""
    words = list(kind.words)
    if kind.takes != "output":
        return words
    output = next((one for one in board.outputs if one.name == check.places[0]), None)
    kept = _KEPT.get(output.measure if output else "", {"on", "weak", "off"})
    return [word for word in words if word in kept] or words


def words_for(check: Check, kind: CheckKind, board: Board) -> Mapping[str, str]:
    """The words that may be typed as an answer and what they mean: those of :func:`answers`, and
    right and wrong where the check knows them."""
    fit = {*answers(check, kind, board), *_EITHER}
    return {word: means for word, means in kind.words.items() if word in fit}
