"""Readings taken while the trouble may show: the probe stays on until it does.

What comes and goes answers a quick reading only when it happens to be there. Once somebody has said
that it comes and goes, each reading is watched: the board is tapped, flexed and warmed for some
minutes with the probe in place, and what it shows when it departs is what was read.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.checks.constancy import CONSTANCY, FITFUL
from halfsplit.checks.kind import CheckKind
from halfsplit.diagnose.entry import Entry

__all__ = ["CAUGHT", "WATCH", "WATCHING", "asked", "presence", "said", "to_watch", "watched"]

WATCH = 2.0
"""Minutes that a probe stays on, beyond those of the reading (judgement, no source)."""
CAUGHT = 0.95
"""A fault that comes and goes shows while it is watched (judgement, no source)."""
WATCHING = (
    f"Stay on it for {WATCH:.0f} minutes while you tap, flex and gently warm the board: enter what "
    "it shows when the trouble does, or what it shows all the time."
)
"""What to do beside the reading itself."""


def asked(entries: Sequence[Entry]) -> bool:
    """Whether somebody was asked if the trouble is always there, whatever came of it."""
    return any(entry.check.kind == CONSTANCY for entry in entries)


def said(entries: Sequence[Entry]) -> str:
    """Whether the trouble is always there, in the last word about it; empty when nobody said."""
    words = [entry.reading.word for entry in _answers(entries)]
    return words[-1] if words else ""


def watched(entries: Sequence[Entry]) -> frozenset[int]:
    """Numbers of the entries that were read while the trouble was waited for."""
    if said(entries) != FITFUL:
        return frozenset()
    number = _answers(entries)[-1].number
    return frozenset(entry.number for entry in entries if entry.number > number)


def to_watch(kind: CheckKind) -> bool:
    """Whether a check is one that is watched: what is done at a part takes its time anyway."""
    return kind.takes != "part" and kind.name != CONSTANCY


def presence(kind: CheckKind, watching: bool) -> float | None:
    """The chance that what comes and goes is there at a check of this kind; ``None`` when it is the
    share at which it comes. A part's test, a press, a look takes its time: it is met there."""
    if kind.takes == "part":
        return 1.0
    return CAUGHT if watching and to_watch(kind) else None


def _answers(entries: Sequence[Entry]) -> list[Entry]:
    return [
        entry for entry in entries if entry.check.kind == CONSTANCY and not entry.reading.nothing
    ]
