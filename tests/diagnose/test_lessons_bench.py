"""Lessons of the bench on small real boards: the program must not draw the wrong conclusion.

Common practice, told by repairers; no published source. Numbers of the table in docs/lessons.md.
"""

import pytest
from tests.diagnose import boards
from tests.diagnose.boards import case, fault_shares, more, odds
from tests.diagnose.fakes import shares

from halfsplit.checks.catalogue import parse_check
from halfsplit.checks.kind import Limits
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.session import Session

DEAD = ("symptom phase A pulls @hold", "off")
RAILS = (("volts net +5 @hold", "5.0"), ("volts net +24 @hold", "24.0"))
STUCK_ON = ("symptom phase A pulls @idle", "on")


def place_of(session: Session, *kinds: str) -> int:
    """Rank of the first suggestion of one of these kinds."""
    return min(
        (n for n, one in enumerate(suggest(session, 400)) if one.kind in kinds), default=10**6
    )


def test_1_a_base_holds_an_open_collector_at_0v7_in_its_off_state() -> None:
    """0.7 V at U1.2 with the input low: the base, not a stuck output (which reads 0.1 to 0.4 V)."""
    world = case(boards.CHANNEL).world
    good = world.volts("idle", ["U1.2"]).mean
    names = [fault.id for fault in world.faults]
    assert 0.55 < good[0, 0] < 0.85
    assert good[names.index("U1 2 stuck low"), 0] < 0.45
    before = case(boards.CHANNEL, DEAD)
    after = more(before, ("volts U1.2 @idle", "0.72"))
    assert fault_shares(after)["U1 2 stuck low"] < 0.02
    assert (
        CHECKS.get("volts")
        .expected(parse_check("volts U1.2 @idle", world), world, after.meter)
        .startswith("0.")
    )


def test_3_all_phases_odd_means_reset_clock_or_rail_not_one_phase() -> None:
    wrong = [(f"symptom {name} @one", "high") for name in "ABCD"]  # inverted: all latch bits low
    session = case(boards.LATCH, *wrong)
    common = {"U1", "C1", "R15", "rail +5", "something-else"}
    found = shares(session)
    shared = sum(p for name, p in found.items() if name in common or name.startswith("joint U1.1"))
    phase = max(p for name, p in found.items() if name in {"U2", "joint U1.2", "joint U1.7"})
    assert shared > 0.6
    assert phase < 0.05
    assert found["C1"] > 0.05  # its short holds the reset low


def test_4_what_goes_with_the_load_unplugged_is_supply_or_beyond() -> None:
    before = case(boards.SUPPLY, ("symptom +5 present @loaded", "weak"))
    after = more(before, ("unplugged J1", "clears"))
    assert odds(before, after, "U1 weak", "U1 dead") > 5.0
    assert odds(before, after, "R9 short", "U1 dead") > 5.0
    same = more(before, ("unplugged J1", "no change"))
    assert odds(before, same, "R9 short", "U1 dead") < 0.5


def test_6_boards_good_in_the_other_unit_leave_motor_wiring_and_mechanics() -> None:
    before = case(boards.CHANNEL, DEAD, *RAILS)
    after = more(before, ("exchange phase A pulls", "stays"))
    off = {"L1", "J2", "something-else", "mechanism L1", "joint L1.1", "joint L1.2"}
    assert sum(p for name, p in shares(after).items() if name in off) > 0.75
    assert shares(after)["U1"] < shares(before)["U1"] / 3.0
    follows = more(before, ("exchange phase A pulls", "follows"))
    assert shares(follows)["L1"] < 0.01


def test_7_a_swing_of_voltage_and_no_motion_asks_for_ohms_before_parts() -> None:
    """All driver levels right, the phase does not pull: the winding or its wire; no part is
    changed before readings have told. An open winding reads what lies around it, not OL."""
    drive = (
        ("volts U1.2 @hold", "0.15"),
        ("volts U1.2 @idle", "0.72"),
        ("volts Q2.b @hold", "1.4"),
    )
    session = case(boards.CHANNEL, DEAD, *RAILS, *drive)
    assert place_of(session, "ohms", "volts") < place_of(session, "swap", "parttest", "repair")
    ohms = more(session, ("ohms J2.1' : J2.2'", "12k"), ("ohms L1.1 : L1.2", "12k"))
    assert session.suspects()[0].suspect.id != "U1"
    assert max(shares(ohms), key=shares(ohms).__getitem__) == "L1"


def test_8_right_outputs_and_a_motor_that_grinds_is_turned_by_hand_first() -> None:
    right = (("symptom phase A pulls @idle", "right"), ("symptom phase A pulls @hold", "right"))
    session = case(boards.CHANNEL, *right)
    assert shares(session)["mechanism L1"] > 0.4
    assert place_of(session, "turn") < place_of(session, "swap", "parttest", "repair")
    stiff = more(session, ("turn L1", "grinds"))
    assert shares(stiff)["mechanism L1"] > 0.9
    assert suggest(stiff)[0].id in {"repair mechanism L1"} or suggest(stiff)[0].check is not None


