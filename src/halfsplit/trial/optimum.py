"""The program's own way through a reduced case against the best way there is.

Both pay by the program's own costs: minutes and risk of checks, changes of the bench, repairs with
their harm. A check is done once. A repair shows at once whether it cured. The best way is found by
dynamic programming over all that may have been read (R. Bellman, Dynamic Programming, 1957), with
branches left out that cannot be better.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from halfsplit.belief.posterior import Array, normalise
from halfsplit.diagnose.choose import REPAIR, suggest
from halfsplit.diagnose.cost import MINUTES_PER_PRICE, TRY, repair_cost
from halfsplit.diagnose.cures import cured_by
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.standing import Standing, change_minutes
from halfsplit.frozen import dataclass
from halfsplit.trial.reduced import Reduced, ReducedCatalogue

__all__ = ["Compared", "Regret", "compare"]

RARE, RARER = 2e-3, 1e-4
"""Probability of what was read below which nothing more is worked out: below the first the best
way is taken to know the fault, below the second the program to try one repair after the other.
Either makes the program look worse than it is."""
BELIEFS = 400_000
"""What may have been read, looked at before it is given up."""

Seen = tuple[int, ...]
"""Of each check the outcome that it had, or :data:`OPEN`."""
OPEN = -1
_State = tuple[Seen, int, int]
"""What was seen, repairs done (as bits), the check that was last (-1 for none)."""
_Move = tuple[float, str, float, list[tuple[Array, _State]]]
"""The least that it can come to, its name, its own cost, and what may follow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Regret:
    """After ``seen`` (words), which comes with that ``chance``, ``ours`` was done where ``best`` is
    best: expected ``minutes`` lost by it over all cases."""

    minutes: float = 0.0
    chance: float = 0.0
    seen: str = ""
    ours: str = ""
    best: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Expected costs in minutes to the cure: ``ours``, ``best``; ``right`` of the right repair
    alone, which nobody is spared. ``first`` is what each does first. ``worst`` is the step that
    costs most more than the best one there, all steps after it being the best."""

    ours: float
    best: float
    right: float
    first: tuple[str, str]
    worst: Regret

    @property
    def ratio(self) -> float:
        """Ours over the best."""
        return self.ours / self.best

    @property
    def beyond(self) -> float:
        """The same with the right repair taken off both."""
        return (self.ours - self.right) / max(self.best - self.right, 1e-9)


def compare(case: Reduced) -> Compared:
    """Raises ValueError for a case with more than :data:`BELIEFS` beliefs."""
    bill = _Bill(case)
    start: _State = ((OPEN,) * len(case.checks), 0, -1)
    best, ours = _Best(bill), _Ours(bill)
    whole = case.prior[bill.rows]
    right = float(whole @ bill.right)
    plain = float(whole @ bill.plain)
    return Compared(
        ours=ours.cost(whole, start) - right + plain,
        best=best.cost(whole, start) - right + plain,
        right=plain,
        first=(ours.first[start], best.first[start]),
        worst=max(_regrets(ours, best, whole, start), key=lambda one: one.minutes),
    )


def _regrets(ours: _Ours, best: _Best, w: Array, state: _State) -> Iterator[Regret]:
    """Of every step of ours."""
    if w.sum() < RARE or state not in ours.first:
        return
    cost, then = ours.step(w, state)
    least = best.cost(w, state)
    after = sum(best.cost(left, what) for left, what in then)
    case = ours.bill.case
    words = [
        f"{one.offer.check.id} = {one.readings[was].text}"
        for one, was in zip(case.checks, state[0], strict=True)
        if was != OPEN
    ]
    yield Regret(
        minutes=cost + after - least,
        chance=float(w.sum()),
        seen=", ".join(words),
        ours=ours.first[state],
        best=best.first.get(state, ""),
    )
    for left, what in then:
        yield from _regrets(ours, best, left, what)


class _Bill:
    """What everything costs. S rows of the case's faults, A repairs, C checks."""

    def __init__(self, case: Reduced) -> None:
        self.case, world = case, case.world
        self.rows = np.flatnonzero(case.prior)
        self.tables = self._stacked()
        """[C, O, S], zero where a check has fewer outcomes."""
        self.cures = np.stack([cured_by(world, one.id)[self.rows] for one in case.repairs])
        self.repair = np.array([repair_cost(one, world) for one in case.repairs])
        self.right = self._cheapest(self.repair)
        self.plain = self._cheapest(
            np.array([one.minutes + MINUTES_PER_PRICE * one.price + TRY for one in case.repairs])
        )
        stands = [Standing.for_check(one.offer.check, one.offer.setup) for one in case.checks]
        own = np.array([one.cost for one in case.checks])
        self.check = np.array(
            [
                [change_minutes(before, then, world) for then in stands]
                for before in (*stands, Standing())
            ]
        ) + own  # fmt: skip
        self.quickest = float(own.min(initial=np.inf))

    def _stacked(self) -> Array:
        checks = self.case.checks
        most = max((one.p.shape[1] for one in checks), default=0)
        found = np.zeros((len(checks), most, len(self.rows)))
        for at, one in enumerate(checks):
            found[at, : one.p.shape[1]] = one.p[self.rows].T
        return found

    def _cheapest(self, cost: Array) -> Array:
        """[S] of the repairs that cure each fault."""
        found: Array = np.where(self.cures, cost[:, None], np.inf).min(axis=0)
        return found

    def after(self, state: _State, check: int, outcome: int) -> _State:
        seen, tried, _ = state
        return (*seen[:check], outcome, *seen[check + 1 :]), tried, check

    def repaired(self, state: _State, repair: int) -> _State:
        seen, tried, last = state
        return seen, tried | 1 << repair, last

    def least(self, w: Array) -> Array:
        """[...] no way from the weights ``w`` [..., S] costs less: the right repair, and a check
        or one repair in vain."""
        whole = w.sum(axis=-1)
        missed = whole - (w @ self.cures.T).max(axis=-1)
        found: Array = w @ self.right + np.minimum(
            whole * self.quickest, missed * float(self.repair.min())
        )
        return found

    def in_order(self, w: Array, tried: int) -> list[int]:
        """Repairs that cure something, the most for their cost first."""
        share = (self.cures @ w) / self.repair
        order = np.argsort(-share, kind="stable").tolist()
        return [at for at in order if share[at] > 0.0 and not tried >> at & 1]

    def all_tried(self, w: Array, tried: int) -> float:
        """One repair after the other."""
        total, left = 0.0, w
        while order := self.in_order(left, tried):
            total += float(left.sum()) * float(self.repair[order[0]])
            left = np.where(self.cures[order[0]], 0.0, left)
            tried |= 1 << order[0]
        return total


