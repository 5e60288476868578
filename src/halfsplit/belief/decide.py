"""Whether to check once more or to repair: expected cost until the fault is put right.

Repairs are tried in descending order of probability over cost (D. Heckerman, J. S. Breese,
K. Rommelse, Communications of the ACM 38(3), 1995); a check is worth taking when it lowers that
cost by more than it costs itself (value of information, one step ahead).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.belief.posterior import Array, Indices, believed
from halfsplit.belief.tables import Tables
from halfsplit.frozen import dataclass

__all__ = ["Worth", "cost_of_order", "worth_of_checks"]

MOST = 16
"""Groups told apart; the rest is paid for as a service call."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """``now`` the expected cost of repairing without another check; ``then`` [n] that after each
    check, the check itself not counted."""

    now: float
    then: Array


def cost_of_order(p: Array, cost: Array, service: float) -> Array:
    """[...] expected cost of trying repairs in their best order until one cures.

    ``p`` [..., A] probability that each cures, ``cost`` [A] paid for every try, ``service`` paid
    when none does. Costs are independent, one fault, a free test after each. Trying ends where
    the service call is cheaper than to go on.
    """
    order = np.argsort(-p / np.maximum(cost, 1e-9), axis=-1, kind="stable")
    sorted_p = np.take_along_axis(p, order, axis=-1)
    after = np.maximum(1.0 - np.cumsum(sorted_p, axis=-1), 0.0)
    ended = np.cumsum((after + sorted_p) * cost[order], axis=-1) + after * service
    found: Array = np.minimum(ended.min(axis=-1, initial=np.inf), service)
    return found


def worth_of_checks(
    p: Array,
    group: Indices,
    tables: Tables,
    among: Sequence[int],
    cost: Array,
    service: float,
) -> Worth:
    """Expected cost now and after each of the checks ``among``.

    ``p`` [F + 1]; ``group`` [F + 1] numbers the rows' groups, repaired at ``cost`` [groups]; only
    the likeliest :data:`MOST` groups are told apart, the others and groups beyond ``cost`` are
    paid ``service``.
    """
    rows = believed(p)
    mass = np.bincount(group[rows], weights=p[rows], minlength=len(cost))[: len(cost)]
    named = np.argsort(-mass, kind="stable")[:MOST]
    named = named[mass[named] > 0.0]
    member = (group[rows][None, :] == named[:, None]).astype(np.float64)
    price = cost[named]
    whole = p[rows] / p[rows].sum()
    now = float(cost_of_order(member @ whole, price, service))
    then = np.empty(len(among))
    for at, check in enumerate(among):
        joint = whole[:, None] * tables.table(check)[rows]
        chance = joint.sum(axis=0)
        seen = chance > 1e-9
        share = (member @ joint[:, seen] / chance[seen]).T
        then[at] = float(chance[seen] @ cost_of_order(share, price, service) / chance[seen].sum())
    return Worth(now=now, then=then)
