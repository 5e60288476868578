"""Whether another check than the best by itself is the better one to begin with."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.belief.posterior import normalise
from halfsplit.belief.two_steps import two_step_rates
from halfsplit.diagnose.outlook import SHORTEST, Outlook, overlaps
from halfsplit.diagnose.session import Session

__all__ = ["better_two_ahead"]

LIKELY, FEW = 1e-3, 60
"""Probability from which a fault is reckoned with, and most of them: with more the first step is a
small part of the way, and weighing takes too long."""
NEARLY, FIRST, THEN = 0.7, 4, 16
"""Checks weighed as the first: with that share of the best score, so many at most; and as the
second."""
CLEARLY = 1.05
"""Better by so much is better: both figures are expectations of a model."""


def better_two_ahead(session: Session, outlook: Outlook, order: Sequence[int]) -> int | None:
    """Of checks in ``order`` of their scores one that with a second tells clearly more a minute
    than the first of them does; ``None`` when the first is best, or too much is open."""
    likely = session.p >= LIKELY
    if len(order) < 2 or likely.sum() > FEW:
        return None
    near = [at for at in order[:FIRST] if outlook.score[at] >= NEARLY * outlook.score[order[0]]]
    if len(near) < 2:
        return None
    own = np.array([max(offer.minutes, SHORTEST) + offer.risk for offer in outlook.offers])
    rates = two_step_rates(
        normalise(np.where(likely, session.p, 0.0)),
        session.group,
        outlook.tables,
        near,
        order[:THEN],
        own + outlook.setup_minutes + overlaps(outlook.offers),
    )
    best = int(np.argmax(rates))
    return near[best] if rates[best] > CLEARLY * rates[0] else None
