"""When the readings do not agree on one fault: which reading is most likely misread."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from halfsplit.belief.posterior import UNEXPLAINED, Array, entropy, group_sums, misfit
from halfsplit.checks.constancy import ALWAYS
from halfsplit.diagnose.entry import Entry, joint_of
from halfsplit.diagnose.session import Ranked, Session
from halfsplit.diagnose.watching import said
from halfsplit.frozen import dataclass

__all__ = ["Contradiction", "contradiction"]

RIVAL = 0.05
"""A fault this likely, compared with the likeliest, still has a say."""
CLOSE = 1.0
"""Bits within which two readings are equally likely to be the misread one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contradiction:
    """``best`` is the fault's suspect that does best, ``unexplained`` the entries it leaves
    unexplained, ``misread`` the entry without which the rest agrees best (``None`` when leaving
    one out does not help), ``others`` those that would do about as well, ``without`` the
    suspects then and ``p_without`` [F + 1] the belief then, ``gain`` the bits about what to
    repair that knowing whether it was misread would bring."""

    best: str
    unexplained: tuple[int, ...]
    misread: Entry | None
    others: tuple[int, ...]
    without: tuple[Ranked, ...]
    p_without: Array
    gain: float
    sentence: str


@lru_cache(maxsize=8)
def contradiction(session: Session) -> Contradiction | None:
    """``None`` while some likely fault explains every reading and something else is not on top.

    A fault leaves a reading unexplained when a blind guess explains it eight times better.
    """
    entries = [entry for entry in session.entries if not entry.reading.nothing]
    listed = session.cause[:-1]
    if not entries:
        return None
    fits = np.stack([misfit(entry.likelihood)[:-1] for entry in entries])
    if said(entries) == ALWAYS:
        fits = _best_of_repeats(entries, fits)
    likely = np.flatnonzero((listed >= RIVAL * listed.max()) & (listed > 0.0))
    explained = any(float(fits[:, fault].max()) <= UNEXPLAINED for fault in likely)
    if explained and session.p[-1] <= 0.5:
        return None
    best = _best_fault(session)
    unexplained = tuple(
        entry.number for entry, fit in zip(entries, fits[:, best], strict=True) if fit > UNEXPLAINED
    )
    misread, others = _most_likely_misread(session, entries)
    then = session.without(misread.number) if misread else session
    without = tuple(then.suspects()) if misread else ()
    suspect = session.world.suspects[int(session.group[best])].id
    return Contradiction(
        best=suspect,
        unexplained=unexplained,
        misread=misread,
        others=others,
        without=without,
        p_without=then.p,
        gain=_gain(session, misread, then) if misread else 0.0,
        sentence=_sentence(session, suspect, unexplained, misread, others, without),
    )


def _best_of_repeats(entries: list[Entry], fits: Array) -> Array:
    """[E, F] misfits with every reading as well explained as the best of its repeats: where the
    trouble is always there, of two that disagree one was a slip, and need not be explained."""
    found = fits.copy()
    for at, entry in enumerate(entries):
        same = [
            k
            for k, other in enumerate(entries)
            if other.check.id == entry.check.id and other.epoch == entry.epoch
        ]
        found[at] = fits[same].min(axis=0)
    return found


def _best_fault(session: Session) -> int:
    """The listed fault that explains best, prior counted in."""
    with np.errstate(divide="ignore"):
        fit = np.log2(session.catalogue.prior()) + joint_of(session.entries, len(session.p))
    return int(np.argmax(fit[1:-1])) + 1


def _most_likely_misread(
    session: Session, entries: list[Entry]
) -> tuple[Entry | None, tuple[int, ...]]:
    """Leave one out: the entry that costs the listed faults most against a blind guess."""
    whole = _evidence(session, entries)
    costs = []
    for entry in entries:
        rest = _evidence(session, [other for other in entries if other is not entry])
        blind = float(np.log2(max(float(entry.likelihood[-1]), 1e-300)))
        costs.append(rest + blind - whole)
    most = int(np.argmax(costs))
    if costs[most] < UNEXPLAINED:
        return None, ()
    others = tuple(
        entry.number
        for at, entry in enumerate(entries)
        if at != most and costs[at] > costs[most] - CLOSE
    )
    return entries[most], others


def _evidence(session: Session, entries: list[Entry]) -> float:
    """log2 of the probability of the entries under the listed faults together."""
    with np.errstate(divide="ignore"):
        weights = (np.log2(session.catalogue.prior()) + joint_of(entries, len(session.p)))[:-1]
    top = float(weights.max())
    if not np.isfinite(top):
        return -1e6
    return top + float(np.log2(np.exp2(weights - top).sum()))


def _gain(session: Session, misread: Entry, then: Session) -> float:
    """Bits between the belief with the reading and without it, weighed by the chance of each."""
    listed = session.cause[:-1] / max(float(session.cause[:-1].sum()), 1e-300)
    slip = np.minimum(1.0, session.meter.misread * np.exp2(misfit(misread.likelihood)[:-1]))
    chance = float(np.clip(listed @ slip, 0.0, 1.0))
    count = len(session.world.suspects) + 1
    kept, dropped = (group_sums(s.p, session.group, count) for s in (session, then))
    mixed = (1.0 - chance) * kept + chance * dropped
    return max(0.0, entropy(mixed) - (1.0 - chance) * entropy(kept) - chance * entropy(dropped))


def _sentence(
    session: Session,
    suspect: str,
    unexplained: tuple[int, ...],
    misread: Entry | None,
    others: tuple[int, ...],
    without: tuple[Ranked, ...],
) -> str:
    if unexplained:
        said = f"No single fault explains {_numbers(unexplained)}; {suspect} does best."
    else:
        share = 100.0 * float(session.p[-1])
        said = f"No listed fault explains the readings well (something else {share:.0f} %)."
    if misread is None:
        return said + " Leaving one reading out does not help: think of two faults at once."
    either = f" (or {_numbers(others)})" if others else ""
    return f"{said} Most likely misread: {misread}{either}; without it {without[0]} comes first."


def _numbers(numbers: tuple[int, ...]) -> str:
    *first, last = (f"#{number}" for number in numbers)
    return f"{', '.join(first)} and {last}" if first else last