def test_9_a_rail_is_good_only_under_load() -> None:
    before = case(boards.SUPPLY)
    idle = more(before, ("volts U1.out @bare", "5.02"))
    weak = fault_shares(idle)["U1 weak"] / fault_shares(before)["U1 weak"]
    dead = fault_shares(idle)["U1 dead"] / fault_shares(before)["U1 dead"]
    assert weak > 1.0  # unloaded, a weak regulator reads right
    assert dead < 0.05
    loaded = more(idle, ("volts U1.out @loaded", "2.0"))
    assert odds(idle, loaded, "U1 weak", "U1 low") > 5.0
    assert max(fault_shares(loaded), key=fault_shares(loaded).__getitem__) == "U1 weak"


def test_10_and_30_a_second_unit_is_risked_only_after_ohms_on_its_rails() -> None:
    session = case(boards.CHANNEL, DEAD)
    exchange = CHECKS.get("exchange")
    check = exchange.offers(session.world)[0]
    said = exchange.cautions(check, session.world)
    assert "ohms from every rail to ground" in said[0]
    assert "current limit" in said[1]
    assert exchange.risk(check, session.world) >= exchange.minutes(check, session.world)
    switched_off = session.within(Limits(without_kinds=frozenset({"volts", "level"})))
    assert place_of(switched_off, "ohms") < place_of(switched_off, "exchange")


def test_13_a_lifted_pin_tells_a_chip_from_its_net() -> None:
    line = (("volts U1.3 @up", "0.12"), ("volts U1.3 @released", "0.12"))
    before = case(boards.BUFFER, ("volts U1.14 @up", "5.0"), *line)
    floats = more(before, ("lifted U1.3", "floats"))
    held = more(before, ("lifted U1.3", "stays low"))
    assert odds(before, floats, "U1 3 stuck low", "U2 1 shorted to ground") > 5.0
    assert odds(before, held, "U1 3 stuck low", "U2 1 shorted to ground") < 0.2
    assert shares(held)["U2"] > shares(held)["U1"]
    assert shares(floats)["U1"] > 0.8


def test_14_an_output_that_is_off_shows_nothing_and_that_is_right() -> None:
    text = (
        boards.BUFFER.replace("R1 4k7 5% +5 BUS\n", "")
        .replace("U2 74LS04 1=BUS 2=OUT ; price 1 ; spare\n", "J1 connector 1=BUS\n")
        .replace("offsheet OUT load 74LS 1\n", "")
        .replace('output "line" level OUT', 'output "line" level BUS')
    )
    session = case(text)
    check = parse_check("level U1.3 @released", session.world)
    level = CHECKS.get("level")
    assert level.expected(check, session.world, session.meter) == "undefined"
    after = more(session, ("level U1.3 @released", "floating"))
    assert shares(after)["U1"] < 1.1 * shares(session)["U1"]


def test_15_chips_changed_without_effect_leave_the_sensor_outside() -> None:
    session = case(
        boards.SENSOR,
        ("symptom home @home", "wrong"),
        ("swap U4", "no change"),
        ("volts U4.3 @home", "2.5"),
    )
    outside = {name: p for name, p in shares(session).items() if "SL1" in name or "J3" in name}
    assert sum(outside.values()) > 0.5
    assert shares(session)["U4"] < 0.05


def test_17_works_while_touched_is_an_open_joint() -> None:
    before = case(boards.CHANNEL, DEAD, *RAILS)
    after = more(before, ("touch Q2", "works while touched"))
    loose = sum(p for name, p in shares(after).items() if name[:9] in ("joint Q2.", "track Q2."))
    assert loose > 5.0 * shares(after)["Q2"]
    assert odds(before, after, "Q2.b joint open", "Q2 b open") > 10.0


def test_18_contacts_are_reseated_before_an_evening_with_the_probe() -> None:
    """Among all that touches a chip in a socket, pulling and plugging back comes first."""
    levels = (("volts U1.1 @hold", "3.6"), ("volts U1.2 @hold", "0.8"), ("volts U1.14 @hold", "5"))
    session = case(boards.CHANNEL, DEAD, *RAILS, *levels)
    assert place_of(session, "reseat") < place_of(session, "swap", "parttest", "piggyback")
    assert shares(session)["contact U1.7"] > 0.1


def test_19_a_rail_is_measured_at_the_chips_own_pin() -> None:
    ids = {one.check.id for one in case(boards.CHANNEL).catalogue.offers(Limits()).offers}
    assert "volts U1.14 @hold" in ids
    before = case(boards.CHANNEL, DEAD, ("volts net +5 @hold", "5.0"))
    after = more(before, ("volts U1.14 @hold", "0.3"))
    assert odds(before, after, "U1.14 joint open", "U1 2 stuck low") > 5.0


