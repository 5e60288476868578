"""What a repair for nothing would cost is weighed against one more check."""

import pytest
from tests.diagnose import boards
from tests.diagnose.boards import case
from tests.diagnose.fakes import check, kind, shares, start, word, world

from halfsplit.board.model import Board, Part, Remarks
from halfsplit.build.fault import Suspect
from halfsplit.checks.kind import Limits
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.cost import GOOD_PART, TRY, repair_cost
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import SURE, verdict

READ, BESIDE = check("volts", "TP1", "run"), check("continuity", "U3.6")
WORDS = ("low", "high")


def chip_or_joint(minutes: float, floor: float = 0.02) -> Session:
    board = Board(
        title="fake",
        parts=(Part(designator="U3", kind="74LS00", pins={"6": "A"}, remarks=Remarks(price=2.0)),),
    )
    made = world(
        {"U3 stuck low": 97.0, "joint U3.6 open": 3.0, "R1 open": 3.0},
        suspects={"U3 stuck low": "U3", "joint U3.6 open": "joint U3.6"},
        repairs={
            "U3": Suspect(id="U3", repair="replace U3", designator="U3", minutes=16.0, price=2.0),
            "joint U3.6": Suspect(
                id="joint U3.6", repair="resolder U3.6", designator="U3", minutes=2.0
            ),
        },
        board=board,
        something_else=0.001,
    )
    volts = kind("volts", {READ: (WORDS, ["low", "high", "high", "low"])}, floor=floor)
    beep = kind(
        "continuity",
        {BESIDE: (WORDS, ["low", "low", "high", "low"])},
        floor=floor,
        bench="off",
        cost=minutes,
    )
    return start(made, volts, beep).enter(READ, word("high"))


def test_a_joint_is_told_from_its_chip_before_the_chip_is_changed() -> None:
    session = chip_or_joint(0.3)
    assert shares(session)["U3"] > SURE
    judged = verdict(session)
    assert judged.kind == "measure"
    assert "saves" in judged.sentence
    best = suggest(session)[0]
    assert best.id == BESIDE.id
    assert best.why == judged.sentence
    sure = session.enter(BESIDE, word("low"))
    assert verdict(sure).kind == "repair"


@pytest.mark.parametrize(("minutes", "verdicts"), [(0.3, "measure"), (30.0, "repair")])
def test_a_quick_check_is_taken_though_by_itself_it_changes_nothing(
    minutes: float, verdicts: str
) -> None:
    """Taking the wrong part of two out costs over an hour; one noisy reading against 30 to 1 does
    not turn their order, and several do."""
    parts = tuple(Part(designator=name, kind="74LS00", pins={"6": "A"}) for name in ("U3", "U4"))
    made = world(
        {"U3": 97.0, "U4": 3.0},
        repairs={
            name: Suspect(id=name, repair=f"replace {name}", designator=name, minutes=16.0)
            for name in ("U3", "U4")
        },
        board=Board(title="fake", parts=parts),
        something_else=0.001,
    )
    noisy = kind("volts", {READ: (WORDS, ["low", "low", "high"])}, floor=0.3, cost=minutes)
    told = kind("continuity", {BESIDE: (WORDS, ["high", "low", "low"])})
    judged = verdict(start(made, noisy, told).enter(BESIDE, word("low")))
    assert judged.kind == verdicts
    assert judged.first is None


def test_a_dear_check_is_not_taken_for_a_small_doubt() -> None:
    judged = verdict(chip_or_joint(30.0))
    assert judged.kind == "repair"
    assert judged.order[0].suspect.id == "U3"


def test_cost_of_a_repair_counts_money_the_try_and_the_good_part() -> None:
    session = chip_or_joint(1.0)
    chip, joint = (repair_cost(one, session.world) for one in session.world.suspects[:2])
    assert chip > 16.0 + 2.0 + GOOD_PART + TRY
    assert joint == pytest.approx(2.0 + TRY)


def test_limits_of_the_person_are_told_with_the_repair() -> None:
    session = chip_or_joint(30.0)
    assert "ruled out" not in verdict(session).sentence
    limits = Limits(without_setups=frozenset({"part out", "pin lifted"}), give_up=5.0)
    said = verdict(session.within(limits)).sentence
    assert "ruled out" in said
    assert "think of stopping" in said
    bound = case(boards.CHANNEL, limits=limits)
    kinds = {one.setup for one in suggest(bound, 50) if one.check is not None}
    assert not kinds & {"part out", "pin lifted"}
