"""How belief went, reading by reading, and which readings were odd."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.belief.posterior import UNEXPLAINED, misfit, posterior
from halfsplit.diagnose.entry import Entry, joint_of
from halfsplit.diagnose.session import Session

__all__ = ["course", "is_odd", "leaders"]

MOST_LEADERS = 4


def course(session: Session, suspects: Sequence[str]) -> tuple[tuple[float, ...], ...]:
    """[entries + 1][suspects] probability of each suspect before the first reading and after
    each."""
    at = {suspect.id: row for row, suspect in enumerate(session.world.suspects)}
    prior = session.catalogue.prior()
    told = []
    for count in range(len(session.entries) + 1):
        p = posterior(prior, joint_of(session.entries[:count], len(session.p)))
        shares = session.by_suspect(p)
        told.append(tuple(float(shares[at[name]]) for name in suspects))
    return tuple(told)


def leaders(session: Session) -> tuple[str, ...]:
    """The likeliest suspects now, likeliest first, for a plot."""
    return tuple(one.suspect.id for one in session.suspects()[:MOST_LEADERS])


def is_odd(entry: Entry) -> bool:
    """Whether a good board would hardly give this reading: a blind guess explains it eight times
    better."""
    if entry.reading.nothing:
        return False
    return float(misfit(entry.likelihood)[0]) > UNEXPLAINED
