"""In what order to repair: least expected cost.

Source: D. Heckerman, J. S. Breese, K. Rommelse, "Decision-theoretic troubleshooting",
Communications of the ACM 38(3), 1995: with one fault, independent costs and a free re-test, the
expected cost is least in descending order of probability over cost.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array

__all__ = ["by_ratio", "cheapest_order", "expected_cost"]

MOST_ACTIONS = 12
"""Beyond this many actions the exact search over subsets is too long."""


def by_ratio(p: Array, cost: Array) -> tuple[int, ...]:
    """Indices in descending p over cost; equal ratios keep their order."""
    return tuple(int(i) for i in np.argsort(-p / np.maximum(cost, 1e-9), kind="stable"))


def expected_cost(
    p: Array,
    cost: Array,
    order: Sequence[int],
    *,
    on_success: Array | None = None,
    service: float = 0.0,
) -> float:
    """Expected cost of trying actions in ``order`` until one cures.

    ``p`` [A] probability that the action cures, ``cost`` [A] paid for every try, ``on_success``
    [A] paid only when it is the one (look first, then repair), ``service`` paid when none is.
    """
    left, total = 1.0, 0.0
    for action in order:
        total += left * float(cost[action])
        if on_success is not None:
            total += float(p[action] * on_success[action])
        left -= float(p[action])
    return total + max(left, 0.0) * service


def cheapest_order(
    cures: npt.NDArray[np.bool_], p: Array, cost: Array
) -> tuple[tuple[int, ...], float]:
    """Cheapest order of actions that may cure the same fault, and its expected cost.

    ``cures`` [A, F]: action cures fault; ``p`` [F]; ``cost`` [A]. With overlapping cures the
    order by ratio need not be best, so all sets of actions done are searched (A of at most
    :data:`MOST_ACTIONS`, else ValueError). Actions that add nothing are left out; the tries stop
    being paid once the fault is cured. What ``p`` lacks to one is a fault that no action cures.
    """
    count = len(cost)
    if count > MOST_ACTIONS:
        raise ValueError(f"at most {MOST_ACTIONS} actions can be searched, got {count}")
    elsewhere = max(1.0 - float(p.sum()), 0.0)
    left = np.array([_uncured(cures, p, done) for done in range(1 << count)])
    best = np.full(1 << count, np.inf)
    came_by = np.full(1 << count, -1, dtype=np.int64)
    best[0] = 0.0
    for done in range(1 << count):
        for action in range(count):
            after = done | 1 << action
            if after == done or left[after] >= left[done] - 1e-12:
                continue
            total = best[done] + (left[done] + elsewhere) * cost[action]
            if total < best[after] - 1e-12:
                best[after], came_by[after] = total, action
    enough = np.flatnonzero(left <= left[-1] + 1e-12)
    done = int(enough[np.argmin(best[enough])])
    total, order = float(best[done]), []
    while done:
        action = int(came_by[done])
        order.append(action)
        done &= ~(1 << action)
    return tuple(reversed(order)), total


def _uncured(cures: npt.NDArray[np.bool_], p: Array, done: int) -> float:
    actions = [action for action in range(len(cures)) if done >> action & 1]
    cured = cures[actions].any(axis=0) if actions else np.zeros(cures.shape[1], dtype=np.bool_)
    return float(p[~cured].sum())
