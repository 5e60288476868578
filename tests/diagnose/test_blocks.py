"""Boards of blocks: halved exactly, by the published rules of signal paths, and opened.

The rules are those of the U.S. Army Intelligence Center's subcourse IT 0338, programmed text on
troubleshooting, frames 10 to 17: a linear path is checked at or just before the midpoint of the
brackets, a convergent one at each or every input, a divergent one at any output, a feedback path
by modifying the feedback and watching the output.
"""

from collections.abc import Sequence

import numpy as np
import pytest
from tests.belief.truth import truth
from tests.build.worlds import world
from tests.diagnose.boards import case, fault_shares, more

from halfsplit.board.source import find_source
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.explain import explain
from halfsplit.diagnose.halving import halvings
from halfsplit.diagnose.outlook import look_ahead
from halfsplit.diagnose.reasons import ruled_out, would_change
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import verdict

ALARM = find_source("level-alarm").text
COMPARATOR = """\
rail +5 5V
U1 LM393 3=LEV 2=THR 1=TRIP ; spare
R1 10k 5% REF THR
R2 4k7 5% +5 TRIP"""
FORKED = """\
board "one source, two ways"
B1 block out 1=A
B2 block in 1=A out 2=B
B3 block in 1=B out 2=L
B4 block in 1=B out 2=R
output "left" right L
output "right" right R
state run
"""
JOINED = """\
board "two ways into one"
B1 block out 1=A
B2 block out 1=B
B3 block in 1=A out 2=C
B4 block in 1=B 2=C out 3=D
output "end" right D
state run
"""
LOOP = """\
board "a loop"
B1 block in 1=IN 2=FB out 3=ERR
B2 block in 1=ERR out 2=VCO
B3 block in 1=VCO out 2=FB
B4 block in 1=VCO out 2=OUT
output "lock" right OUT
state run
state opened FB=good
"""
GATED = """\
board "a gate"
B1 block out 1=A
B2 block out 1=EN
B3 block in A=A E=EN out Y=Y does="A & E"
B4 block in 1=Y out 2=Z does=inverts
output "end" right Z
state run A=pulses EN=high
state shut A=pulses EN=low
"""


def row(count: int) -> str:
    """So many equal blocks one after the other."""
    first, *rest = range(1, count + 1)
    lines = [f"B{n} block in 1=N{n - 1} out 2=N{n}" for n in rest]
    head = ['board "row"', f"B{first} block out 2=N{first}"]
    return "\n".join([*head, *lines, f'output "end" right N{count}', "state run", ""])


def shares(session: Session) -> dict[str, float]:
    return {one.suspect.id: one.probability for one in session.suspects()}


def to_the_verdict(session: Session, bad: int) -> list[str]:
    """Nets looked at, in order, on a row whose block ``bad`` is at fault, up to the verdict."""
    asked: list[str] = []
    while True:
        if verdict(session).kind != "measure":
            assert session.suspects()[0].suspect.id == f"B{bad}"
            return asked
        best = suggest(session, 1)[0]
        assert best.kind == "signal"
        net = best.places[0].removeprefix("net N")
        asked.append(net)
        session = more(session, (best.id, "bad" if int(net) >= bad else "good"))


