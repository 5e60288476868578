"""Is it worth it? Time to a proven repair, against a substitute or stopping."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

import numpy as np

from halfsplit.belief.decide import worth_of_checks
from halfsplit.belief.posterior import Array
from halfsplit.checks.kind import Limits
from halfsplit.checks.passes import KIND as PASSES_KIND
from halfsplit.checks.soak import KIND as SOAK_KIND
from halfsplit.diagnose.cost import GOOD_PART, MINUTES_PER_PRICE, check_first, cost_here, giving_up
from halfsplit.diagnose.outlook import SHORTEST, look_ahead
from halfsplit.diagnose.plan import plan
from halfsplit.diagnose.session import Ranked, Session, percent
from halfsplit.frozen import dataclass

__all__ = ["Borrowed", "Worth", "worth"]

MOST_REPAIRS = 8
"""Repairs that anybody would try one after the other."""
PROOF = PASSES_KIND.usual_minutes + SOAK_KIND.usual_minutes
"""Minutes of the acceptance run."""
_QUANTILES = (0.1, 0.5, 0.9)
_SURE = 0.02
"""An edge of less than this share of the smaller way is no edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Borrowed:
    """A kind of check that is left out now, and the minutes that having it would save."""

    kind: str
    title: str
    saves: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """``minutes`` expected until a proven repair, or until giving up after the likely ones, price
    and risk counted in minutes; ``low``, ``middle``, ``high`` a tenth, half and nine tenths of
    cases end by then; ``cured`` the chance that one of the repairs is the cure. ``stop`` is what
    stopping costs, in minutes, and whether somebody ``stated`` it; ``even`` the price of a
    substitute at which both are alike. ``check`` the id of the check most worth taking first and
    what it ``saves``."""

    minutes: float
    low: float
    middle: float
    high: float
    cured: float
    stop: float
    stated: bool
    even: float
    goes_on: bool
    check: str
    saves: float
    borrowed: tuple[Borrowed, ...]
    sentence: str
    changes: tuple[str, ...]

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return asdict(self)


def worth(session: Session) -> Worth:
    """Weigh going on against stopping, as the belief stands."""
    outlook = look_ahead(session)
    ends, chance, cured = _ends(session)
    stop = giving_up(session)
    paid = ends + np.where(np.arange(len(ends)) == len(ends) - 1, stop, PROOF)
    minutes = float(chance @ paid)
    low, middle, high = _quantiles(paid, chance)
    first = check_first(session, outlook)
    check, saves = ("", 0.0) if first is None else (outlook.offers[first[0]].check.id, first[1])
    even = _even(ends, chance, cured)
    goes_on = minutes - saves < stop
    borrowed = tuple(_borrowed(session))
    return Worth(
        minutes=minutes, low=low, middle=middle, high=high, cured=cured, stop=stop,
        stated=session.limits.give_up is not None, even=even, goes_on=goes_on, check=check,
        saves=saves, borrowed=borrowed,
        sentence=_sentence(session, minutes, (low, high), cured, even),
        changes=tuple(_changes(session, even, check, saves, borrowed)),
    )  # fmt: skip


def _ends(session: Session) -> tuple[Array, Array, float]:
    """Minutes paid for repairs when each one is the cure, the last when none is; their chances;
    the chance that one is."""
    listed = [one for one in session.suspects() if one.faults][:MOST_REPAIRS]
    steps = plan(session, listed).steps
    by_id: dict[str, Ranked] = {one.suspect.id: one for one in listed}
    paid, ends, chances = 0.0, [], []
    for step in steps:
        paid += cost_here(session, step.suspect)
        changed = step.suspect.id == step.suspect.designator
        ends.append(paid - GOOD_PART * changed)  # the one that cures was no good part
        also = sum(by_id[name].probability for name in step.also if name in by_id)
        chances.append(step.probability + also)
    cured = min(sum(chances), 1.0)
    ends.append(paid)
    chances.append(max(1.0 - cured, 0.0))
    whole = np.array(chances)
    return np.array(ends), whole / whole.sum(), cured


def _quantiles(paid: Array, chance: Array) -> tuple[float, float, float]:
    order = np.argsort(paid, kind="stable")
    summed = np.cumsum(chance[order])
    at = np.minimum(np.searchsorted(summed, np.array(_QUANTILES) - 1e-12), len(paid) - 1)
    low, middle, high = paid[order][at].tolist()
    return low, middle, high


def _even(ends: Array, chance: Array, cured: float) -> float:
    """Price of a substitute at which going on costs what stopping does."""
    going = float(chance @ ends) + PROOF * cured
    return going / max(cured, 1e-9) / MINUTES_PER_PRICE


def _borrowed(session: Session) -> list[Borrowed]:
    """Kinds of check left out by the limits, by what the best check of each would save."""
    limits = session.limits
    if not (limits.without_kinds or limits.without_setups):
        return []
    every = look_ahead(session.within(Limits(give_up=limits.give_up)))
    left_out: dict[str, list[int]] = {}
    for at, offer in enumerate(every.offers):
        barred = offer.kind.name in limits.without_kinds or offer.setup in limits.without_setups
        if barred and every.exact[at] and every.unanswered[at] and every.bits[at] > 0.0:
            left_out.setdefault(offer.kind.name, []).append(at)
    cost = np.array([cost_here(session, one) for one in session.world.suspects[:-1]])
    found = []
    for name, among in left_out.items():
        value = worth_of_checks(
            session.p, session.group, every.tables, among, cost, giving_up(session)
        )
        own = np.array([
            max(every.offers[at].minutes, SHORTEST) + every.offers[at].risk for at in among
        ])  # fmt: skip
        saved = float((value.now - value.then - own - every.setup_minutes[among]).max())
        if saved > 0.0:
            title = session.catalogue.kind(name).title
            found.append(Borrowed(kind=name, title=title, saves=saved))
    return sorted(found, key=lambda one: -one.saves)


def _sentence(
    session: Session, minutes: float, span: tuple[float, float], cured: float, even: float
) -> str:
    stop = giving_up(session)
    if session.limits.give_up is None:
        choice = f"Go on, unless a substitute costs less than {even:.0f}"
    elif abs(minutes - stop) < _SURE * min(minutes, stop):
        choice = "It makes no difference"
    else:
        choice = "Go on" if minutes < stop else "Stop, or take the substitute"
    low, high = (f"{end:.0f}" for end in span)
    spread = f"{low} to {high} in eight cases of ten, " if low != high else ""
    return (
        f"{choice}: about {minutes:.0f} minutes to a proven repair ({spread}price and risk "
        f"counted in), {percent(cured)} that one of the likely repairs is the cure."
    )


def _changes(
    session: Session, even: float, check: str, saves: float, borrowed: Sequence[Borrowed]
) -> list[str]:
    """What would change the answer."""
    found = []
    if session.limits.give_up is None:
        found.append("Nobody has said what a substitute costs: halfsplit limits --give-up PRICE.")
    else:
        found.append(f"It turns where a substitute costs {even:.0f}.")
    if check:
        found.append(f"One more check first saves {saves:.0f} minutes on average: {check}.")
    else:
        found.append("No single check is worth taking before the first repair.")
    found += [
        f"With {one.title} (left out now) you would save {one.saves:.0f} minutes."
        for one in borrowed[:2]
    ]
    return found
