"""What every check on offer would tell now, and what it would cost from here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from halfsplit.belief.gain import group_gains, screened_gains
from halfsplit.belief.posterior import Array
from halfsplit.belief.tables import Tables
from halfsplit.checks.kind import Setup
from halfsplit.diagnose.catalogue import Offer, Offers
from halfsplit.diagnose.forecast import Forecast
from halfsplit.diagnose.kin import gain_left
from halfsplit.diagnose.protect import exposure
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.standing import CAREFUL, Standing, change_minutes
from halfsplit.frozen import dataclass

__all__ = ["LITTLE", "Outlook", "look_ahead", "overlaps", "standing_of"]

LITTLE = 0.02
"""Bits about what to repair: a check that tells less is not worth the walk to the bench."""

REPEATED = frozenset({"continuity"})
"""Kinds of check that may be answered twice."""

SHORTEST = 0.1
"""Minutes: no check is quicker."""

OVERLAP = 2.0
"""Minutes added to each check's own where checks are ranked: what small ones tell overlaps, and by
gain a minute alone too many are made (chosen by trial: docs/trial.md)."""

CURES = frozenset({"reseat"})
"""Kinds of check that may cure what they ask about: none of that is lost to what others tell."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlook:
    """C checks. ``bits`` [C] about what to repair, ``exact`` [C] or an upper bound of it,
    ``setup_minutes`` [C] to change the bench, ``score`` [C] bits per minute, :data:`OVERLAP`
    counted in, and zero where the check has been answered, ``unanswered`` [C]."""

    offers: tuple[Offer, ...]
    tables: Tables
    bits: Array
    exact: npt.NDArray[np.bool_]
    setup_minutes: Array
    score: Array
    unanswered: npt.NDArray[np.bool_]

    @property
    def most(self) -> float:
        """Bits of the check that tells most."""
        return float(self.bits[self.exact].max(initial=0.0))


@lru_cache(maxsize=4)
def look_ahead(session: Session) -> Outlook:
    """Weigh all checks within the session's limits; those of the last few sessions are kept."""
    found = session.catalogue.offers(session.limits)
    offers, tables = found.offers, found.tables
    answered, now = session.answered(), standing_of(session)
    setup = _changes(session, offers, now)
    ids, steady = _standing_facts(found)
    own = steady + exposure(session, offers) + overlaps(offers)
    again = session.catalogue.again
    unanswered = np.array(
        [
            name in again or answered.get(name, 0) < _times(offer)
            for name, offer in zip(ids, offers, strict=True)
        ],
        dtype=np.bool_,
    )
    worth = np.where(unanswered, 1.0 / (own + setup), 0.0) if offers else np.zeros(0)
    gains = screened_gains(session.p, session.group, tables, worth)
    bits, exact = gains.bits, gains.exact
    if bits[exact].max(initial=0.0) < LITTLE:
        doubtful = np.flatnonzero(~exact & unanswered & (bits >= LITTLE)).astype(np.int64)
        bits[doubtful] = group_gains(session.p, session.group, tables, doubtful)
        exact[doubtful] = True
    for at, left in _after_kin(session, offers, tables, exact & unanswered & (bits >= LITTLE)):
        bits[at] = min(bits[at], left)
    return Outlook(
        offers=offers,
        tables=tables,
        bits=bits,
        exact=exact,
        setup_minutes=setup,
        score=bits * worth,
        unanswered=unanswered,
    )


def _times(offer: Offer) -> int:
    """How often a check may tell something: one of two words that is quickly had is worth having
    again where a slip would explain it, which its table knows."""
    return 2 if offer.check.kind in REPEATED else 1


def overlaps(offers: Sequence[Offer]) -> Array:
    """[C] minutes that each check is put back by in the ranking, for what others tell as well."""
    return np.array([0.0 if offer.check.kind in CURES else OVERLAP for offer in offers])


@lru_cache(maxsize=8)
def _standing_facts(found: Offers) -> tuple[tuple[str, ...], Array]:
    """Of each check its id, and minutes with its risk [C]: the same at every look ahead."""
    own = np.array([max(offer.minutes, SHORTEST) + offer.risk for offer in found.offers])
    return tuple(offer.check.id for offer in found.offers), own


def _changes(session: Session, offers: Sequence[Offer], now: Standing) -> Array:
    """[C] minutes to change the bench; worked out once for each way it may have to stand."""
    known: dict[tuple[Setup, str, tuple[str, ...]], float] = {}
    found = np.empty(len(offers))
    for at, offer in enumerate(offers):
        check, setup = offer.check, offer.setup
        key = (setup, check.state, check.places if setup in CAREFUL else ())
        if key not in known:
            then = Standing.for_check(check, setup)
            known[key] = change_minutes(now, then, session.world)
        found[at] = known[key]
    return found


def _after_kin(
    session: Session, offers: Sequence[Offer], tables: Tables, which: npt.NDArray[np.bool_]
) -> Iterator[tuple[int, float]]:
    """Checks that would read what readings before them have read, with what they still tell."""
    read: dict[tuple[str, ...], list[Forecast]] = {}
    for entry in session.entries:
        if entry.expects is not None and entry.epoch == len(session.done):
            read.setdefault(entry.about, []).append(entry.expects)
    for at in map(int, np.flatnonzero(which)) if read else ():
        check = offers[at].check
        earlier = read.get(session.catalogue.about(check))
        new = session.catalogue.forecast(check) if earlier else None
        if earlier and new is not None:
            yield at, gain_left(session.p, session.group, tables, at, new, earlier)


def standing_of(session: Session) -> Standing:
    """How the last check left the bench; off and discharged when there was none."""
    if not session.entries:
        return Standing()
    check = session.entries[-1].check
    setup = session.catalogue.kind(check.kind).setup(check, session.world)
    return Standing.for_check(check, setup)
