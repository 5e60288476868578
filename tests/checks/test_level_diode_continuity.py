"""Logic level, diode test, continuity: chances by hand and by scipy."""

import math

import pytest
from scipy import stats
from tests.build.worlds import number, world
from tests.checks.fake import BRIDGE, HEALTHY, JOINT, U3, FakeWorld

from halfsplit.checks import continuity, diode, level
from halfsplit.checks._numeric import MISFIT
from halfsplit.checks._vague import FLOOR
from halfsplit.checks.kind import Check, CheckKind, Meter
from halfsplit.errors import ReadingError
from halfsplit.solve.law import Array

WORLD = FakeWorld()
METER = Meter()
LOOSE = METER.misread + MISFIT


def likelihood(kind: CheckKind, check: Check, text: str, world: FakeWorld = WORLD) -> Array:
    return kind.likelihood(check, kind.read(check, text, world), world, METER)


def test_level_by_thresholds() -> None:
    """0.70 V with 30 mV and the probe's 150 mV against VIL 0.8 V, VIH 2.0 V (74 family limits,
    as the world says)."""
    check = Check(kind="level", places=("U3.6",), state="hold-A")
    low = stats.norm.cdf((0.8 - 0.70) / math.hypot(0.03, 0.15))
    got = likelihood(level.KIND, check, "low")
    assert got[HEALTHY] == pytest.approx((1 - FLOOR) * low + FLOOR / 3, abs=3e-4)
    assert likelihood(level.KIND, check, "high")[JOINT] == pytest.approx(
        (1 - FLOOR) + FLOOR / 3, abs=1e-4
    )


def test_lesson_1_a_probe_cannot_tell_a_held_base_from_a_driven_one() -> None:
    """0.7 V (right) and 0.15 V (stuck) are both low: little is learned."""
    check = Check(kind="level", places=("U3.6",), state="hold-A")
    low = likelihood(level.KIND, check, "low")
    assert low[U3] / low[HEALTHY] < 1.5
    assert level.KIND.expected(check, WORLD, METER) == "low"


def test_lesson_14_floating_shows_as_undefined() -> None:
    """But for a probe of high resistance, which finds it where its leaks have it: low here."""
    world = FakeWorld(floating=True)
    check = Check(kind="level", places=("U3.6",), state="idle")
    for text in ("floating", "nothing", "undefined"):
        assert likelihood(level.KIND, check, text, world)[HEALTHY] == pytest.approx(
            (1 - FLOOR) * (1.0 - level.STAYS) * 0.9 + FLOOR / 3, abs=0.01
        )
    low = likelihood(level.KIND, check, "low", world)[HEALTHY]
    assert low == pytest.approx(level.STAYS + 0.05 * (1.0 - level.STAYS), abs=0.02)
    assert level.KIND.expected(check, world, METER) == "undefined"


def test_pulses_are_no_level() -> None:
    check = Check(kind="level", places=("U3.6",), state="idle")
    assert level.KIND.read(check, "pulsing", WORLD).nothing


def test_diode_short_open_and_good() -> None:
    check = Check(kind="diode", places=("U3.6", "net GND"))
    assert (
        likelihood(diode.KIND, check, "0.64")[HEALTHY]
        > 100 * (likelihood(diode.KIND, check, "0.64")[U3])
    )
    assert (
        likelihood(diode.KIND, check, "0.05")[U3]
        > 100 * (likelihood(diode.KIND, check, "0.05")[HEALTHY])
    )
    assert likelihood(diode.KIND, check, "OL")[JOINT] == pytest.approx(1.0 - LOOSE + LOOSE * 0.2)
    own = 0.01 + 0.005 * 0.65
    sigma = math.sqrt(0.02**2 + own**2 + 0.03**2)
    low, high = 0.65 - 2 * sigma, 0.65 + 2 * sigma
    assert diode.KIND.expected(check, WORLD, METER) == f"{low:.2f} to {high:.2f} V"
    other_way = Check(kind="diode", places=("net GND", "U3.6"))
    assert diode.KIND.expected(other_way, WORLD, METER) == "OL (open)"


def test_diode_in_millivolts() -> None:
    check = Check(kind="diode", places=("U3.6", "net GND"))
    assert diode.KIND.read(check, "640m", WORLD).value == pytest.approx(0.64)
    with pytest.raises(ReadingError, match="640m"):
        diode.KIND.read(check, "640", WORLD)


def test_diode_offers_both_ways_for_chips_and_junctions() -> None:
    pairs = {check.places for check in diode.KIND.offers(WORLD)}
    for one, two in (("TP1", "net GND"), ("Q3.b", "Q3.e"), ("Q3.b", "Q3.c"), ("D1.a", "D1.k")):
        assert {(one, two), (two, one)} <= pairs


def test_continuity_is_a_resistance_below_the_limit() -> None:
    """Field lesson 27: a winding of 80 Ω against a limit of 50 Ω, known to 0.4 of the log."""
    winding = Check(kind="continuity", places=("L1.1", "L1.2"))
    spread = math.hypot(80 / 81 * math.hypot(0.05, 0.01), 0.3 / 81)
    z = (math.log1p(50) - math.log1p(80)) / math.hypot(spread, 0.4)
    expected = (1 - FLOOR) * stats.norm.cdf(z) + FLOOR / 2
    assert likelihood(continuity.KIND, winding, "beeps")[HEALTHY] == pytest.approx(
        expected, abs=3e-4
    )
    assert expected > 0.1  # it may well beep


def test_continuity_across_a_joint_and_a_bridge() -> None:
    joint = Check(kind="continuity", places=("Q3.b", "Q3.b/pad"))
    silent = likelihood(continuity.KIND, joint, "silent")
    assert silent[JOINT] == pytest.approx((1 - FLOOR) + FLOOR / 2, abs=1e-4)
    assert silent[HEALTHY] == pytest.approx(FLOOR / 2, abs=1e-4)
    bridge = Check(kind="continuity", places=("U3.5", "U3.6"))
    assert likelihood(continuity.KIND, bridge, "beep")[BRIDGE] > 0.95
    assert continuity.KIND.expected(bridge, WORLD, METER) == "silent"
    offered = {check.places for check in continuity.KIND.offers(WORLD)}
    assert {("Q3.b", "Q3.b/pad"), ("Q3.b", "TP1"), ("U3.5", "U3.6")} <= offered


def test_continuity_by_way_of_the_tail_of_a_socket() -> None:
    """Leg to tail is the contact, tail to pad the joint."""
    board = world("rail +5 5V\nU1 74LS04 1=A 2=Y ; socketed\nR1 10k Y GND\noffsheet A drive 74LS\n"
                  "state low A=low\n")  # fmt: skip
    offered = {check.places for check in continuity.KIND.offers(board)}
    assert {("U1.1", "U1.1/tail"), ("U1.1/tail", "U1.1/pad"), ("U1.1", "U1.1/pad")} <= offered
    assert len({frozenset(pair) for pair in offered}) == len(offered), "either way is one check"
    for places, silent in (
        (("U1.1", "U1.1/tail"), "U1.1 contact open"), (("U1.1/tail", "U1.1/pad"), "U1.1 joint open")
    ):  # fmt: skip
        check = Check(kind="continuity", places=places)
        reading = continuity.KIND.read(check, "silent", board)
        told = continuity.KIND.likelihood(check, reading, board, METER)
        for fault in ("U1.1 contact open", "U1.1 joint open"):
            assert (told[number(board, fault)] > 0.9) == (fault == silent), (places, fault)
