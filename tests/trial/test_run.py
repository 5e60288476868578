"""A whole trial on a small board: the diagnosis finds plain faults that another simulator plays."""

import json

import pytest

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.build.fault import Fault, Suspect
from halfsplit.build.world import World
from halfsplit.checks.kind import Limits
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.agreement import agreement
from halfsplit.trial.examine import Finding
from halfsplit.trial.hidden import draw_faults, draw_hidden
from halfsplit.trial.patient import Bill, Patient
from halfsplit.trial.player import Hand
from halfsplit.trial.report import Outcome, TrialReport
from halfsplit.trial.run import run_trial
from halfsplit.trial.work import BOARDS, Plan, Work

pytestmark = pytest.mark.spice

BOARD = """
board "X"
rail +5 5V 5%
R1 4k7 5% +5 PA
Q1 2N3904 c=C b=B e=GND
R2 1k 5% +5 C
U3 7438 1=A 2=EN 3=B
R3 2k2 5% +5 B
U1 controller out 21=A out 22=EN supply 40=+5 ground 20=GND
R4 10k 5% PA GND
state rest A=low EN=low
state go A=high EN=high
output "q" level C
"""


@pytest.fixture(scope="module")
def world() -> Compiled:
    return compile_board(read_board(BOARD, PartsVocabulary()))


def named(world: Compiled, *ids: str) -> list[Fault]:
    by_id = {fault.id: fault for fault in world.faults}
    return [by_id[name] for name in ids]


def test_plain_faults_are_found(world: Compiled, ngspice: str) -> None:
    faults = named(world, "R3 open", "Q1 c short to e", "R1 open", "U3 3 stuck low", "+5 missing")
    seen: list[tuple[int, int]] = []
    report = run_trial(
        world.board, world, faults, 2, hand=Hand(misread=0.0),
        progress=lambda done, of, outcome: seen.append((done, of)),
    )  # fmt: skip
    assert [one.failed for one in report.outcomes] == [""] * 5
    assert seen == [(k, 5) for k in range(1, 6)]
    assert report.right_share >= 0.8, report.table()
    assert all(0 < one.checks <= 40 and one.minutes > 0.0 for one in report.asked)


def test_shared_work_gives_the_same_outcomes(world: Compiled, ngspice: str) -> None:
    faults = named(world, "R3 open", "Q1 c short to e", "R1 open")
    alone = run_trial(world.board, world, faults, 3)
    shared = run_trial(world.board, world, faults, 3, processes=2)
    assert [(one.fault, one.named, one.checks) for one in alone.outcomes] == [
        (one.fault, one.named, one.checks) for one in shared.outcomes
    ]


def test_the_owner_complains_of_what_is_wrong_and_of_nothing_else(
    world: Compiled, ngspice: str
) -> None:
    """With Q1 shorted C is low in both states, as it should be in the first; R1 moves no output."""
    seen: list[tuple[str, str] | None] = []

    def ask(world: World, patient: Patient, catalogue: Catalogue, limits: Limits) -> Finding:
        told = patient.complaint
        seen.append(told and (told[0].id, told[1]))
        return Finding(kind="repair", probability=0.0, named=(), ties=(), first_repair=(), asked=())

    run_trial(world.board, world, named(world, "Q1 c short to e", "R1 open"), 2, ask=ask)
    assert seen == [("symptom q @go", "low"), None]


def test_a_fault_nobody_can_see_is_not_held_against_the_diagnosis(
    world: Compiled, ngspice: str
) -> None:
    """The healthy board stands for such a fault: nothing differs, so nothing is asked."""
    report = run_trial(world.board, world, [world.faults[0]], 1)
    assert report.outcomes[0].visible == ""
    assert report.asked == ()
    assert report.right_share == 1.0


def test_predictions_agree_on_a_good_board(world: Compiled, ngspice: str) -> None:
    """At most one powered reading in ten is more than three spreads off."""
    found = agreement(world, ["volts"], boards=2)
    assert found.compared
    assert found.share_beyond(3.0) <= 0.1, found.table()


def test_faults_are_drawn_by_their_rates(world: Compiled) -> None:
    one, other = draw_faults(world, 10, 1), draw_faults(world, 10, 1)
    assert [fault.id for fault in one] == [fault.id for fault in other]
    assert len({fault.id for fault in one}) == 10
    assert all(fault.rate > 0.0 for fault in one)
    able = [
        fault
        for fault in world.faults
        if fault.rate > 0.0 and not fault.version_of and fault.where != "off-board"
    ]
    assert len(able) < len(world.faults) - 2, "some come in degrees"
    assert draw_faults(world, 10**6, 1) == able


