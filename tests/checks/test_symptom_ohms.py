"""What outputs do, and ohms: rows by hand from the stated formulas, offers and words."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from tests.checks.fake import HEALTHY, JOINT, Q3, R7, U3, F, FakeWorld

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.checks import ohms, symptom
from halfsplit.checks._grid import OHMS_LIMIT, ohms_grid
from halfsplit.checks._numeric import MISFIT, TAIL_SHARE, TAIL_WIDTH
from halfsplit.checks._vague import ANYTHING, FLOOR
from halfsplit.checks.kind import Check, Meter
from halfsplit.errors import ReadingError, UnknownName
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve.law import Array

SUPPLY = """\
board "a rail and its load"
rail RAW 9.5V 15% ohms=0.4
U1 7805 in=RAW gnd=GND out=+5
D1 1N4002 a=+5 k=RAW
R9 12 5% +5 GND watts=5
output "+5 present" volts +5 above 4.75
state loaded
"""
WORLD = FakeWorld()
METER = Meter()
LOOSE = METER.misread + MISFIT
COIL = Check(kind="symptom", places=("coil A",), state="hold-A")
DRIVE = Check(kind="symptom", places=("drive A",), state="idle")
ACROSS_R7 = Check(kind="ohms", places=("R7.1", "R7.2"))


def seen(text: str, check: Check = COIL, world: FakeWorld = WORLD) -> Array:
    return symptom.KIND.likelihood(check, symptom.KIND.read(check, text, world), world, METER)


def measured(text: str, check: Check = ACROSS_R7) -> Array:
    return ohms.KIND.likelihood(check, ohms.KIND.read(check, text, WORLD), WORLD, METER)


def test_symptom_rows_by_hand() -> None:
    """0.3 A against a threshold of 0.15 A: on beyond doubt, so a person says on in 96 of 100."""
    on = (1 - FLOOR) * 0.96 + FLOOR / 3
    off = (1 - FLOOR) * 0.01 + FLOOR / 3
    assert seen("on")[HEALTHY] == pytest.approx(on, abs=1e-3)
    assert seen("off")[HEALTHY] == pytest.approx(off, abs=1e-3)
    assert seen("off")[R7] == pytest.approx(on, abs=2e-2)  # 0 A, 2.5 spreads below a third
    assert seen("on")[F] == pytest.approx((1 - ANYTHING) * on + ANYTHING / 3, abs=1e-3)


def test_right_and_wrong_are_against_the_healthy_board() -> None:
    np.testing.assert_allclose(seen("right"), seen("on"))
    np.testing.assert_allclose(seen("wrong"), 1.0 - seen("on"))
    assert symptom.KIND.expected(COIL, WORLD, METER) == "on"
    assert symptom.KIND.expected(DRIVE, WORLD, METER) == "low"


def test_level_output_uses_the_thresholds_of_its_net() -> None:
    high = Check(kind="symptom", places=("drive A",), state="hold-A")
    assert seen("high", high)[JOINT] > 10 * seen("high", high)[HEALTHY]  # 5 V against 0.7 V
    assert seen("low", high)[HEALTHY] > 0.9
    assert seen("undefined", DRIVE)[HEALTHY] < 0.1


@pytest.mark.parametrize(
    ("text", "word"), [("It is dead.", "off"), ("OK", "right"), ("dim", "weak")]
)
def test_symptom_understands_what_people_say(text: str, word: str) -> None:
    assert symptom.KIND.read(COIL, text, WORLD).word == word


def test_symptom_tables() -> None:
    offers = symptom.KIND.offers(WORLD)
    assert len(offers) == 4  # two outputs in two powered states
    for check, table in zip(offers, symptom.KIND.outcomes(offers, WORLD, METER), strict=True):
        np.testing.assert_allclose(table.p.sum(axis=1), 1.0, atol=1e-9)
        for o, label in enumerate(table.labels):
            np.testing.assert_allclose(seen(label, check)[:F], table.p[:, o])
    assert symptom.KIND.sentence(COIL, WORLD) == (
        "With the board in state hold-A, watch coil A: is it on, weak or off?"
    )


def test_symptom_mistakes_and_nothing() -> None:
    np.testing.assert_array_equal(seen("dunno"), np.ones(F + 1))
    with pytest.raises(ReadingError, match="on, "):
        seen("onn")
    with pytest.raises(UnknownName, match="coil A"):
        symptom.KIND.sentence(Check(kind="symptom", places=("coil B",), state="idle"), WORLD)
    for marks in ((True, False, False), (False, False, True)):
        assert (seen("on", COIL, FakeWorld(*marks)) > 0).all()


def test_ohms_likelihood_by_hand() -> None:
    """1000 Ω with 5 % spread, meter 1 % + 0.3 Ω, read as 1050: on the axis log(1 + R)."""
    sigma = math.hypot(1000 / 1001 * math.hypot(0.05, 0.01), 0.3 / 1001)
    sigma = math.hypot(sigma, math.log(1051.5 / 1050.5) / math.sqrt(12))  # read to 1 Ω
    x, mean = math.log1p(1050.0), math.log1p(1000.0)
    near = stats.norm(mean, sigma).pdf(x)
    far = stats.norm(mean, TAIL_WIDTH * sigma).pdf(x)
    share = 0.8 / (len(ohms_grid().labels) - 1)
    background = share / (math.log1p(1500) - math.log1p(1000))
    good = (1 - LOOSE) * ((1 - TAIL_SHARE) * near + TAIL_SHARE * far) + LOOSE * background
    assert measured("1050")[HEALTHY] == pytest.approx(good, rel=1e-6)
    assert measured("1050")[R7] == pytest.approx(LOOSE * background, rel=1e-6)


def test_ol_means_open_not_short() -> None:
    """Field lesson 23."""
    for text in ("OL", "open", "inf", "25M"):
        got = measured(text)
        assert got[R7] == pytest.approx(1.0 - LOOSE + LOOSE * 0.2, abs=1e-6)
        assert got[HEALTHY] == pytest.approx(LOOSE * 0.2, abs=1e-6)
    short = measured("0.4", Check(kind="ohms", places=("Q3.c", "net GND")))
    assert short[Q3] > 1000 * short[U3]
    assert ohms.KIND.expected(ACROSS_R7, WORLD, METER) == "0.90 to 1.11 kΩ"


def test_ohms_tables_against_scipy() -> None:
    offers = ohms.KIND.offers(WORLD)
    for check, table in zip(offers, ohms.KIND.outcomes(offers, WORLD, METER), strict=True):
        red, black = check.places
        mean = WORLD.ohms([(red, black)]).mean[:, 0]
        known = np.where(np.isfinite(mean), mean, 1e12)
        sigma = np.hypot(known / (1 + known) * np.hypot(0.05, 0.01), 0.3 / (1 + known))
        borders = np.log1p(np.array([*table.edges[1:-1]]))
        below = stats.norm.cdf((borders - np.log1p(mean)[:, None]) / sigma[:, None])
        below = np.hstack([np.zeros((F, 1)), below, np.ones((F, 1))])
        loose = np.where(mean < ohms.METAL, FLOOR, LOOSE)[:, None]  # metal is metal
        expected = (1 - loose) * np.diff(below, axis=1) + loose * np.array(ohms_grid().background)
        np.testing.assert_allclose(table.p, expected, atol=5e-4)
        assert table.labels[-1] == "OL"
        assert table.edges[-2] == OHMS_LIMIT


def test_ohms_offers_nets_to_ground_and_across_parts() -> None:
    pairs = {check.places for check in ohms.KIND.offers(WORLD)}
    assert {("TP1", "net GND"), ("R7.1", "R7.2"), ("L1.1", "L1.2"), ("D1.a", "D1.k")} <= pairs
    to_ground = [red for red, black in pairs if black == "net GND"]
    assert len(to_ground) == len({WORLD.place(red).net for red in to_ground}) == 8


def test_ohms_words() -> None:
    assert ohms.KIND.sentence(ACROSS_R7, WORLD) == (
        "Power off, supply unplugged: measure ohms from R7 pin 1 (net +5), red probe, to R7 pin 2 "
        "(net DRA), black probe."
    )
    assert any("C1" in caution for caution in ohms.KIND.cautions(ACROSS_R7, WORLD))
    with pytest.raises(ReadingError, match="charged"):
        ohms.KIND.read(ACROSS_R7, "-20", WORLD)


@given(st.text(max_size=30))
def test_whatever_is_typed_is_read_or_refused(text: str) -> None:
    for kind, check in ((symptom.KIND, COIL), (ohms.KIND, ACROSS_R7)):
        try:
            reading = kind.read(check, text, WORLD)
        except ReadingError:
            continue
        got = kind.likelihood(check, reading, WORLD, METER)
        assert np.isfinite(got).all()
        assert (got > 0).all()


def test_a_good_board_does_what_is_asked_of_it_whatever_tolerances_allow() -> None:
    """A 7805 may be 4 % low and still good; 4.75 V is asked of this one, so a good board gives it,
    and so does one whose fault does not touch the supply. It says so in 96 of 100."""
    board = read_board(SUPPLY, PartsVocabulary())
    found = compile_board(board)
    check = Check(kind="symptom", places=("+5 present",), state="loaded")
    row = symptom.KIND.likelihood(check, symptom.KIND.read(check, "weak", found), found, METER)
    named = {fault.id: p for fault, p in zip(found.faults, row.tolist(), strict=False)}
    missaid = (1.0 - FLOOR) * 0.03 + FLOOR / 3.0
    assert row[0] == pytest.approx(missaid)
    assert named["D1 open"] == pytest.approx(missaid)
    assert named["U1 low, slightly"] > 10.0 * missaid
