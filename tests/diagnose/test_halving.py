"""Paths traced by hand on small boards, and how far readings prove them."""

from tests.build.worlds import world
from tests.diagnose import boards
from tests.diagnose.boards import case

from halfsplit.build.paths import paths
from halfsplit.checks.catalogue import parse_check
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.halving import halvings

DEAD = ("symptom phase A pulls @hold", "off")


def test_a_channel_is_traced_stage_by_stage() -> None:
    (found,) = paths(world(boards.CHANNEL).board)
    assert found.nets == ("INA", "DRA", "EA", "CA", "J2/1")
    assert [stage.part for stage in found.stages] == ["U1", "Q1", "Q2", "J2"]
    assert (found.source, found.output) == ("INA", "phase A pulls")


def test_four_outputs_have_their_own_inputs_and_the_clock_they_share() -> None:
    found = paths(world(boards.LATCH).board)
    by_output = {name: {one.source for one in found if one.output == name} for name in "ABCD"}
    assert by_output == {name: {f"P{name}", "CK"} for name in "ABCD"}
    assert next(one for one in found if one.source == "PA").nets == ("PA", "QA", "NA")


def test_a_common_supply_behind_a_fuse_is_no_way_round() -> None:
    text = (
        boards.CHANNEL.replace("rail +24 24V 10% ohms=0.5", "rail +24IN 24V\nF1 fuse 2A +24IN +24")
        .replace("2=+24\nL1 winding 56 J2/1 J2/2", "2=+24 3=CB\nL[1-2] winding 56 J2/[1,3] J2/2")
        .replace("state idle", "R9 1k +5 INB\nQ9 TIP120 c=CB b=INB e=GND\nstate idle")
    )
    assert {path.nets[0] for path in paths(world(text).board)} == {"INA"}
    assert all(path.nets[-1] == "J2/1" for path in paths(world(text).board))


def test_nothing_read_halves_in_the_middle() -> None:
    (one,) = halvings(case(boards.CHANNEL))
    assert set(one.marks) == {"not read"}
    assert one.middle == "EA"
    assert "nothing proven good" in one.sentence


def test_first_bad_and_last_good_close_in() -> None:
    told = (DEAD, ("volts U1.2 @hold", "0.12"), ("volts Q2.b @hold", "0.0"))
    session = case(boards.CHANNEL, *told)
    (one,) = halvings(session, suggest(session)[0].check)
    assert dict(zip(one.path.nets, one.marks, strict=True)) == {
        "INA": "not read", "DRA": "good", "EA": "bad", "CA": "not read", "J2/1": "not read",
    }  # fmt: skip
    assert one.path.nets[one.last_good] == "DRA"
    assert one.path.nets[one.first_bad] == "EA"
    assert "good up to DRA, bad from EA on" in one.sentence
    assert one.to_json()["first_bad"] == "EA"


def test_the_suggestion_is_placed_beside_the_half_split() -> None:
    session = case(boards.CHANNEL, DEAD)
    (same,) = halvings(session, parse_check("volts Q2.b @hold", session.world))
    assert same.sentence.endswith("and so does the suggestion.")
    (later,) = halvings(session, parse_check("volts Q2.c @hold", session.world))
    assert "is 1 later" in later.sentence
    (off,) = halvings(session, parse_check("volts R1.1 @hold", session.world))
    assert "not on this path" in off.sentence