def test_21_the_symptoms_own_net_ranks_first() -> None:
    """One phase of four does nothing: what is common to all ranks below that phase's own."""
    session = case(
        boards.LATCH,
        ("volts U1.16 @one", "5.0"),
        ("volts U1.1 @one", "4.95"),
        ("symptom A @one", "wrong"),
        *((f"symptom {name} @one", "right") for name in "BCD"),
    )  # fmt: skip
    first = session.suspects()[0]
    assert first.suspect.id in ("U1", "U2")
    pins = {pin.pin for fault, _ in first.faults[:3] for pin in fault.pins}
    assert pins <= {"1", "2", "4"}
    assert fault_shares(session)["C1 short"] < 0.01


def test_22_a_winding_that_measures_good_is_not_convicted() -> None:
    before = case(boards.CHANNEL, ("symptom phase A pulls @hold", "weak"))
    after = more(before, ("ohms L1.1 : L1.2", "56"))
    assert shares(after)["L1"] < 0.3 * shares(before)["L1"]


def test_23_ol_is_open_in_words() -> None:
    session = case(boards.LATCH)
    ohms = CHECKS.get("ohms")
    assert "open" in ohms.words["OL"]
    assert "opposite of a short" in ohms.help
    after = more(session, ("ohms C1.1 : C1.2", "OL"))
    assert odds(session, after, "C1 short", "C1 open") < 0.1


def test_24_a_part_with_a_program_is_not_swapped_for_its_type_number() -> None:
    text = boards.CHANNEL.replace("offsheet INA drive 74LS\n", "").replace(
        "R1 2k2",
        "U9 controller family=nmos out 1=INA supply 40=+5 ground 20=GND ; irreplaceable ; price 9\n"
        "R1 2k2",
    )
    session = case(text, DEAD)
    swaps = [one for one in session.catalogue.offers(Limits()).offers if one.check.kind == "swap"]
    assert swaps
    assert "U9" not in {one.check.places[0] for one in swaps}
    said = CHECKS.get("swap").cautions(swaps[0].check, session.world)
    assert any("program" in line for line in said)
    repair = next(one for one in session.world.suspects if one.id == "U9").repair
    assert "cannot be had again" in repair


def test_26_a_piggy_backed_chip_never_clears_a_hard_short() -> None:
    before = case(boards.CHANNEL)
    same = more(before, ("piggyback U1", "no change"))
    assert odds(before, same, "U1 2 open", "R1 open") < 0.6
    assert odds(before, same, "U1 2 stuck low", "R1 open") > 0.9
    cured = more(before, ("piggyback U1", "cured"))
    assert odds(before, cured, "U1 2 open", "U1 2 stuck low") > 5.0


def test_27_a_beep_is_a_resistance_below_the_limit() -> None:
    text = boards.CHANNEL.replace("winding 56", "winding 12")
    session = case(text)
    check = parse_check("continuity L1.1 : L1.2", session.world)
    beep = CHECKS.get("continuity")
    assert beep.expected(check, session.world, session.meter) == "beeps"
    after = more(session, (check.id, "beeps"))
    assert fault_shares(after)["J2 1-2 bridged"] < 2.5 * fault_shares(session)["J2 1-2 bridged"]
    assert "not a wire" in beep.help


def test_31_the_work_itself_is_a_suspect() -> None:
    before = case(boards.CHANNEL, DEAD)
    after = more(before, ("worked R1", "recapped"))
    assert odds(before, after, "R1.2 joint open", "R2.2 joint open") > 5.0
    untouched = more(before, ("worked R1", "original"))
    assert odds(before, untouched, "R1.2 joint open", "R2.2 joint open") < 1.0


@pytest.mark.parametrize("text", ["somewhere under a volt", "a bit under 1 V", "below one volt"])
def test_a_vague_reading_is_a_span(text: str) -> None:
    session = case(boards.CHANNEL)
    check = parse_check("volts U1.2 @idle", session.world)
    reading = CHECKS.get("volts").read(check, text, session.world)
    assert (reading.low, reading.high) == (None, 1.0)
    after = session.enter(check, reading)
    good, bad = fault_shares(after)["R2 open"], fault_shares(after)["U1 2 stuck low"]
    start = fault_shares(session)
    assert good / bad == pytest.approx(start["R2 open"] / start["U1 2 stuck low"], rel=0.1)


def test_heat_and_smell_raise_and_do_not_settle() -> None:
    before = case(boards.CHANNEL, STUCK_ON)
    after = more(before, ("heat Q2", "hot"))
    assert odds(before, after, "Q2 c short to e", "Q1 c short to e") > 4.0
    assert odds(before, after, "Q2 c short to e", "Q1 c short to e") < 20.0


def test_warmth_points_at_leaks_and_joints() -> None:
    before = case(boards.CHANNEL, STUCK_ON)
    after = more(before, ("warm Q2", "only when warm"))
    assert odds(before, after, "Q2 c leaky to e", "Q2 c short to e") > 3.0
