"""Going on against stopping, by a sum on paper; what cannot be had again is not risked lightly."""

from dataclasses import replace

import numpy as np
import pytest
from tests.diagnose import boards
from tests.diagnose.boards import case, more
from tests.diagnose.test_lessons_repair import OPEN, RIGHT
from tests.motion.boards import FOUR

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.build.fault import HEALTHY
from halfsplit.checks.kind import Limits
from halfsplit.diagnose.cost import repair_cost
from halfsplit.diagnose.outlook import OVERLAP, look_ahead
from halfsplit.diagnose.plan import plan
from halfsplit.diagnose.protect import (
    MEDIUM,
    advice,
    exposure,
    misplaced,
    writing_risk,
)
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.worth import MOST_REPAIRS, PROOF, worth
from halfsplit.parts.vocabulary import PartsVocabulary

SYMPTOM = OPEN[:1]
LAMP = "D9 led ? a=LAMP k=GND\nR9 330 +5 LAMP\nrail +24"
"""Beside the motor, with nothing to do with it."""


def test_the_mean_lies_within_its_span_and_falls_with_readings() -> None:
    early, late = worth(case(boards.CHANNEL, *SYMPTOM)), worth(case(boards.CHANNEL, *OPEN))
    assert early.low <= early.middle <= early.high
    assert late.minutes < early.minutes
    assert late.cured > early.cured
    assert late.low >= PROOF


def test_at_the_even_price_both_ways_cost_the_same() -> None:
    """On paper: E = sum(p t) + (1 - cured) E, so E = sum(p t) / cured."""
    session = case(boards.CHANNEL, *SYMPTOM)
    even = worth(session).even
    at_even = worth(session.within(Limits(give_up=even)))
    assert at_even.minutes == pytest.approx(even, rel=1e-6)
    assert worth(session.within(Limits(give_up=2 * even))).sentence.startswith("Go on")
    assert worth(session.within(Limits(give_up=even / 3))).sentence.startswith("Stop")
    assert not worth(session).stated
    assert "--give-up" in " ".join(worth(session).changes)


def test_one_suspect_costs_its_repair_and_the_proof() -> None:
    session = case(boards.CHANNEL, *OPEN)
    found = worth(session)
    listed = [one for one in session.suspects() if one.faults][:MOST_REPAIRS]
    first = plan(session, listed).steps[0]
    own = repair_cost(first.suspect, session.world) - 60.0  # no good part is lost by the cure
    assert found.low == pytest.approx(own + PROOF)


def test_an_instrument_that_is_left_out_has_a_worth() -> None:
    limits = Limits(without_kinds=frozenset({"volts", "level"}))
    found = worth(case(boards.CHANNEL, *SYMPTOM, limits=limits))
    assert {one.kind for one in found.borrowed} & {"volts", "level"}
    assert all(one.saves > 0.0 for one in found.borrowed)
    assert not worth(case(boards.CHANNEL, *SYMPTOM)).borrowed


def test_nothing_is_written_while_something_is_wrong() -> None:
    session = case(boards.CHANNEL, *SYMPTOM)
    assert writing_risk(session) == pytest.approx(MEDIUM)
    cured = more(
        case(boards.CHANNEL, *OPEN).repaired("R2"), *RIGHT, ("passes phase A pulls", "299")
    )
    assert writing_risk(cured) < 0.2 * MEDIUM
    order = [one.risk for one in advice(session)]
    assert order == sorted(order)
    told = [one.what.split(",")[0].split(".")[0] for one in advice(session)]
    wanted = [told.index(name) for name in ("Read a wanted medium", "Write to it", "Format it")]
    assert wanted == sorted(wanted)
    assert advice(cured)[-1].what == "Format it."


def test_the_medium_is_at_risk_by_what_moves_wrongly() -> None:
    """A phase that is stuck on moves the head to the wrong place, a sensor that is lost to follow
    too; a lamp that is dark does not (common practice, no source: each by what it does)."""
    world = compile_board(read_board(FOUR.replace("rail +24", LAMP), PartsVocabulary()))
    start = Session.start(world)
    rows = {fault.id: at for at, fault in enumerate(world.faults)}

    def believing(name: str) -> Session:
        p = np.zeros_like(start.p)
        p[rows[name]] = 1.0
        return replace(start, p=p)

    stuck, dark = believing("Q2 c short to e"), believing("D9 open")
    assert misplaced(stuck) > 0.9
    assert misplaced(dark) < 0.05
    assert writing_risk(stuck) > 5.0 * writing_risk(dark) > 0.0
    assert writing_risk(believing(HEALTHY)) == pytest.approx(0.0, abs=1e-9)


def test_a_good_unit_is_not_put_together_with_what_may_kill_it() -> None:
    """`exchange` costs the chance of a short, a bridge or a supply too high on what both share,
    and less when a reading has cleared that; `swap` of a part that cannot be had again is never
    offered."""
    early, late = case(boards.CHANNEL, *SYMPTOM), case(boards.CHANNEL, *OPEN)
    risks = []
    for session in (early, late):
        offers = session.catalogue.offers(session.limits).offers
        found = exposure(session, offers)
        at = [one.check.kind for one in offers].index("exchange")
        risks.append(found[at])
        assert found.sum() == found[at]
        outlook = look_ahead(session)
        minutes = outlook.offers[at].minutes + outlook.offers[at].risk + outlook.setup_minutes[at]
        assert outlook.score[at] == pytest.approx(
            outlook.bits[at] / (minutes + found[at] + OVERLAP)
        )
    assert risks[0] > 2.0 * risks[1] > 0.0
    rare = "\n".join(
        f"{line.split(';')[0]}; irreplaceable; spare; socketed" if line.startswith("U1 ") else line
        for line in boards.CHANNEL.splitlines()
    )
    session = case(rare, *SYMPTOM)
    ids = [one.check.id for one in session.catalogue.offers(session.limits).offers]
    assert "swap U1" not in ids
    assert "swap Q1" in ids
