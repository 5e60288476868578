"""In what order to repair when more than one suspect is left."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.belief.repair import MOST_ACTIONS, cheapest_order
from halfsplit.build.fault import Suspect
from halfsplit.diagnose.cost import cost_here
from halfsplit.diagnose.cures import cured_by
from halfsplit.diagnose.session import Ranked, Session
from halfsplit.frozen import dataclass

__all__ = ["Plan", "Step", "plan"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One repair. ``probability`` that its own suspect is the one; ``also`` the suspects that it
    puts right on the way (a part's joints, when the part is changed)."""

    suspect: Suspect
    probability: float
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Repairs in the order of least expected cost; ``minutes`` expected, money counted in."""

    steps: tuple[Step, ...]
    minutes: float


def plan(session: Session, among: Sequence[Ranked]) -> Plan:
    """The cheapest order for some suspects, something else left out, the likeliest
    :data:`~halfsplit.belief.repair.MOST_ACTIONS` of them at most."""
    listed = [one for one in among if one.faults][:MOST_ACTIONS]
    if not listed:
        return Plan(steps=(), minutes=0.0)
    row = {fault.id: at for at, fault in enumerate(session.world.faults)}
    rows = [[row[fault.id] for fault, _ in one.faults] for one in listed]
    puts_right = [cured_by(session.world, one.suspect.id) for one in listed]
    every = [at for own in rows for at in own]
    p = np.array([probability for one in listed for _, probability in one.faults])
    cures = np.array([mask[every] for mask in puts_right], dtype=np.bool_)
    cost = np.array([cost_here(session, one.suspect) for one in listed])
    order, minutes = cheapest_order(cures, p / max(float(p.sum()), 1e-300), cost)
    steps = []
    done: set[int] = set()
    for action in order:
        also = tuple(
            other.suspect.id
            for at, other in enumerate(listed)
            if at != action and at not in done and puts_right[action][rows[at]].all()
        )
        done.add(action)
        steps.append(
            Step(suspect=listed[action].suspect, probability=listed[action].probability, also=also)
        )
    return Plan(steps=tuple(steps), minutes=minutes)
