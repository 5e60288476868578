"""The best that can be done, by trying everything: an oracle for small cases.

Dynamic programming over beliefs: at each the cheapest of all checks not yet taken, all repairs
not yet tried, and giving up. Exponential; for tests, and for boards of a few faults.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.belief.posterior import Array
from halfsplit.frozen import dataclass

__all__ = ["Best", "Case", "cheapest"]

STEPS = 200_000
"""Beliefs looked at before it is given up."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """F faults, one of them there. ``p`` [F]; ``tables`` of checks, each [F, O]; ``check_cost``;
    ``cures`` [A, F] chance that a repair cures a fault, seen at once; ``repair_cost`` [A];
    ``give_up`` ends it."""

    p: Array
    tables: Sequence[Array]
    check_cost: Array
    cures: Array
    repair_cost: Array
    give_up: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Best:
    """``cost`` expected of the best plan, and its first step: ``("check", 2)``, ``("repair", 0)``
    or ``("give up", 0)``."""

    cost: float
    first: tuple[str, int]


def cheapest(case: Case) -> Best:
    """The best plan. Raises ValueError for a case with too many beliefs."""
    return _Search(case).best(case.p, 0, 0)


class _Search:
    def __init__(self, case: Case) -> None:
        self.case, self.known = case, dict[tuple[bytes, int, int], Best]()
        self.noisy = any(((table > 0.0) & (table < 1.0)).any() for table in case.tables)
        self.least = min([case.give_up, *case.repair_cost.tolist()])

    def best(self, p: Array, taken: int, tried: int) -> Best:
        """``taken`` and ``tried`` are sets of checks and repairs, as bits."""
        # a check without noise that was taken tells nothing more, so belief says it all
        key = (np.round(p, 9).tobytes(), taken if self.noisy else 0, tried)
        if key not in self.known:
            if len(self.known) > STEPS:
                raise ValueError(f"more than {STEPS} beliefs: too many for trying everything")
            self.known[key] = self._weigh(p, taken, tried)
        return self.known[key]

    def _weigh(self, p: Array, taken: int, tried: int) -> Best:
        case = self.case
        found = Best(cost=case.give_up, first=("give up", 0))
        for at, table in enumerate(case.tables):
            cost = float(case.check_cost[at])
            chance = p @ table
            if taken >> at & 1 or cost + self.least >= found.cost or chance.max() > 1.0 - 1e-12:
                continue
            for outcome in np.flatnonzero(chance > 1e-12):
                then = p * table[:, outcome] / chance[outcome]
                cost += float(chance[outcome]) * self.best(then, taken | 1 << at, tried).cost
            if cost < found.cost - 1e-12:
                found = Best(cost=cost, first=("check", at))
        for at, cures in enumerate(case.cures):
            cost, left = float(case.repair_cost[at]), p * (1.0 - cures)
            rest = float(left.sum())
            if tried >> at & 1 or cost + rest * self.least >= found.cost or rest > 1.0 - 1e-12:
                continue
            if rest > 1e-12:
                cost += rest * self.best(left / rest, taken, tried | 1 << at).cost
            if cost < found.cost - 1e-12:
                found = Best(cost=cost, first=("repair", at))
        return found
