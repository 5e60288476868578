"""How belief went, reading by reading, and which readings were odd."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.belief.posterior import UNEXPLAINED, misfit
from halfsplit.diagnose.entry import Entry
from halfsplit.diagnose.session import Session

__all__ = ["course", "is_odd", "leaders"]

MOST_LEADERS = 4


def course(session: Session, suspects: Sequence[str]) -> tuple[tuple[float, ...], ...]:
    """[entries + 1][suspects] probability that each suspect was wrong to begin with, before the
    first reading and after each."""
    at = {suspect.id: row for row, suspect in enumerate(session.world.suspects)}
    told = []
    for count in range(len(session.entries) + 1):
        shares = session.by_suspect(session.cause_after(count))
        told.append(tuple(float(shares[at[name]]) for name in suspects))
    return tuple(told)


def leaders(session: Session) -> tuple[str, ...]:
    """The suspects likeliest to have been wrong, likeliest first, for a plot."""
    shares = session.by_suspect(session.cause)
    ranked = sorted(range(len(shares)), key=lambda row: -shares[row])
    return tuple(session.world.suspects[row].id for row in ranked[:MOST_LEADERS])


def is_odd(entry: Entry) -> bool:
    """Whether a good board would hardly give this reading: a blind guess explains it eight times
    better."""
    if entry.reading.nothing:
        return False
    return float(misfit(entry.raw[0])[0]) > UNEXPLAINED
