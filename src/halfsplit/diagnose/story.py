"""A case told again from its readings."""

from __future__ import annotations

from collections.abc import Iterable

from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Limits, Meter, Reading
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.session import Session

__all__ = ["replay"]


def replay(
    world: World,
    meter: Meter,
    limits: Limits,
    items: Iterable[tuple[Check, Reading]],
    *,
    catalogue: Catalogue | None = None,
) -> Session:
    """The session after ``items`` in order, numbered from 1."""
    session = Session.start(world, meter, limits, catalogue=catalogue)
    for check, reading in items:
        session = session.enter(check, reading)
    return session
