"""Going on against stopping, by a sum on paper; what cannot be had again is not risked lightly."""

import json

import numpy as np
import pytest
from tests.diagnose import boards
from tests.diagnose.boards import case, more
from tests.diagnose.test_lessons_repair import OPEN, RIGHT

from halfsplit.checks.kind import Limits
from halfsplit.diagnose.cost import cost_here, repair_cost
from halfsplit.diagnose.plan import plan
from halfsplit.diagnose.protect import MEDIUM, advice, fitting_risk, killer_chance, writing_risk
from halfsplit.diagnose.worth import MOST_REPAIRS, PROOF, worth

SYMPTOM = OPEN[:1]


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
    assert advice(session)[-1].what.startswith("Write")


def test_a_rare_chip_is_not_fitted_where_a_killer_may_be_left() -> None:
    text = "\n".join(
        line.split(";")[0] + "; irreplaceable" if line.startswith("U1 ") else line
        for line in boards.CHANNEL.splitlines()
    )
    session = case(text, *SYMPTOM)
    part = session.world.board.part("U1")
    assert part is not None
    assert part.remarks.irreplaceable
    chance = killer_chance(session, part)
    assert 0.0 < chance < 1.0
    suspect = next(one for one in session.world.suspects if one.id == "U1")
    assert cost_here(session, suspect) == pytest.approx(
        repair_cost(suspect, session.world) + fitting_risk(session, part)
    )
    plain = case(boards.CHANNEL, *SYMPTOM)
    other = plain.world.board.part("U1")
    assert other is not None
    assert fitting_risk(plain, other) == 0.0
    assert any("Fit a good U1" in one.what for one in advice(session))
    assert json.dumps([one.to_json() for one in advice(session)])
    assert np.isfinite(chance)
