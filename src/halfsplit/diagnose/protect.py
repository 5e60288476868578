"""What must not be lost: parts that cannot be had again, and what a medium holds; as risk in
minutes that decisions count, and as advice in the order that risks least."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array
from halfsplit.board.model import Board, Part
from halfsplit.build.fault import Fault
from halfsplit.checks._cautions import harm
from halfsplit.checks.motion import KIND as MOTION
from halfsplit.diagnose.catalogue import Catalogue, Offer
from halfsplit.diagnose.session import Session, percent
from halfsplit.frozen import dataclass
from halfsplit.motion.decay import STAGES, still_to_come

__all__ = ["Advice", "advice", "exposure", "fitting_risk", "killer_chance", "misplaced",
    "writing_risk",
]  # fmt: skip

Flags = npt.NDArray[np.bool_]
KILLS = 0.3
"""Chance that a fault of the kind that kills does kill a part fitted beside it (judgement)."""
MEDIUM = 600.0
"""Minutes that a medium is worth which cannot be had again: as a part (judgement)."""
READ_SHARE = 0.05
"""Harm of reading with a positioner that is wrong, against writing: it may scrape, it does not
overwrite (judgement)."""
OTHERWISE = 0.1
"""Chance that a fault which leaves the motion right spoils what is written all the same
(judgement)."""
UNIT = 600.0
"""Minutes that the good unit is worth with which a board is exchanged (judgement)."""
EXCHANGE = "exchange"
"""The kind of check that brings a good unit and this board together."""
_WORDS = frozenset({"short", "shorted", "bridged"})
"""Words of ways to fail that put volts or amperes where they do not belong."""
_TOO_MUCH = "high"
"""The word of a supply that is too high; of a resistor it says that it gives less."""


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
    return float(session.p[_killers(session.catalogue, part)].sum())


def fitting_risk(session: Session, part: Part) -> float:
    """Expected minutes lost by fitting another of a part that cannot be had again while something
    that may have killed the last one may still be there; 0 for any other part."""
    if not part.remarks.irreplaceable:
        return 0.0
    return KILLS * killer_chance(session, part) * harm(part)


def exposure(session: Session, offers: Sequence[Offer]) -> Array:
    """[C] minutes that checks risk beside their own, as the belief stands: a good unit that is put
    together with a board on which something that kills may be left."""
    harmful = KILLS * UNIT * float(session.p[_killers(session.catalogue, None)].sum())
    return np.array([harmful if offer.kind.name == EXCHANGE else 0.0 for offer in offers])


def misplaced(session: Session) -> float:
    """Probability that the positioner goes wrong: each fault by how often it moves otherwise than a
    good unit, something else counted whole. On a board without a motor anything that is wrong."""
    kind = session.catalogue.kinds.get(MOTION.name)
    checks = kind.offers(session.world) if kind else ()
    if kind is None or not checks:
        return 1.0 - float(session.p[0])
    told = kind.outcomes(checks, session.world, session.meter)
    right = np.stack([one.p[:, one.labels.index("runs")] for one in told])
    wrong = (1.0 - np.clip(right / right[:, :1], 0.0, 1.0)).max(axis=0)
    return float(session.p[:-1] @ wrong + session.p[-1])


def writing_risk(session: Session) -> float:
    """Expected minutes lost by writing to a medium that is wanted, as the belief stands: a
    positioner that goes wrong writes in the wrong place, another fault may spoil it too."""
    wrong = misplaced(session)
    return MEDIUM * (wrong + OTHERWISE * (1.0 - float(session.p[0]) - wrong))


def advice(session: Session) -> tuple[Advice, ...]:
    """All of it, what risks least first."""
    return tuple(sorted(_all(session), key=lambda one: one.risk))


def _all(session: Session) -> Iterator[Advice]:
    writing = writing_risk(session)
    wrong = percent(misplaced(session))
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
        why=f"{wrong} that it goes to the wrong place, where a head may scrape",
    )  # fmt: skip
    yield Advice(
        what="Write to it.", risk=writing,
        why=f"{wrong} that it goes to the wrong place; not while the positioner is suspect: after "
        f"{STAGES[0]} come {', '.join(still_to_come(STAGES[0])[:3])}",
    )  # fmt: skip
    yield Advice(
        what="Format it.", risk=MEDIUM, why="even a good unit leaves nothing of what was on it",
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


_KNOWN: WeakKeyDictionary[Catalogue, dict[str, Flags]] = WeakKeyDictionary()


def _killers(catalogue: Catalogue, part: Part | None) -> Flags:
    """[F + 1] faults elsewhere that may kill a part, or whatever is put together with the board;
    worked out once."""
    known, world = _KNOWN.setdefault(catalogue, {}), catalogue.world
    own = part.designator if part else ""
    if own not in known:
        nets = set(part.pins.values()) if part else _nets(world.board)
        known[own] = np.array([
            *(bool(row) and fault.designator != own
              and _kills(fault, nets - {world.board.ground}, world.board)
              for row, fault in enumerate(world.faults)),
            False,
        ])  # fmt: skip
    return known[own]


def _nets(board: Board) -> set[str]:
    """Nets by which a board hangs together with others: supplies and plugs."""
    plugs = [part for part in board.parts if part.kind == "connector"]
    return {rail.net for rail in board.rails} | {
        net for part in plugs for net in part.pins.values()
    }


def _kills(fault: Fault, nets: set[str], board: Board) -> bool:
    words = set(fault.mode.split())
    if fault.where == "rail":
        return _TOO_MUCH in words and fault.suspect.removeprefix("rail ") in nets
    if fault.where == "bridge" or words & _WORDS:
        part = board.part(fault.designator)
        touched = {
            other.pins[pin.pin]
            for pin in fault.pins
            if (other := board.part(pin.designator)) and pin.pin in other.pins
        }
        if part is not None and fault.where == "part" and not fault.pins:
            named = words & part.pins.keys() or part.pins.keys()  # "b short to e" is about two
            touched |= {part.pins[pin] for pin in named}
        return bool(touched & nets)
    return False