class _Best:
    """Costs are weighted: those of a belief times the probability of coming to it."""

    def __init__(self, bill: _Bill) -> None:
        self.bill = bill
        self.known: dict[_State, float] = {}
        self.first: dict[_State, str] = {}

    def cost(self, w: Array, state: _State) -> float:
        """The least from the weights ``w`` [S] on."""
        if w.sum() < RARE:
            return float(self.bill.least(w))
        if state not in self.known:
            if len(self.known) > BELIEFS:
                raise ValueError(f"more than {BELIEFS} beliefs: cut the case down")
            self.known[state] = self._weigh(w, state)
        return self.known[state]

    def _weigh(self, w: Array, state: _State) -> float:
        tried = state[1]
        found, first = self.bill.all_tried(w, tried), "one repair after the other"
        for least, name, cost, then in sorted(self._moves(w, state), key=lambda one: one[0]):
            if least >= found - 1e-12:
                break
            total = cost
            for left, after in then:
                total += self.cost(left, after) if left.any() else 0.0
                if total >= found:
                    break
            if total < found:
                found, first = total, name
        self.first[state] = first
        return found

    def _moves(self, w: Array, state: _State) -> Iterator[_Move]:
        """What may be done that can still be better."""
        bill, whole = self.bill, float(w.sum())
        seen, tried, last = state
        order = bill.in_order(w, tried)
        left = np.where(bill.cures[order], 0.0, w)
        costs = whole * bill.repair[order]
        for at, rest, cost, least in zip(order, left, costs, bill.least(left), strict=True):
            then = [(rest, bill.repaired(state, at))] if rest.any() else []
            yield float(cost + least), f"{REPAIR} {bill.case.repairs[at].id}", float(cost), then
        each = w * bill.tables
        least_of = bill.least(each).sum(axis=1)
        for at in range(len(each)):
            if seen[at] == OPEN:
                cost = whole * float(bill.check[last, at])
                then = [(one, bill.after(state, at, o)) for o, one in enumerate(each[at])]
                yield cost + float(least_of[at]), bill.case.checks[at].offer.check.id, cost, then


