"""Lessons about repairs, second faults, faults that come and go, and boards not as drawn.

Common practice, told by repairers; no published source. Numbers of the table in docs/lessons.md.
"""

import pytest
from tests.diagnose import boards
from tests.diagnose.boards import case, fault_shares, more
from tests.diagnose.fakes import shares

from halfsplit.build.together import both, consequences
from halfsplit.checks.kind import Meter
from halfsplit.diagnose.acceptance import acceptance
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.rehearsal import answer
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import verdict
from halfsplit.diagnose.wider import considered, is_wider, widen
from halfsplit.errors import UnknownName

DEAD = ("symptom phase A pulls @hold", "off")
RIGHT = (("symptom phase A pulls @idle", "right"), ("symptom phase A pulls @hold", "right"))
OPEN = (
    DEAD,
    ("volts U1.14 @hold", "5.0"),
    ("volts U1.2 @hold", "0.1"),
    ("volts Q1.b @hold", "0.1"),
    ("volts R2.1 @hold", "5.0"),
    ("volts R2.2 @hold", "0.0"),
    ("ohms R2.1 : R2.2", "OL"),
)
"""R2 feeds nothing to the base of Q2."""


def test_32_and_16_a_cure_is_proven_by_the_run_the_soak_and_the_part_taken_out() -> None:
    session = case(boards.CHANNEL, *OPEN)
    assert session.suspects()[0].suspect.id == "R2"
    after = more(session.repaired("R2"), *RIGHT)
    judged = verdict(after)
    assert judged.kind == "cured"
    run = acceptance(after)
    assert run is not None
    assert not run.closed
    assert {one.split()[0] for one in run.checks} == {"passes", "soak", "parttest"}
    assert {one.kind for one in suggest(after)} == {"passes", "soak", "parttest"}
    done = more(
        after, ("passes phase A pulls", "299"), ("soak phase A pulls", "steady"),
        ("parttest R2", "failed"),
    )  # fmt: skip
    finished = acceptance(done)
    assert finished is not None
    assert finished.closed
    assert finished.cause is not None
    assert finished.cause.suspect == "R2"
    flaky = acceptance(more(after, ("soak phase A pulls", "came back")))
    assert flaky is not None
    assert flaky.wrong
    assert "Not cured" in flaky.sentence


def test_32_a_part_taken_out_that_tests_good_points_at_its_joint() -> None:
    session = more(case(boards.CHANNEL, *OPEN).repaired("R2"), *RIGHT)
    good = more(session, ("parttest R2", "works when put back"))
    assert good.cause[0] == 0.0
    joints = sum(
        float(p)
        for fault, p in zip(good.world.faults, good.cause, strict=False)
        if fault.where == "joint" and fault.designator == "R2"
    )
    before = sum(
        float(p)
        for fault, p in zip(session.world.faults, session.cause, strict=False)
        if fault.where == "joint" and fault.designator == "R2"
    )
    assert joints > 4.0 * before


def test_12_the_run_ends_the_case_and_not_the_first_repair() -> None:
    """Shorted tantalum replaced, the phase still dead: the second fault is looked for."""
    session = case(boards.CHANNEL, *OPEN)
    still = more(session.repaired("R2"), DEAD)
    judged = verdict(still)
    assert judged.kind != "cured"
    assert is_wider(considered(still))
    assert suggest(still)[0].check is not None
    told = more(still, ("volts Q2.b @hold", "1.45"), ("volts L1.1 @hold", "0.0"),
                ("volts L1.2 @hold", "24"), ("ohms L1.1 : L1.2", "12k"))  # fmt: skip
    ranked = [one for one in considered(told).suspects() if one.faults]
    assert ranked[0].suspect.id.split(" + ")[0] in {"L1", "joint L1.1", "joint L1.2", "J2"}
    assert "R2" not in {one.suspect.id for one in ranked[:2]}


def test_31_a_new_symptom_after_work_points_at_the_work() -> None:
    """A cure of R2 that leaves its base dead in another way: R2's own joints lead, though they
    were unlikely before."""
    session = case(boards.CHANNEL, *OPEN).repaired("R2")
    before = shares(session)["joint R2.2"]
    after = more(session, ("volts R2.1 @hold", "5.0"), ("volts R2.2 @hold", "5.0"),
                 ("volts Q2.b @hold", "0.0"))  # fmt: skip
    assert shares(after)["joint R2.2"] > 10.0 * before


def test_25_a_cure_by_swap_is_shared_with_the_contact_and_told_by_the_old_part() -> None:
    contact = (DEAD, ("volts U1.14 @hold", "5.0"), ("volts U1.2 @hold", "0.9"),
               ("volts U1.1 @hold", "3.6"))  # fmt: skip
    session = case(boards.CHANNEL, *contact, ("swap U1", "cured"))
    assert shares(session)["contact U1.7"] > 0.15
    works = more(session, ("parttest U1", "put back and it works"))
    assert shares(works)["contact U1.7"] > 2.0 * shares(works)["U1"]


def test_28_readings_that_disagree_are_evidence_of_a_fault_that_comes_and_goes() -> None:
    seen = [("ohms U1.2 : U1.3", text) for text in ("0.4", "OL", "0.5", "OL", "0.4")]
    wide = widen(more(case(boards.BUFFER), *seen))
    named = {fault.id: p for fault, p in zip(wide.world.faults, wide.p.tolist(), strict=False)}
    fitful = "U1.2-U1.3 bridged, now and then"
    listed = [name for name, p in named.items() if p > named[fitful] and "drawn" not in name]
    assert named[fitful] > 10.0 * named.get("U1.2-U1.3 bridged", 0.0)
    assert named[fitful] > 0.01
    assert listed == [], listed
    words = next(f.words for f in wide.world.faults if f.id == fitful)
    assert "now and then" in words
    assert "% of readings" in words


