"""The answers a check is given by a press of a button."""

from __future__ import annotations

from halfsplit.build.world import World
from halfsplit.checks._line_words import LINE_WORDS, PAIR_WORDS, RIGHT
from halfsplit.checks._recorded import stage_at
from halfsplit.checks._told_by import answers
from halfsplit.checks.kind import Check, CheckKind

__all__ = ["buttons"]


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
