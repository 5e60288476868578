"""Verdicts and explanations."""

from typing import Any

import pytest
from tests.diagnose import boards
from tests.diagnose.boards import case, more
from tests.diagnose.fakes import FakeWorld, TableKind, check, kind, shares, start, word, world

from halfsplit.belief.posterior import Array, normalise
from halfsplit.board.model import Board, Part, Rail, Remarks
from halfsplit.build.fault import Suspect
from halfsplit.diagnose.contradiction import contradiction
from halfsplit.diagnose.cures import cured_by
from halfsplit.diagnose.explain import explain
from halfsplit.diagnose.plan import plan
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import verdict

LEVELS = ("low", "high")
A, B, C = (check("volts", f"TP{n}", "run") for n in (1, 2, 3))


def test_at_the_start_it_is_to_measure() -> None:
    board = world({"R1 open": 1.0, "R2 open": 1.0})
    judged = verdict(start(board, kind("volts", {A: (LEVELS, ["low", "high", "low"])})))
    assert judged.kind == "measure"
    assert judged.sentence.startswith("Nothing has been read yet")


def test_something_else_on_top_of_many_small_suspects_is_not_nothing_fits() -> None:
    board = world({f"R{n} open": 1.0 for n in range(40)}, something_else=0.3)
    rows = ["low"] + ["high"] * 20 + ["low"] * 20
    session = start(board, kind("volts", {A: (LEVELS, rows), B: (LEVELS, rows)}))
    session = session.enter(A, word("high"))
    assert session.suspects()[0].suspect.id == "something-else"
    assert verdict(session).kind != "nothing fits"


def test_a_sure_suspect_is_to_be_repaired() -> None:
    board = world({"R1 open": 1.0, "R2 open": 1.0})
    session = start(board, kind("volts", {A: (LEVELS, ["low", "high", "low"])}))
    judged = verdict(session.enter(A, word("high")))
    assert (judged.kind, judged.ties) == ("repair", ())
    assert judged.order[0].suspect.id == "R1 open"
    assert judged.probability == pytest.approx(session.enter(A, word("high")).p[1])
    assert judged.sentence.startswith("Repair R1 open (9")


def joint_and_part(part_minutes: float) -> Session:
    repairs = {
        "U3 dead": Suspect(id="U3 dead", repair="change U3", designator="U3", minutes=part_minutes),
        "joint U3.6": Suspect(
            id="joint U3.6", repair="solder U3.6 anew", designator="U3", minutes=3.0
        ),
    }
    board = world({"U3 dead": 3.0, "joint U3.6": 2.0, "R1 open": 5.0}, repairs=repairs)
    volts = kind("volts", {A: (LEVELS, ["low", "high", "high", "low"])})
    return start(board, volts).enter(A, word("high"))


def test_ties_are_right_only_together_cheap_repair_first() -> None:
    judged = verdict(joint_and_part(30.0))
    assert judged.kind == "repair"
    assert judged.ties == ("joint U3.6",)
    assert [step.suspect.id for step in judged.order] == ["joint U3.6", "U3 dead"]
    assert "right only together with joint U3.6" in judged.sentence
    assert judged.probability > 0.9


def test_one_repair_that_serves_both_ends_the_tie() -> None:
    """With the part as quick to change as the joint to solder, only the part is worth doing."""
    judged = verdict(joint_and_part(3.0))
    assert [(step.suspect.id, step.also) for step in judged.order] == [("U3 dead", ("joint U3.6",))]
    assert "renews joint U3.6 too" in judged.sentence