def test_5_a_net_that_is_not_as_drawn_is_a_suspect_and_less_so_where_it_was_verified() -> None:
    places = ("U1.2 @idle", "U1.2 @hold", "R1.2 @hold", "Q1.b @idle")
    readings = (*((f"volts {place}", "3.2") for place in places), *RIGHT)
    text = boards.CHANNEL
    sure = text.replace("e=GND ; spare\nR2", "e=GND ; spare ; verified\nR2")
    assert sure != text
    found = [widen(case(board, *readings)) for board in (text, sure)]
    loose, firm = (shares(session).get("drawing DRA", 0.0) for session in found)
    assert loose > 0.1
    assert firm < 0.5 * loose
    repair = next(one for one in found[0].world.suspects if one.id == "drawing DRA").repair
    assert "compare net DRA with the board" in repair
    compared = widen(case(text, *readings).repaired("drawing DRA"))
    assert "drawing DRA" not in shares(compared)


def test_a_fault_found_elsewhere_is_put_right_though_a_net_is_not_as_drawn() -> None:
    """The board has worked as it is, so that a net drawn otherwise is no cause of trouble: what the
    readings elsewhere prove is the repair, and the case is over when it is done."""
    odd = [
        (f"volts {place}", "2.3")
        for place in ("U1.2 @hold", "R1.2 @hold", "U1.2 @idle", "Q1.b @idle")
    ]
    seen = [
        DEAD,
        ("volts R2.2 @hold", "4.97"),
        ("volts Q2.b @hold", "4.97"),
        ("volts Q2.c @hold", "24.0"),
        ("volts Q2.e @hold", "0.0"),
        *odd,
    ]
    wide = widen(case(boards.CHANNEL, *seen))
    doubted = [
        row for row, fault in enumerate(wide.world.faults) if "DRA is not as drawn" in fault.id
    ]
    assert wide.p[doubted].sum() > 0.9
    assert shares(wide)["Q2"] > 0.9
    assert verdict(more(case(boards.CHANNEL, *seen).repaired("Q2"), *RIGHT)).kind == "cured"


def test_a_short_burns_the_fuse_before_it() -> None:
    world = case(boards.SUPPLY.replace("fuse 2A", "fuse 1A")).world
    names = [fault.id for fault in world.faults]
    found = {(names[a], names[b]) for a, b in consequences(world)}
    assert ("U1 in short to out", "F1 open") not in found  # 9.5 V over 12 ohms is 0.8 A
    assert any(b == "F1 open" and a.startswith(("C1 short", "U1 out short")) for a, b in found)


def play(text: str, first: str, second: str, most: int = 60) -> list[str]:
    """Repairs proposed on a board with two faults, each done; stops when both are put right."""
    world = case(text).world
    kinds = [
        kind
        for name, kind in case(text).catalogue.kinds.items()
        if name in {"volts", "ohms", "diode", "symptom", "level"}
    ]
    names = [fault.id for fault in world.faults]
    left, told = [names.index(first), names.index(second)], []
    mine = Catalogue(world, Meter(), kinds)
    pair = both(world, [(left[0], left[1])])
    assert pair is not None
    hidden, shown = pair.faults[1], Catalogue(pair, Meter(), kinds)
    session = Session.start(world, catalogue=mine)
    for _ in range(most):
        best = suggest(session, 1)[0]
        if best.check is not None:
            said = answer(best.check, hidden, shown)
            reading = mine.kind(best.check.kind).read(best.check, said, world)
            session = session.enter(best.check, reading)
            continue
        told.append(best.id.removeprefix("repair "))
        session = session.repaired(told[-1])
        left = [row for row in left if not session.cured_at[row]]
        if not left:
            break
        hidden, shown = world.faults[left[0] if len(left) == 1 else 0], mine
        if len(left) == 2:
            hidden, shown = pair.faults[1], Catalogue(pair, Meter(), kinds)
    return told


@pytest.mark.parametrize(
    ("first", "second", "needed"),
    [
        ("Q2 b short to e", "L1 open", {"Q2", "L1"}),
        ("R2 open", "J2 2 contact open", {"R2", "J2"}),
        ("L1 open", "J2 1 contact open", {"L1", "J2"}),
    ],
)
def test_two_faults_are_both_found(first: str, second: str, needed: set[str]) -> None:
    told = " + ".join(play(boards.CHANNEL, first, second)).split(" + ")
    # To see whether the drawing is right renews nothing, and is so quick that it may come first.
    assert {name for name in told if not name.startswith("drawing ")} == needed


def test_an_unknown_repair_names_the_nearest() -> None:
    with pytest.raises(UnknownName, match="U1"):
        case(boards.CHANNEL).repaired("U11")


def test_something_else_keeps_its_share_and_grows_when_nothing_fits() -> None:
    session = case(boards.CHANNEL)
    odd = more(session, ("volts U1.2 @hold", "3.1"), ("volts Q1.c @hold", "2.2"),
               ("volts R2.1 @hold", "3.9"), ("volts L1.2 @hold", "11"))  # fmt: skip
    assert fault_shares(odd)["something-else"] > 5.0 * fault_shares(session)["something-else"]
    assert considered(odd).p[-1] > 0.1