@pytest.mark.parametrize("count", [8, 10, 16])
def test_equal_blocks_in_a_row_are_halved_exactly(count: int) -> None:
    start = case(row(count), ("symptom end @run", "wrong"))
    asked = [to_the_verdict(start, bad) for bad in range(1, count + 1)]
    assert {nets[0] for nets in asked} == {str(count // 2)}
    assert np.mean([len(nets) for nets in asked]) == pytest.approx(truth()[f"half-split {count}"])


def test_a_large_block_draws_the_first_check_to_itself() -> None:
    start = case(row(8).replace("in 1=N6", "parts=60 in 1=N6"), ("symptom end @run", "wrong"))
    assert suggest(start, 1)[0].places == ("net N6",)
    (one,) = halvings(start, suggest(start, 1)[0].check, look_ahead(start))
    assert one.middle == "N4"
    assert "is 2 later, since" in one.sentence
    assert "% of the belief on this stretch lies up to N4; it tells" in one.sentence


def test_divergent_any_output_that_is_right_clears_what_is_common() -> None:
    got = shares(case(FORKED, ("symptom left @run", "wrong"), ("symptom right @run", "right")))
    assert got["B3"] > 0.9
    both = shares(case(FORKED, ("symptom left @run", "wrong"), ("symptom right @run", "wrong")))
    assert both["B1"] + both["B2"] > 0.9


def test_convergent_every_input_right_leaves_the_block() -> None:
    start = case(JOINED, ("symptom end @run", "wrong"))
    asked = {one.places[0] for one in suggest(start, 5) if one.kind == "signal"}
    assert {"net B", "net C"} <= asked
    one_right = shares(more(start, ("signal B @run", "good")))
    assert one_right["B4"] < 0.6
    assert shares(more(start, ("signal B @run", "good"), ("signal C @run", "good")))["B4"] > 0.9
    ways = {path.path.nets for path in halvings(start)}
    assert ways == {("A", "C", "D"), ("B", "D")}


def test_feedback_nothing_inside_tells_until_the_loop_is_broken() -> None:
    closed = case(LOOP, ("symptom lock @run", "wrong"), ("signal ERR @run", "bad"))
    got = shares(more(closed, ("signal VCO @run", "bad"), ("signal FB @run", "bad")))
    assert got["B1"] == pytest.approx(got["B2"], rel=0.05)
    assert got["B2"] == pytest.approx(got["B3"], rel=0.05)
    best = suggest(closed, 1)[0]
    assert best.state == "opened"
    broken = more(closed, ("signal ERR @opened", "good"), ("signal VCO @opened", "bad"))
    assert shares(broken)["B2"] > 0.9


def test_a_known_function_hides_what_cannot_be_seen() -> None:
    """A gate that is shut is right whatever its other input does (truth table of AND)."""
    shut = fault_shares(case(GATED, ("symptom end @shut", "right")))
    assert shut["B1 1 wrong"] == pytest.approx(shut["B1 dead"] * 0.36 / 0.4, rel=0.01)  # as before
    assert shut["B1 1 wrong"] > 10.0 * shut["B4 2 wrong"]
    wrong = fault_shares(case(GATED, ("symptom end @shut", "wrong")))
    assert wrong["B1 dead"] < 0.02
    assert wrong["B4 2 stuck low"] > 5.0 * wrong["B4 2 stuck high"]  # high is right there
    seen = case(GATED).catalogue.kind("signal")
    (check,) = [one for one in seen.offers(world(GATED)) if one.id == "signal net Z @shut"]
    assert seen.expected(check, world(GATED), case(GATED).catalogue.meter) == "high"


GUILTY = (
    ("symptom alarm lamp @full", "wrong"),
    ("symptom alarm lamp @empty", "right"),
    ("signal LEV @full", "4.02V"),
    ("signal HOLD @full", "low"),
    ("signal TRIP @full", "about 0.2"),
)


def opened(text: str, block: str, inside: str) -> str:
    lines = [inside if line.startswith(f"{block} ") else line for line in text.splitlines()]
    return "\n".join([*lines, ""])


def playing(told: Sequence[tuple[str, str]]) -> Session:
    return case(opened(ALARM, "B4", COMPARATOR), *told)


def test_ten_lines_lead_to_the_guilty_block() -> None:
    assert len([line for line in ALARM.splitlines() if line[:1] not in ("", "#")]) == 10
    asked = suggest(case(ALARM, *GUILTY[:1]), 1)[0]
    assert asked.id == "signal net LEV @full"
    session = case(ALARM, *GUILTY)
    judged = verdict(session)
    assert judged.kind == "repair"
    assert judged.sentence.startswith("Open B4 (comparator)")
    (why,) = explain(session, 1)
    assert why.raised
    assert {fallen.suspect for fallen in ruled_out(session)} == {"B1", "B2", "B3", "B5", "B6"}
    assert not would_change(session, look_ahead(session))
    (main, _) = halvings(session)
    assert main.sentence.endswith(
        "good up to LEV, bad from TRIP on. The fault is in B4, between LEV and TRIP, or on TRIP."
    )


def test_opened_the_readings_count_and_the_bad_part_is_found() -> None:
    session = playing(GUILTY)
    assert len(session.entries) == len(GUILTY)
    got = shares(session)
    assert sum(got.get(name, 0.0) for name in ("rail +5", "U1", "R2")) > 0.8
    assert got["B3"] < 0.05
    further = more(session, ("volts U1.8 @full", "5.02"), ("volts U1.2 @full", "2.51"),
                   ("volts U1.3 @full", "4.01"), ("volts U1.1 @full", "0.18"),
                   ("volts R2.1 @full", "5.01"))  # fmt: skip
    assert further.suspects()[0].suspect.id == "U1"
    assert shares(further)["U1"] > 0.5


def test_a_stage_with_an_outside_input_takes_it_for_good() -> None:
    (one, *_) = halvings(case(LOOP))
    assert one.path.source == "IN"
    assert one.path.origin == ""


def test_a_block_that_was_mended_asks_for_no_part_to_be_tested() -> None:
    told = (("symptom end @run", "wrong"), ("signal N4 @run", "good"), ("signal N5 @run", "bad"))
    session = more(case(row(8), *told).repaired("B5"), ("symptom end @run", "right"))
    judged = verdict(session)
    assert judged.kind == "cured"
    assert not any(one.kind == "parttest" for one in suggest(session, 5))
