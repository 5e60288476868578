"""What was ruled out and how firmly, and what would change the verdict."""

from __future__ import annotations

import numpy as np

from halfsplit.checks.kind import Check
from halfsplit.diagnose.outlook import Outlook
from halfsplit.diagnose.session import Session, percent
from halfsplit.frozen import dataclass

__all__ = ["Change", "RuledOut", "ruled_out", "would_change"]

FIRMLY = 4.0
"""Bits by which a suspect must have fallen to be called ruled out (16 times less likely)."""
LIKELY = 0.02
"""Suspects that were likelier than this at some time are worth telling about."""
LOSES = 0.5
"""The leader has lost the verdict when it falls below this."""
POSSIBLE = 0.005
"""Outcomes less likely than this are not told about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuledOut:
    """A suspect that has fallen: from, to, and by how many bits; ``by`` the entry that did most."""

    suspect: str
    start: float
    now: float
    bits: float
    by: int
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A check one outcome of which would take the lead from the likeliest suspect; ``chance`` of
    that outcome, ``then`` the suspect that would lead."""

    check: Check
    chance: float
    then: str
    sentence: str


def ruled_out(session: Session, count: int = 8) -> tuple[RuledOut, ...]:
    """The suspects that were likeliest at the start among those that readings have ruled out."""
    first = session.by_suspect(session.catalogue.prior())
    now = session.by_suspect()
    with np.errstate(divide="ignore"):
        bits = np.log2(np.maximum(first, 1e-12)) - np.log2(np.maximum(now, 1e-12))
    fallen = [at for at in np.argsort(-first) if bits[at] >= FIRMLY and first[at] >= LIKELY]
    rest = {
        entry.number: session.by_suspect(session.p_without(entry.number))
        for entry in session.entries
    }
    found = []
    for at in map(int, fallen[:count]):
        by = max(rest, key=lambda number: float(rest[number][at]))
        name, entry = session.world.suspects[at].id, _entry(session, by)
        without = float(rest[by][at])
        firm = "firmly" if without < float(first[at]) / 4.0 else f"by {entry} above all"
        found.append(
            RuledOut(
                suspect=name, start=float(first[at]), now=float(now[at]), bits=float(bits[at]),
                by=by,
                sentence=f"{name} is ruled out {firm}: {percent(float(first[at]))} at the start, "
                f"{percent(float(now[at]))} now, {percent(without)} without that reading.",
            )
        )  # fmt: skip
    return tuple(found)


def would_change(session: Session, outlook: Outlook, count: int = 3) -> tuple[Change, ...]:
    """Checks left, one outcome of which would take the lead away, likeliest first."""
    shares = session.by_suspect()
    lead = int(np.argmax(shares))
    useful = np.flatnonzero(outlook.exact & outlook.unanswered & (outlook.bits > 0.0))
    found = []
    for at in useful[np.argsort(-outlook.bits[useful], kind="stable")[:24]].tolist():
        joint = session.p[:, None] * outlook.tables.table(at)
        chance = joint.sum(axis=0)
        lost, then = 0.0, ""
        for outcome in np.flatnonzero(chance > 1e-9):
            after = session.by_suspect(joint[:, outcome] / chance[outcome])
            if after[lead] < LOSES and int(np.argmax(after)) != lead:
                lost += float(chance[outcome])
                then = then or session.world.suspects[int(np.argmax(after))].id
        if lost >= POSSIBLE:
            check, leader = outlook.offers[at].check, session.world.suspects[lead].id
            said = f"{check.id} takes the lead from {leader} in {percent(lost)} of cases, to {then}"
            found.append(Change(check=check, chance=lost, then=then, sentence=f"{said} mostly."))
    return tuple(sorted(found, key=lambda one: -one.chance)[:count])


def _entry(session: Session, number: int) -> str:
    return str(next(entry for entry in session.entries if entry.number == number))