@pytest.mark.parametrize(("socketed", "renewed"), [(False, "joint U3.6"), (True, "contact U3.6")])
def test_what_a_change_of_the_part_renews(socketed: bool, renewed: str) -> None:
    part = Part(designator="U3", kind="x", remarks=Remarks(socketed=socketed))
    board = world(
        {"U3 dead": 3.0, "joint U3.6": 2.0, "contact U3.6": 2.0},
        repairs={"U3 dead": Suspect(id="U3 dead", repair="change", designator="U3", minutes=1.0)},
        board=Board(title="fake", parts=(part,)),
    )
    steps = plan(start(board), start(board).suspects()).steps
    also = {step.suspect.id: step.also for step in steps}
    assert also["U3 dead"] == (renewed,)
    assert renewed not in also


@pytest.mark.parametrize("socketed", [True, False])
def test_changing_a_soldered_chip_clears_bridges_of_its_pins(socketed: bool) -> None:
    """Every pin is desoldered and soldered anew (common practice, no source); those of a socket
    are not touched."""
    text = boards.CHANNEL if socketed else boards.CHANNEL.replace(" ; socketed", "", 1)
    made = case(text).world
    cured = {fault.id for fault, yes in zip(made.faults, cured_by(made, "U1"), strict=True) if yes}
    assert ("U1.1-U1.2 bridged" in cured) is not socketed
    assert ("U1.1 joint open" in cured) is not socketed
    assert ("U1.1 contact open" in cured) is socketed
    assert "U1.1 track broken" not in cured


def test_a_tie_that_a_check_left_can_split_is_to_be_measured() -> None:
    board = world({"R1 open": 1.0, "R2 open": 1.0, "R3 open": 1.0})
    volts = kind(
        "volts",
        {
            A: (LEVELS, ["low", "high", "high", "low"]),
            B: (LEVELS, ["low", "high", "low", "low"]),
        },
    )
    assert verdict(start(board, volts).enter(A, word("high"))).kind == "measure"


def contradictory(rare: float = 0.0) -> tuple[FakeWorld, Session]:
    faults = {"R1 open": 1.0, "R2 open": 1.0, "R3 open": 1.0}
    if rare:
        faults["R9 open"] = rare
    board = world(faults)
    tail = ["high"] if rare else []
    volts = kind(
        "volts",
        {
            A: (LEVELS, ["low", "high", "low", "low", *tail]),
            B: (LEVELS, ["low", "low", "high", "low", *tail]),
            C: (LEVELS, ["low", "low", "low", "high", *tail]),
        },
    )
    session = start(board, volts)
    for one in (A, B, C):
        session = session.enter(one, word("high"))
    return board, session


def test_nothing_fits_when_three_readings_each_name_another_part() -> None:
    _, session = contradictory()
    assert shares(session)["something-else"] > 0.5
    against = contradiction(session)
    assert against is not None
    for one in (A, B, C):
        session = session.enter(one, word("high"))
    judged = verdict(session)
    assert judged.kind == "nothing fits"
    assert "two faults" in judged.sentence


def test_a_rare_fault_that_explains_all_is_no_contradiction() -> None:
    _, session = contradictory(rare=0.01)
    assert contradiction(session) is None
    assert session.suspects()[0].suspect.id == "R9 open"


class Dense(TableKind):
    """Likelihoods of another scale, as densities have."""

    def likelihood(self, *args: Any) -> Array:
        return 1000.0 * super().likelihood(*args)


def test_the_scale_of_likelihoods_does_not_choose_the_misread_one() -> None:
    board = world({"R1 open": 1.0, "R2 open": 1.0, "R3 open": 1.0})
    volts = kind(
        "volts",
        {
            A: (LEVELS, ["low", "high", "low", "low"]),
            B: (LEVELS, ["low", "high", "low", "low"]),
        },
    )
    odd = check("odd", "TP9")
    rows = kind("odd", {odd: (LEVELS, ["low", "low", "high", "low"])}).tables
    for of_volts, of_odd in ((TableKind, Dense), (Dense, TableKind)):
        kinds = (of_volts(name="volts", tables=volts.tables), of_odd(name="odd", tables=rows))
        session = start(board, *kinds)
        for one in (odd, A, B):
            session = session.enter(one, word("high"))
        against = contradiction(session)
        assert against is not None
        assert against.misread is not None
        assert against.misread.number == 1


