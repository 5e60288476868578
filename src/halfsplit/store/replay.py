"""What is left of a log after undo, and what undo and redo would take back next.

An event of kind ``undo`` names in ``takes_back`` the earlier event it takes back. Taking back an
``undo`` is the redo. Nothing here changes a log.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Protocol

from halfsplit.errors import CaseError
from halfsplit.store.event import Event

__all__ = ["TAKES_BACK", "UNDO", "Choose", "in_effect", "live", "next_redo", "next_undo", "target"]

UNDO = "undo"
TAKES_BACK = "takes_back"


class Choose(Protocol):
    """Which event to take back next: `next_undo` or `next_redo`."""

    def __call__(self, events: Sequence[Event], *, keep: Collection[str]) -> int | None:
        """Its number, ``None`` when there is none."""


def live(events: Sequence[Event]) -> tuple[Event, ...]:
    """Events that count, in order, without the undos themselves."""
    counting = in_effect(events)
    return tuple(e for e in events if e.kind != UNDO and e.number in counting)


def in_effect(events: Sequence[Event]) -> frozenset[int]:
    """Numbers of all events not taken back, undos among them.

    Only a later event can take one back, so going from the last to the first settles each at once.
    """
    taken_back: set[int] = set()
    for event in reversed(events):
        if event.kind == UNDO and event.number not in taken_back:
            taken_back.add(target(event))
    return frozenset(e.number for e in events) - taken_back


def next_undo(events: Sequence[Event], *, keep: Collection[str] = ()) -> int | None:
    """Number of the last live event whose kind is not in ``keep``."""
    return next((e.number for e in reversed(live(events)) if e.kind not in keep), None)


def next_redo(events: Sequence[Event], *, keep: Collection[str] = ()) -> int | None:
    """Number of the undo to take back, unless something new was done since.

    Events whose kind is in ``keep`` do not count as something new.
    """
    counting = in_effect(events)
    by_number = {e.number: e for e in events}
    for event in reversed(events):
        if event.kind != UNDO:
            if event.kind in keep:
                continue
            return None
        undone = by_number.get(target(event))
        if event.number in counting and undone is not None and undone.kind != UNDO:
            return event.number
    return None


def target(undo: Event) -> int:
    """Number of the event that ``undo`` takes back; CaseError when it names none before itself."""
    number = undo.data.get(TAKES_BACK)
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number < undo.number:
        raise CaseError(
            f"event {undo.number}: expected in '{TAKES_BACK}' the number of an earlier event, "
            f"got {number!r}"
        )
    return number
