"""The diagnosis at work on a played board: suggestion, answer, reading, until a verdict."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from halfsplit.belief.posterior import Array
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Limits, Meter
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import verdict

__all__ = ["Ask", "Asked", "Finding", "examine"]

MOST = 80
"""Checks after which the examination is broken off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One check with its answer and minutes, and the likelihood [F + 1] that was read into it."""

    check: Check
    answer: str
    minutes: float
    likelihood: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """How an examination ended.

    ``kind`` is the verdict's, or ``"too many"``; ``named`` suspect ids, likeliest first, with
    their probabilities; ``ties`` those that the verdict says it cannot tell from the first;
    ``first_repair`` all that the first repair of the plan puts right.
    """

    kind: str
    probability: float
    named: tuple[tuple[str, float], ...]
    ties: tuple[str, ...]
    first_repair: tuple[str, ...]
    asked: tuple[Asked, ...]

    @property
    def minutes(self) -> float:
        """Minutes of all checks with their setups."""
        return sum(one.minutes for one in self.asked)


Ask = Callable[[World, Callable[[Check], str], Catalogue, Limits], Finding]
"""Somebody who examines: world, answers, catalogue, limits -> finding."""


def examine(
    world: World,
    answer: Callable[[Check], str],
    catalogue: Catalogue,
    limits: Limits,
    *,
    most: int = MOST,
) -> Finding:
    """Ask the best suggestion again and again until the verdict is a repair, nothing is left,
    or ``most`` checks have been made."""
    session = Session.start(world, Meter(), limits, catalogue=catalogue)
    asked: list[Asked] = []
    kind = "too many"
    while len(asked) < most:
        best = suggest(session, 1)
        if not best or best[0].check is None:
            break
        check = best[0].check
        said = answer(check)
        reading = catalogue.kind(check.kind).read(check, said, world)
        session = session.enter(check, reading)
        asked.append(
            Asked(
                check=check,
                answer=said,
                minutes=best[0].minutes + best[0].setup_minutes,
                likelihood=session.entries[-1].likelihood,
            )
        )
    judged = verdict(session)
    if judged.kind != "measure" or len(asked) < most:
        kind = judged.kind
    ranked = session.suspects()
    steps = judged.order[:1]
    return Finding(
        kind=kind,
        probability=judged.probability,
        named=tuple((one.suspect.id, one.probability) for one in ranked[:5]),
        ties=judged.ties,
        first_repair=tuple(name for step in steps for name in (step.suspect.id, *step.also)),
        asked=tuple(asked),
    )