class _Ours:
    """The same where the program chooses."""

    def __init__(self, bill: _Bill) -> None:
        self.bill = bill
        self.known: dict[_State, float] = {}
        self.first: dict[_State, str] = {}
        self.index = {one.offer.check.id: at for at, one in enumerate(bill.case.checks)}
        self.number = {f"{REPAIR} {one.id}": at for at, one in enumerate(bill.case.repairs)}

    def cost(self, w: Array, state: _State) -> float:
        if w.sum() < RARER:
            return self.bill.all_tried(w, state[1])
        if state not in self.known:
            self.known[state] = self._follow(w, state)
        return self.known[state]

    def _follow(self, w: Array, state: _State) -> float:
        self.first[state] = self._chosen(w, state)
        cost, then = self.step(w, state)
        return cost + sum(self.cost(left, what) for left, what in then)

    def step(self, w: Array, state: _State) -> tuple[float, list[tuple[Array, _State]]]:
        """What the program's own step costs, and what may follow."""
        bill, whole, chosen = self.bill, float(w.sum()), self.first[state]
        if chosen in self.number:
            at = self.number[chosen]
            then = [(np.where(bill.cures[at], 0.0, w), bill.repaired(state, at))]
            cost = whole * float(bill.repair[at])
        else:
            at = self.index[chosen]
            cost = whole * float(bill.check[state[2], at])
            each = enumerate(w * bill.tables[at])
            then = [(left, bill.after(state, at, outcome)) for outcome, left in each]
        return cost, [one for one in then if one[0].any()]

    def _chosen(self, w: Array, state: _State) -> str:
        """The first thing suggested that the case has, else the likeliest repair for its cost."""
        seen, tried, _ = state
        for one in suggest(self._session(state), 5):
            at = self.number.get(one.id)
            if at is not None and not tried >> at & 1 and (self.bill.cures[at] * w).any():
                return one.id
            if one.id in self.index and seen[self.index[one.id]] == OPEN:
                return one.id
        return f"{REPAIR} {self.bill.case.repairs[self.bill.in_order(w, tried)[0]].id}"

    def _session(self, state: _State) -> Session:
        """What was seen is entered, the last check last; what was repaired in vain is out."""
        case, (seen, tried, last) = self.bill.case, state
        prior = case.prior.copy()
        for at in range(len(case.repairs)):
            if tried >> at & 1:
                prior[self.bill.rows[self.bill.cures[at]]] = 0.0
        catalogue = ReducedCatalogue(case, normalise(prior))
        session = Session.start(case.world, case.meter, catalogue=catalogue)
        for at in sorted(range(len(seen)), key=lambda at: at == last):
            one = case.checks[at]
            if seen[at] != OPEN:
                session = session.enter(one.offer.check, one.readings[seen[at]])
        return session
