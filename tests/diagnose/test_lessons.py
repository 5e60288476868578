"""Situations from the bench, each on a tiny world, where a wrong conclusion must not be drawn.

Common practice, told by repairers; no published source.
"""

from math import isclose

import pytest
from tests.diagnose.fakes import check, kind, shares, start, word, world

from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.explain import explain
from halfsplit.diagnose.verdict import verdict


def test_a_base_holding_an_open_collector_at_0v7_is_not_stuck_low() -> None:
    """Lesson 1: with a base on the net, 0.7 V is the off state."""
    board = world({"U3 stuck low": 3.0, "U3 stuck off": 2.0, "Q1 b-e open": 1.0})
    off, on = check("volts", "U3.6", "drive-off"), check("volts", "U3.6", "drive-on")
    levels = ("0.2 V", "0.7 V", "5 V")
    volts = kind(
        "volts",
        {
            off: (levels, ["0.7 V", "0.2 V", "0.7 V", "5 V"]),
            on: (levels, ["0.2 V", "0.2 V", "0.7 V", "0.2 V"]),
        },
    )
    session = start(board, volts)
    before = shares(session)
    after = shares(session.enter(off, word("0.7 V")))
    assert before["U3 stuck low"] > before["U3 stuck off"]
    assert after["U3 stuck low"] < 0.05
    assert max(after, key=lambda name: after[name]) == "U3 stuck off"
    done = verdict(session.enter(off, word("0.7 V")).enter(on, word("0.7 V")))
    assert done.kind == "repair"
    assert done.order[0].suspect.id == "U3 stuck off"


def test_a_reading_in_place_comes_before_desoldering() -> None:
    """Lesson 2: drive the input both ways before taking the chip out."""
    board = world({"U3 dead": 1.0, "Q1 short": 1.0, "R4 open": 1.0})
    volts_on = check("volts", "U3.6", "drive-on")
    out = check("part test", "U3")
    volts = kind("volts", {volts_on: (("0.2 V", "0.7 V"), ["0.2 V", "0.7 V", "0.2 V", "0.2 V"])})
    part_test = kind(
        "part test",
        {out: (("passed", "failed"), ["passed", "failed", "passed", "passed"])},
        bench="part out",
        cost=3.0,
        risks=5.0,
        floor=0.0,
    )
    found = suggest(start(board, part_test, volts))
    assert [one.id for one in found] == [volts_on.id, out.id]
    assert found[1].gain > found[0].gain
    assert found[1].setup_minutes > found[0].setup_minutes


def test_a_bump_on_the_lid_raises_but_does_not_settle() -> None:
    """Lesson 11."""
    board = world({"U1 short": 1.0, "U2 short": 1.0, "C5 short": 1.0, "C6 short": 1.0})
    lid, rail = check("look", "U1"), check("ohms", "C5")
    look = kind("look", {lid: (("bump", "nothing"), ["nothing"] * 5)}, bench="off")
    p = look.tables[lid][1]
    p[:, 0], p[:, 1] = [0.02, 0.3, 0.02, 0.02, 0.02], [0.98, 0.7, 0.98, 0.98, 0.98]
    labels = ("0 Ω", "1 kΩ")
    ohms = kind("ohms", {rail: (labels, ["1 kΩ", "1 kΩ", "1 kΩ", "0 Ω", "0 Ω"])}, bench="off")
    seen = start(board, look, ohms).enter(lid, word("bump"))
    assert shares(seen)["U1 short"] > 0.5
    assert verdict(seen).kind == "measure"
    assert suggest(seen)[0].id == rail.id
    then = seen.enter(rail, word("0 Ω"))
    assert shares(then)["U1 short"] < 0.25


def test_one_of_two_suspects_replaced_without_change_does_not_convict_the_other() -> None:
    """Lesson 20: something else is always kept."""
    board = world({"U1 dead": 10.0, "U2 dead": 10.0, "U9 dead": 1.0}, something_else=0.08)
    swapped = check("swap", "U1")
    words = ("cured", "no change")
    swap = kind("swap", {swapped: (words, ["no change", "cured", "no change", "no change"])})
    p = swap.tables[swapped][1]
    session = start(board, swap)
    after = session.enter(swapped, word("no change"))
    found = shares(after)
    assert found["U1 dead"] < 0.05
    assert found["something-else"] > 0.08
    assert found["U2 dead"] < 0.9
    judged = verdict(after)
    assert judged.kind == "nothing left"
    assert "something else" in judged.sentence
    assert p.sum(axis=1) == pytest.approx(1.0)