def test_no_contradiction_before_readings_or_with_readings_that_agree() -> None:
    board = world({"R1 open": 1.0, "R2 open": 1.0})
    session = start(board, kind("volts", {A: (LEVELS, ["low", "high", "low"])}))
    assert contradiction(session) is None
    assert contradiction(session.enter(A, word("high"))) is None


def test_explanation_is_the_likelihood_ratio_against_the_rest() -> None:
    board = world({"R1 open": 3.0, "R2 open": 2.0, "R3 open": 1.0}, something_else=0.0)
    volts = kind(
        "volts",
        {
            A: (LEVELS, ["low", "high", "high", "low"]),
            B: (LEVELS, ["low", "high", "low", "low"]),
            C: (LEVELS, ["low", "low", "low", "low"]),
        },
    )
    session = start(board, volts)
    for one, text in ((A, "high"), (B, "high"), (C, "low")):
        session = session.enter(one, word(text))
    r1 = explain(session)[0]
    assert r1.suspect == "R1 open"
    rest = normalise(session.without(2).p * [0, 0, 1, 1, 1])
    likelihood = session.entries[1].likelihood
    by_hand = likelihood[1] / (rest @ likelihood)
    assert r1.raised[0].number == 2
    assert 2.0 ** r1.raised[0].bits == pytest.approx(by_hand)
    assert r1.silent == (3,)
    assert "times likelier if it is R1 open" in r1.raised[0].sentence
    assert r1.start == pytest.approx(0.5)
    r2 = next(one for one in explain(session) if one.suspect == "R2 open")
    assert [weight.number for weight in r2.lowered] == [2]
    assert "less likely if it is R2 open" in r2.lowered[0].sentence
    assert "lowered by #2" in r2.summary


def test_a_slip_that_was_put_right_is_no_contradiction_where_the_trouble_is_always_there() -> None:
    """R1 of the emitter follower's base read twice, wrong and then right."""
    told = (
        ("symptom phase A pulls @hold", "off"), ("volts Q1.b @hold", "0.16"),
        ("volts Q2.b @hold", "0.0"), ("volts Q1.b @hold", "4.8"), ("volts Q1.b @hold", "0.16"),
    )  # fmt: skip
    seen = case(boards.CHANNEL, *told)
    question = ("constancy phase A pulls", "comes and goes")
    assert contradiction(more(seen, question)) is not None
    assert contradiction(more(seen, (question[0], "always"))) is None


@pytest.mark.parametrize(
    ("driver", "precious", "verdicts"),
    [("U1", False, "repair"), ("U1", True, "measure"), ("rail +5", False, "measure")],
)
def test_what_cannot_be_had_again_or_is_off_the_board_is_proven_first(
    driver: str, precious: bool, verdicts: str
) -> None:
    """What drives a line and an input that hangs on it hold it low alike; 50 to 1 is enough to
    change a gate, and not to condemn a controller or a supply while an ohmmeter still tells."""
    part = Part(designator="U1", kind="x", remarks=Remarks(irreplaceable=precious))
    board = Board(title="line", parts=(part,), rails=(Rail(net="+5", volts=5.0),))
    line = world(
        {f"{driver} low": 50.0, "U2 input short": 1.0},
        suspects={f"{driver} low": driver, "U2 input short": "U2"},
        something_else=0.001,
        board=board,
    )
    across = check("ohms", "TP1", "")
    ohms = kind("ohms", {across: (LEVELS, ["high", "high", "low"])}, bench="off")
    both = kind("volts", {B: (LEVELS, ["high", "low", "low"])})
    session = start(line, ohms, both).enter(B, word("low"))
    assert session.suspects()[0].suspect.id == driver
    assert verdict(session).kind == verdicts
    told = verdict(session.enter(across, word("high")))
    assert (told.kind, told.order[0].suspect.id) == ("repair", driver)
