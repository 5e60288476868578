"""What the record says of the choice to repair: what was weighed, and what was kept from harm."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.checks._cautions import harm
from halfsplit.diagnose.protect import advice
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.worth import worth

__all__ = ["protected", "weighed"]

_LEAST = 0.5
"""Minutes of risk that the record names."""


def weighed(session: Session) -> tuple[str, ...]:
    """Repair against a substitute as it stood before the first repair, without what was to be
    typed then; nothing before that."""
    if not session.done:
        return ()
    found = worth(session.before_repairs())
    return (found.sentence, *(one for one in found.changes if "halfsplit " not in one))


def protected(session: Session) -> tuple[str, ...]:
    """What must not be lost and how great the risk to it was before the first repair and is now,
    in minutes; nothing before that."""
    return tuple(_risks(session)) if session.done else ()


def _risks(session: Session) -> Iterator[str]:
    then = {one.what: one for one in advice(session.before_repairs())}
    for now in advice(session):
        if (before := then.get(now.what)) is not None and before.risk >= _LEAST:
            yield f"{now.what} Risk {before.risk:.0f} min before the repair, {now.risk:.0f} now."
    for part in session.world.board.parts:
        if part.remarks.irreplaceable:
            touched = any(part.designator in done.split(" + ") for done in session.done)
            yield (
                f"{part.designator} cannot be had again ({harm(part):.0f} min): "
                f"{'it was changed' if touched else 'it was left in its place'}."
            )
