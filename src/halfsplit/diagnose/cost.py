"""What a repair costs, money and risk counted in minutes."""

from __future__ import annotations

import numpy as np

from halfsplit.belief.decide import cost_of_order, worth_of_checks
from halfsplit.belief.posterior import Array, entropy
from halfsplit.board.model import BLOCK, Part
from halfsplit.build.fault import Suspect
from halfsplit.build.world import World
from halfsplit.checks._cautions import removal_harm
from halfsplit.diagnose.outlook import SHORTEST, Outlook
from halfsplit.diagnose.protect import exposure, fitting_risk
from halfsplit.diagnose.session import Session

__all__ = ["LIMITLESS", "MINUTES_PER_PRICE", "check_first", "cost_here", "giving_up", "overdone",
    "repair_cost",
]  # fmt: skip

MINUTES_PER_PRICE = 1.0
"""What a unit of money is worth in minutes (a choice of ours)."""
LEAST = 0.1
"""Minutes: no repair is quicker."""
TRY = 1.0
"""Minutes to power up again and see whether it cured."""
GOOD_PART = 60.0
"""What it is worth in minutes not to take a good part out for nothing, beside the work: an old
board stands few solderings (a choice of ours)."""
LIMITLESS = 120.0
"""Minutes that going on without any lead costs, where no price of giving up is stated."""
MOST = 24
"""Checks weighed against repairing at once."""


def repair_cost(suspect: Suspect, world: World) -> float:
    """Minutes, money and the harm that the work may do, in minutes."""
    part = _taken_out(suspect, world)
    risk = removal_harm(part) + GOOD_PART if part else 0.0
    own = suspect.minutes + MINUTES_PER_PRICE * suspect.price
    return max(own, LEAST) + risk + TRY


def cost_here(session: Session, suspect: Suspect) -> float:
    """The same as the belief stands: the risk to a part that cannot be had again is in it."""
    part = _taken_out(suspect, session.world)
    risk = fitting_risk(session, part) if part else 0.0
    return repair_cost(suspect, session.world) + risk


def _taken_out(suspect: Suspect, world: World) -> Part | None:
    """The part that its repair takes out; a block is only opened."""
    part = world.board.part(suspect.designator)
    out = part is not None and suspect.id == suspect.designator and part.kind != BLOCK
    return part if out else None


def giving_up(session: Session) -> float:
    """Minutes that stopping costs: the stated price of a substitute, else that of no lead."""
    price = session.limits.give_up
    return LIMITLESS if price is None else MINUTES_PER_PRICE * price


def check_first(session: Session, outlook: Outlook) -> tuple[int, float] | None:
    """The check that is worth taking before the likeliest repair, and the minutes it saves on
    average beyond its own; ``None`` when none is."""
    paid = _paid(session, outlook)
    useful = np.flatnonzero(outlook.exact & outlook.unanswered & (outlook.bits > 0.0))
    if not len(useful):
        return None
    among = useful[np.argsort(-(outlook.bits / paid)[useful], kind="stable")[:MOST]]
    worth = worth_of_checks(
        session.p, session.group, outlook.tables, among.tolist(), _costs(session),
        giving_up(session),
    )  # fmt: skip
    saved = worth.now - worth.then - paid[among]
    best = int(np.argmax(saved))
    return (int(among[best]), float(saved[best])) if saved[best] > 0.0 else None


def overdone(session: Session, outlook: Outlook) -> tuple[float, float] | None:
    """Where going on measuring no longer pays: the minutes until it is known what is wrong, at the
    best rate of bits a minute that any check has now, and those that knowing would save against
    repairing in order or giving up; ``None`` while it pays."""
    rates = outlook.bits / _paid(session, outlook)
    rate = float(rates[outlook.exact & outlook.unanswered].max(initial=0.0))
    shares = session.by_suspect()
    service, costs = giving_up(session), _costs(session)
    now = float(cost_of_order(shares[:-1], costs, service))
    known = float(shares[:-1] @ np.minimum(costs, service)) + float(shares[-1]) * service
    to_go, saved = entropy(shares) / max(rate, 1e-9), now - known
    return (to_go, saved) if to_go > saved else None


def _paid(session: Session, outlook: Outlook) -> Array:
    """[C] minutes of each check from here, risk counted in."""
    own = np.array([max(offer.minutes, SHORTEST) + offer.risk for offer in outlook.offers])
    return np.asarray(own + exposure(session, outlook.offers) + outlook.setup_minutes)


def _costs(session: Session) -> Array:
    """[suspects] of all but something else, which no repair here puts right."""
    return np.array([cost_here(session, one) for one in session.world.suspects[:-1]])
