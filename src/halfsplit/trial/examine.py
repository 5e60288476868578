"""The diagnosis at work on a played board: suggestion, answer, reading, verdict, repair."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np

from halfsplit.belief.posterior import Array, entropy
from halfsplit.build.world import World
from halfsplit.checks.constancy import CONSTANCY
from halfsplit.checks.kind import Check, Limits
from halfsplit.diagnose.catalogue import SYMPTOM, Catalogue
from halfsplit.diagnose.choose import Suggestion, suggest
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import verdict
from halfsplit.diagnose.wider import considered
from halfsplit.frozen import dataclass
from halfsplit.trial.patient import Patient

__all__ = ["Ask", "Asked", "Finding", "Pick", "begin", "examine"]

MOST = 80
"""Checks after which the examination is broken off."""
REPAIRS = 5
"""Repairs after which it is."""
KNOWN = 300
"""Sessions that are kept while only symptoms have been told: many boards show the same ones, and
what follows from them is worked out once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One check with its answer and minutes, the likelihood [F + 1] that was read into it; the
    bits about what to repair that were open before it, and the suspect that led then."""

    check: Check
    answer: str
    minutes: float
    likelihood: Array
    bits: float
    led: tuple[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """How an examination ended.

    ``kind`` is that of the first verdict, or ``"too many"``; ``named`` suspect ids then, likeliest
    first, with their probabilities; ``ties`` those that the verdict says it cannot tell from the
    first; ``first_repair`` all that the first repair of the plan puts right; ``asked`` the checks
    before it. ``cured``: repairs went on until nothing was wrong.
    """

    kind: str
    probability: float
    named: tuple[tuple[str, float], ...]
    ties: tuple[str, ...]
    first_repair: tuple[str, ...]
    asked: tuple[Asked, ...]
    cured: bool = False

    @property
    def minutes(self) -> float:
        """Minutes of all checks with their setups."""
        return sum(one.minutes for one in self.asked)

    @property
    def after_symptoms(self) -> tuple[Asked, ...]:
        """Checks from the first that is no symptom on, nor the question whether it is constant."""
        at = next(
            (k for k, one in enumerate(self.asked) if one.check.kind not in (SYMPTOM, CONSTANCY)),
            len(self.asked),
        )
        return self.asked[at:]


Ask = Callable[[World, Patient, Catalogue, Limits], Finding]
"""Somebody who examines and repairs: world, patient, catalogue, limits -> finding."""
Pick = Callable[[Session], Suggestion | None]
"""The next check of a session; none when there is nothing to check."""


def examine(
    world: World,
    patient: Patient,
    catalogue: Catalogue,
    limits: Limits,
    *,
    most: int = MOST,
    pick: Pick | None = None,
) -> Finding:
    """Begin with the complaint, then ask the best suggestion again and again until the verdict is
    a repair, nothing is left, or ``most`` checks have been made; repair, and go on until the board
    is cured or :data:`REPAIRS` were in vain. ``pick`` chooses the check, the program's own choice
    unless given."""
    session = begin(catalogue, limits, patient.complaint)
    asked: list[Asked] = []
    first: Finding | None = None
    for _ in range(REPAIRS):
        session = _question(session, patient, asked, most, pick or _best)
        judged = verdict(session)
        kind = judged.kind if judged.kind != "measure" or len(asked) < most else "too many"
        steps = judged.order[:1]
        if first is None:
            first = Finding(
                kind=kind,
                probability=judged.probability,
                named=tuple(
                    (one.suspect.id, one.probability) for one in considered(session).suspects()[:5]
                ),
                ties=judged.ties,
                first_repair=tuple(n for step in steps for n in (step.suspect.id, *step.also)),
                asked=tuple(asked),
            )
        if not steps or patient.mend(steps[0].suspect, steps[0].also):
            break
        session = session.repaired(steps[0].suspect.id)
    assert first is not None
    return replace(first, cured=patient.well)


def _question(
    session: Session, patient: Patient, asked: list[Asked], most: int, pick: Pick
) -> Session:
    """The session after checks until a repair is due, or nothing."""
    while len(asked) < most:
        best = pick(session)
        if best is None or best.check is None:
            break
        said = patient.answer(best.check)
        enter = _known_answer if best.check.kind == SYMPTOM else _entered
        session, one = enter(session, best, said)
        patient.bill.minutes += one.minutes
        asked.append(one)
    return session


@lru_cache(maxsize=KNOWN)
def begin(
    catalogue: Catalogue, limits: Limits, complaint: tuple[Check, str] | None = None
) -> Session:
    """A session that knows what its owner brings the board in for, if anything."""
    session = Session.start(catalogue.world, catalogue.meter, limits, catalogue=catalogue)
    if complaint is None:
        return session
    check, said = complaint
    return session.enter(check, catalogue.kind(check.kind).read(check, said, session.world))


def _entered(session: Session, best: Suggestion, said: str) -> tuple[Session, Asked]:
    check, world = best.check, session.world
    assert check is not None
    kind = session.catalogue.kind(check.kind)
    reading = kind.read(check, said, world)
    after = session.enter(check, reading)
    shares = session.by_suspect()
    leader = int(np.argmax(shares))
    return after, Asked(
        check=check,
        answer=said,
        minutes=best.minutes + best.setup_minutes,
        likelihood=np.asarray(kind.likelihood(check, reading, world, session.meter)),
        bits=entropy(shares),
        led=(session.world.suspects[leader].id, float(shares[leader])),
    )


def _best(session: Session) -> Suggestion | None:
    told = all(entry.check.kind == SYMPTOM for entry in session.entries)
    return _known_best(session) if told and not session.done else _worked_out(session)


def _worked_out(session: Session) -> Suggestion | None:
    return next(iter(suggest(session, 1)), None)


_known_best = lru_cache(maxsize=KNOWN)(_worked_out)
_known_answer = lru_cache(maxsize=KNOWN)(_entered)
