"""What must not be lost: parts that cannot be had again, and what a medium holds; as risk in
minutes that decisions count, and as advice in the order that risks least."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from halfsplit.board.model import Board, Part
from halfsplit.build.fault import Fault
from halfsplit.checks._cautions import harm
from halfsplit.diagnose.session import Session, percent

__all__ = ["Advice", "advice", "fitting_risk", "killer_chance", "writing_risk"]

KILLS = 0.3
"""Chance that a fault of the kind that kills does kill a part fitted beside it (judgement)."""
MEDIUM = 600.0
"""Minutes that a medium is worth which cannot be had again: as a part (judgement)."""
READ_SHARE = 0.05
"""Harm of reading with a positioner that is wrong, against writing: it may scrape, it does not
overwrite (judgement)."""
_WORDS = ("short", "shorted", "high", "bridged")
"""Words of ways to fail that put volts or amperes where they do not belong."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Something to do or leave, with its expected harm in minutes."""

    what: str
    risk: float
    why: str

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {"what": self.what, "risk_minutes": self.risk, "why": self.why}


def killer_chance(session: Session, part: Part) -> float:
    """Probability that another fault, still on the board, sends volts or current where this part
    stands: a short, a bridge or a supply too high on one of its nets."""
    board = session.world.board
    nets = set(part.pins.values()) - {board.ground}
    rows = [
        row
        for row, fault in enumerate(session.world.faults)
        if row and fault.designator != part.designator and _kills(fault, nets, board)
    ]
    return float(np.sum(session.p[rows])) if rows else 0.0


def fitting_risk(session: Session, part: Part) -> float:
    """Expected minutes lost by fitting another of a part that cannot be had again while something
    that may have killed the last one may still be there; 0 for any other part."""
    if not part.remarks.irreplaceable:
        return 0.0
    return KILLS * killer_chance(session, part) * harm(part)


def writing_risk(session: Session) -> float:
    """Expected minutes lost by writing or formatting a medium that is wanted, as the belief in a
    sound board stands: whatever is wrong may put the head in the wrong place."""
    return MEDIUM * (1.0 - float(session.p[0]))


def advice(session: Session) -> tuple[Advice, ...]:
    """All of it, what risks least first."""
    return tuple(sorted(_all(session), key=lambda one: one.risk))


def _all(session: Session) -> Iterator[Advice]:
    writing = writing_risk(session)
    wrong = percent(1.0 - float(session.p[0]))
    yield Advice(
        what="Measure with the power off, and watch without a medium.", risk=0.0,
        why="nothing moves, nothing is written",
    )  # fmt: skip
    yield Advice(
        what="Try a medium that you can lose, and only read it.", risk=0.0,
        why="what is spoilt is of no worth",
    )  # fmt: skip
    yield Advice(
        what="Read a wanted medium, and copy it, before anything else is done to it.",
        risk=READ_SHARE * writing,
        why=f"{wrong} that something is wrong; a head in the wrong place may scrape",
    )  # fmt: skip
    yield Advice(
        what="Write to it or format it.", risk=writing,
        why=f"{wrong} that something is wrong; not while the positioner is suspect",
    )  # fmt: skip
    for part in session.world.board.parts:
        if not part.remarks.irreplaceable:
            continue
        chance = killer_chance(session, part)
        socket = "socket" if part.remarks.socketed else "place"
        yield Advice(
            what=f"Measure supply, ground and every load at the {socket} of {part.designator}, "
            "before a good one goes in.",
            risk=0.0, why="a reading at an empty place kills nothing",
        )  # fmt: skip
        yield Advice(
            what=f"Fit a good {part.designator}.", risk=fitting_risk(session, part),
            why=f"{percent(chance)} that something which kills it is still there",
        )  # fmt: skip


def _kills(fault: Fault, nets: set[str], board: Board) -> bool:
    words = set(fault.mode.split())
    if fault.where == "bridge" or words & set(_WORDS):
        if fault.where == "rail":
            return fault.suspect.removeprefix("rail ") in nets
        part = board.part(fault.designator)
        touched = {
            other.pins[pin.pin]
            for pin in fault.pins
            if (other := board.part(pin.designator)) and pin.pin in other.pins
        }
        if part is not None and fault.where == "part" and not fault.pins:
            touched |= set(part.pins.values())
        return bool(touched & nets)
    return False