def test_of_the_noticed_each_puts_an_output_wrong(world: Compiled) -> None:
    """R1 pulls up a line that nothing else hangs on: no output shows what becomes of it."""
    drawn = draw_hidden(world, 10**6, 1, "noticed")
    named = {one.name for one in drawn}
    assert {"R3 open", "Q1 c short to e"} <= named
    assert "R1 open" not in named
    assert len(drawn) < len(draw_hidden(world, 10**6, 1, "single"))


def test_report_counts_and_tells() -> None:
    good = Outcome(fault="R1 open", suspect="R1", visible="volts R1.1 @go", right=True, mended=True,
                   verdict="repair", probability=0.95, named=(("R1", 0.95),), checks=4,
                   minutes=3.0, cured=True, bill=Bill(minutes=10.0, money=2.0))  # fmt: skip
    bad = Outcome(fault="R2 open", suspect="R2", visible="volts R2.1 @go", verdict="repair",
                  probability=0.9, named=(("Q1", 0.9),), checks=8, minutes=9.0, why="misread",
                  detail="volts R2.1 @go = 3.1", bill=Bill(minutes=20.0))  # fmt: skip
    hidden = Outcome(fault="C1 open", suspect="C1", visible="")
    broken = Outcome(fault="U1 odd", suspect="U1", visible="", failed="no model")
    report = TrialReport(board="X", seed=1, outcomes=(good, bad, hidden, broken))
    told = report.summary()
    assert (told["visible"], told["not visible"], told["could not be played"]) == (2, 1, 1)
    assert report.right_share == 0.5
    assert (told["checks mean"], told["minutes mean"]) == (6.0, 6.0)
    assert told["cost mean"] == (10.0 + 2.0 + 20.0 + 120.0) / 2, "giving up costs 120 minutes"
    assert told["misses"] == {"misread": 1}
    assert "R2 open: repair, named Q1 90%; misread: volts R2.1 @go = 3.1" in report.table()
    assert "U1 odd: not played: no model" in report.table()
    assert json.loads(report.json())["summary"]["board"] == "X"
    assert "right share by rate" not in told


def test_a_whole_list_is_told_by_rate_too(world: Compiled) -> None:
    """A fault three times as common counts three times: on paper 3 of 4 right, 2 + 3 x 1 checks
    over 4 + 3 x 2 bits."""
    rare = Outcome(fault="R1 open", suspect="R1", visible="x", checks_after_symptoms=2,
                   bits_after_symptoms=4.0, bill=Bill(needless=2, good_parts=1))  # fmt: skip
    common = Outcome(fault="R2 open", suspect="R2", visible="x", right=True, weight=3.0,
                     checks_after_symptoms=1, bits_after_symptoms=2.0, cured=True,
                     bill=Bill(needless=1))  # fmt: skip
    told = TrialReport(board="X", seed=1, outcomes=(rare, common)).summary()
    assert (told["right share"], told["right share by rate"]) == (0.5, 0.75)
    assert told["no good part replaced by rate"] == told["cured share by rate"] == 0.75
    assert told["no repair in vain by rate"] == 0.0
    assert told["checks over bits left by rate"] == 0.5
    whole, some = (draw_hidden(world, count, 1, "single") for count in (10**6, 5))
    assert {one.weight for one in some} == {1.0}
    assert sum(one.weight for one in whole) == pytest.approx(1.0)


def test_a_good_part_renewed_for_its_joint_is_a_good_part_and_not_in_vain() -> None:
    """The first repair puts a joint right with a good part, the second nothing."""
    patient = Patient(
        answer=lambda check: "", wrong={"R9", "joint U2.1"}, renews=lambda repair: {"joint U2.1"}
    )
    part = Suspect(id="U1", repair="replace U1", designator="U1", minutes=10.0)
    joint = Suspect(id="joint U1.2", repair="resolder U1.2", designator="U1", minutes=2.0)
    right = Suspect(id="R9", repair="replace R9", designator="R9", minutes=8.0)
    assert [patient.mend(one) for one in (part, joint, right)] == [False, False, True]
    assert (patient.bill.repairs, patient.bill.needless, patient.bill.good_parts) == (3, 1, 1)


def test_boards_that_never_worked_are_drawn_again(ngspice: str) -> None:
    """Of two 20 % resistors between 5 V and ground the middle is above 2.25 V nine times in ten:
    with R2/R1 at 0.9 it stands at 2.37 V, with 0.8 at 2.22 V."""
    board = """
board "marginal"
rail +5 5V 1%
R1 10k 20% +5 MID
R2 10k 20% MID GND
state on
output "half" volts MID above 2.25V
"""
    marginal = compile_board(read_board(board, PartsVocabulary()))
    work = Work(Plan(world=marginal, seed=1))
    try:
        goods = [work.working(which) for which in range(BOARDS)]
        assert any(good.seed >= 1000 + BOARDS for good in goods)
        assert all(good.outputs(marginal.board.outputs[0], "on") == "on" for good in goods)
    finally:
        work.close()
