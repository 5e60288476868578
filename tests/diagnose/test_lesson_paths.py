"""Plain sentences on lessons of the bench: where a path is proven, and what would change it."""

import pytest
from tests.diagnose.boards import BUFFER, CHANNEL, LATCH, case

from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.explain import explain
from halfsplit.diagnose.halving import Halving, halvings
from halfsplit.diagnose.outlook import look_ahead
from halfsplit.diagnose.reasons import would_change
from halfsplit.diagnose.session import Session


def path(session: Session, output: str) -> Halving:
    outlook = look_ahead(session)
    best = suggest(session, 1)
    found = halvings(session, best[0].check if best else None, outlook)
    return next(one for one in found if one.path.output == output)


def test_lesson_1_a_base_at_0v7_is_good_and_the_sentence_says_so() -> None:
    """0.7 V at the open collector is its off state: the path is good there, not stuck low."""
    told = (("symptom phase A pulls @hold", "off"), ("volts U1.2 @idle", "0.68"))
    one = path(case(CHANNEL, *told), "phase A pulls")
    assert dict(zip(one.path.nets, one.marks, strict=True))["DRA"] == "good"
    assert "phase A pulls from INA, 4 stages: good up to DRA, none bad yet." in one.sentence
    assert "A plain half-split measures CA next" in one.sentence


def test_lesson_7_right_levels_and_no_motion_leave_what_is_beyond_the_plug() -> None:
    told = (
        ("symptom phase A pulls @hold", "off"), ("volts U1.2 @hold", "0.12"),
        ("volts Q2.b @hold", "1.35"), ("volts Q2.c @hold", "0.02"),
    )  # fmt: skip
    one = path(case(CHANNEL, *told), "phase A pulls")
    assert one.path.nets[one.last_good] in ("EA", "CA")
    assert "good up to" in one.sentence
    assert "bad from DRA" not in one.sentence


def test_lesson_13_a_held_line_is_bad_from_there_on_and_names_the_stage() -> None:
    told = (("symptom line @up", "high"), ("volts U1.2 @up", "4.2"), ("volts U2.1 @up", "0.1"))
    one = path(case(BUFFER, *told), "line")
    assert one.middle == ""
    assert one.sentence.endswith("The fault is in U1, between IN and BUS, or on BUS.")
    assert one.to_json()["left_to_halve"] == 0


def test_lesson_21_one_output_wrong_is_told_on_its_own_path_only() -> None:
    told = (("symptom A @one", "high"), ("symptom B @one", "low"), ("volts U1.2 @one", "0.15"))
    session = case(LATCH, *told)
    assert "bad from QA on" in path(session, "A").sentence
    assert "bad from" not in path(session, "B").sentence


@pytest.mark.parametrize("board", [CHANNEL, BUFFER, LATCH])
def test_every_sentence_is_whole(board: str) -> None:
    session = case(board)
    outlook = look_ahead(session)
    for one in halvings(session, suggest(session, 1)[0].check, outlook):
        assert one.sentence.endswith(".")
        assert ".." not in one.sentence
        assert "  " not in one.sentence


def test_a_suggestion_elsewhere_is_weighed_against_the_middle() -> None:
    session = case(CHANNEL, ("symptom phase A pulls @hold", "off"))
    outlook = look_ahead(session)
    elsewhere = next(o.check for o in outlook.offers if o.check.id == "volts J2.2 @hold")
    (one,) = halvings(session, elsewhere, outlook)
    assert "(volts J2.2 @hold) is not on this path; it tells " in one.sentence
    assert " bit in " in one.sentence
    assert f"the best check at {one.middle} " in one.sentence


def test_what_would_change_the_verdict_names_check_chance_and_suspect() -> None:
    session = case(BUFFER, ("symptom line @up", "high"), ("volts U2.1 @up", "0.1"))
    changes = would_change(session, look_ahead(session))
    assert changes
    leader = session.suspects()[0].suspect.id
    for one in changes:
        assert one.then != leader
        assert one.sentence.startswith(f"{one.check.id} takes the lead from {leader} in ")
    first = explain(session, 1)[0]
    assert any("times likelier if it is" in weight.sentence for weight in first.raised)