def test_ol_is_told_as_open_not_as_short() -> None:
    """Lesson 23: OL is the opposite of a short, and the answer's words say so."""
    board = world({"C1 short": 5.0, "C1 open": 2.0, "R1 open": 1.0})
    across = check("ohms", "C1.1 : C1.2")
    ohms = kind(
        "ohms",
        {across: (("0 Ω", "1 kΩ", "OL"), ["1 kΩ", "0 Ω", "1 kΩ", "OL"])},
        bench="off",
        means={"OL": "no path: open, the opposite of a short"},
    )
    session = start(board, ohms)
    asked = suggest(session)[0]
    assert "opposite of a short" in asked.words["OL"]
    told = next(one for one in asked.meanings if one.startswith("OL"))
    assert "R1 open" in told
    assert "C1 short" not in told
    after = shares(session.enter(across, word("OL")))
    assert after["C1 short"] < 0.15
    assert after["R1 open"] > 0.5


def test_a_cure_by_swap_leaves_the_reseated_contact_under_suspicion() -> None:
    """Lesson 25: the old part works elsewhere; it was the socket."""
    board = world({"U5 dead": 2.0, "contact U5.3": 2.0, "U6 dead": 6.0})
    swapped, tested = check("swap", "U5"), check("part test", "U5")
    words, results = ("cured", "no change"), ("passed", "failed")
    swap = kind("swap", {swapped: (words, ["no change", "cured", "cured", "no change"])})
    test = kind(
        "part test", {tested: (results, ["passed", "failed", "passed", "passed"])}, bench="part out"
    )
    cured = start(board, swap, test).enter(swapped, word("cured"))
    found = shares(cured)
    assert found["contact U5.3"] > 0.4
    judged = verdict(cured)
    assert judged.kind == "measure"
    assert suggest(cured)[0].id == tested.id
    blind = start(board, swap).enter(swapped, word("cured"))
    assert verdict(blind).kind == "repair"
    assert verdict(blind).ties
    after = shares(cured.enter(tested, word("passed")))
    assert after["contact U5.3"] > 0.9


def test_a_piggy_backed_chip_clears_opens_and_never_shorts() -> None:
    """Lesson 26: each check has its own sensitivity for each way of failing."""
    board = world(
        {"U7 output open": 2.0, "U7 output short": 1.0, "U8 output open": 1.0},
        suspects={"U7 output open": "U7", "U7 output short": "U7", "U8 output open": "U8"},
    )
    on_u7 = check("piggy-back", "U7")
    words = ("cured", "no change")
    piggy = kind("piggy-back", {on_u7: (words, ["no change", "cured", "no change", "no change"])})
    session = start(board, piggy).enter(on_u7, word("no change"))
    u7 = next(one for one in session.suspects() if one.suspect.id == "U7")
    faults = {fault.id: p for fault, p in u7.faults}
    assert faults["U7 output open"] < 0.05
    assert faults["U7 output short"] > 0.4
    assert u7.probability > 0.4


def test_a_beep_through_a_winding_is_no_bridge() -> None:
    """Lesson 27: windings and low resistors beep too."""
    board = world({"bridge PHA-PHB": 1.0, "L1 open": 1.0, "U4 dead": 1.0})
    beeped = check("continuity", "J1.1 : J1.2")
    words = ("beeps", "silent")
    beep = kind("continuity", {beeped: (words, ["beeps", "beeps", "silent", "beeps"])}, bench="off")
    before = start(board, beep)
    after = before.enter(beeped, word("beeps"))
    was, now = shares(before), shares(after)
    ratio = now["bridge PHA-PHB"] / now["U4 dead"]
    assert isclose(ratio, was["bridge PHA-PHB"] / was["U4 dead"], rel_tol=1e-9)
    assert now["bridge PHA-PHB"] < 0.55
    lowered = next(one for one in explain(after) if one.suspect == "L1 open")
    assert [weight.number for weight in lowered.lowered] == [1]


def test_passed_power_off_checks_lower_by_their_coverage_and_live_ones_follow() -> None:
    """Lesson 29: a passed check lowers a suspect by that check's own coverage."""
    board = world({"U1 leaky": 1.0, "U2 stuck": 1.0, "R1 open": 1.0}, something_else=0.0)
    off, live = check("ohms", "R1"), check("volts", "U2.3", "run")
    ohms = kind("ohms", {off: (("as good", "other"), ["as good"] * 3 + ["other"])}, bench="off")
    p = ohms.tables[off][1]
    p[:, 0], p[:, 1] = [0.98, 0.68, 0.98, 0.03], [0.02, 0.32, 0.02, 0.97]
    volts = kind("volts", {live: (("low", "high"), ["low", "low", "high", "low"])})
    session = start(board, ohms, volts).enter(off, word("as good"))
    found = shares(session)
    assert found["U1 leaky"] / found["U2 stuck"] == pytest.approx(0.68 / 0.98)
    assert found["R1 open"] / found["U2 stuck"] == pytest.approx(0.03 / 0.98)
    judged = verdict(session)
    assert judged.kind == "measure"
    assert suggest(session)[0].id == live.id
