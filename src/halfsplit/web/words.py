"""The answers a check is given by a press of a button."""

from __future__ import annotations

from halfsplit.board.model import Board
from halfsplit.build.world import World
from halfsplit.checks._line_words import LINE_WORDS, PAIR_WORDS, RIGHT
from halfsplit.checks._recorded import stage_at
from halfsplit.checks.kind import Check, CheckKind

__all__ = ["answers", "buttons"]

_KEPT = {"level": {"high", "low", "undefined"}, "right": {"right", "wrong"}}
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


def buttons(check: Check, kind: CheckKind, world: World) -> dict[str, object]:
    """``answers`` as above; and ``lines`` of a check of several lines at once: their ``nets``, the
    answers that are of ``one`` or more of them, and of ``two``; empty for other checks."""
    words = answers(check, kind, world.board)
    if check.kind != "capture":
        return {"answers": words, "lines": {}}
    nets = stage_at(check.places[0], world).nets
    if len(nets) < 2:
        return {"answers": [word for word in words if word in (RIGHT, *LINE_WORDS)], "lines": {}}
    return {
        "answers": words,
        "lines": {"nets": list(nets), "one": list(LINE_WORDS), "two": list(PAIR_WORDS)},
    }
