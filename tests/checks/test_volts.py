"""DC volts: likelihoods worked by hand, tables against scipy, offers and words."""

import numpy as np
import pytest
from scipy import stats
from tests.checks.fake import HEALTHY, JOINT, U3, F, FakeWorld

from halfsplit.checks._grid import volts_grid
from halfsplit.checks._numeric import ADRIFT, ADRIFT_SHARE, FLOATING, TAIL_SHARE, TAIL_WIDTH
from halfsplit.checks._vague import ANYTHING, FLOOR
from halfsplit.checks.kind import Check, Meter, Reading
from halfsplit.checks.volts import KIND
from halfsplit.errors import PlaceError, ReadingError, UnknownName
from halfsplit.solve.law import Array

WORLD = FakeWorld()
METER = Meter()
DRA = Check(kind="volts", places=("U3.6",), state="hold-A")


def likelihood(text: str, check: Check = DRA, world: FakeWorld = WORLD) -> Array:
    return KIND.likelihood(check, KIND.read(check, text, world), world, METER)


def test_likelihood_of_a_value_by_hand() -> None:
    """0.70 predicted with 30 mV spread; the meter adds 10 mV + 0.5 %, the typed 0.68 its own
    10 mV / sqrt(12). The density is the mixture of the module's docstring."""
    own = 0.01 + 0.005 * 0.70
    sigma = np.sqrt(0.03**2 + own**2 + 0.01**2 / 12)
    near = stats.norm(0.70, sigma).pdf(0.68)
    far = stats.norm(0.70, TAIL_WIDTH * sigma).pdf(0.68)
    bins = len(volts_grid(WORLD).labels)
    background = 1 / bins / 0.1  # the bin from 0.6 to 0.7 V
    good = 0.99 * ((1 - TAIL_SHARE) * near + TAIL_SHARE * far) + 0.01 * background
    got = likelihood("0.68")
    assert got.shape == (F + 1,)
    assert got[HEALTHY] == pytest.approx(good, rel=1e-9)
    assert got[F] == pytest.approx((1 - ANYTHING) * good + ANYTHING * background, rel=1e-9)
    # 5 V predicted with the joint open: 4.3 V away, only the floor for misreads is left.
    assert likelihood("0.68", Check(kind="volts", places=("U3.6",), state="hold-A"))[
        JOINT
    ] == pytest.approx(0.01 * background, rel=1e-6)


def test_lesson_1_base_voltage_is_the_right_reading() -> None:
    """0.7 V on the base is the good reading here and 0.15 V the bad one (field lesson 1)."""
    right, stuck = likelihood("0.70"), likelihood("0.15")
    assert right[HEALTHY] > 50 * right[U3]
    assert stuck[U3] > 50 * stuck[HEALTHY]
    assert KIND.expected(DRA, WORLD, METER) == "0.63 to 0.77 V"


def test_leg_and_net_part_company_at_an_open_joint() -> None:
    """Field lesson 17: the leg of Q3's base is dead, its net is at 5 V."""
    base = Check(kind="volts", places=("Q3.b",), state="hold-A")
    assert likelihood("0.0", base)[JOINT] > 20 * likelihood("0.0", base)[HEALTHY]
    assert likelihood("5.0")[JOINT] > 20 * likelihood("5.0")[HEALTHY]


def test_vague_answer_is_a_probability() -> None:
    sigma = np.hypot(0.03, 0.0135)
    z = (0.72 - 0.70) / sigma
    core = (1 - TAIL_SHARE) * stats.norm.cdf(z) + TAIL_SHARE * stats.norm.cdf(z / TAIL_WIDTH)
    grid = volts_grid(WORLD)
    below = sum(edge < 0.7 - 1e-9 for edge in grid.edges) + 0.2  # whole bins, a fifth of the next
    expected = 0.99 * core + 0.01 * below / len(grid.labels)
    assert likelihood("under 0.72")[HEALTHY] == pytest.approx(expected, rel=1e-9)
    both = likelihood("under 0.72") + likelihood("over 0.72")
    np.testing.assert_allclose(both, 1.0, rtol=1e-9)


@pytest.mark.parametrize("text", ["?", "flickers", "could not reach"])
def test_nothing_moves_nothing(text: str) -> None:
    np.testing.assert_array_equal(likelihood(text), np.ones(F + 1))


@pytest.mark.parametrize("text", ["0.7", "99", "-3", "under -5", "over 90", "40-41"])
@pytest.mark.parametrize("marks", [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
def test_likelihood_is_never_nothing_at_all(text: str, marks: tuple[int, int, int]) -> None:
    world = FakeWorld(*map(bool, marks))
    got = likelihood(text, DRA, world)
    assert np.isfinite(got).all()
    assert (got > 0).all()


def test_two_values_share_half_and_half() -> None:
    world = FakeWorld(two=True)
    at_first, at_second = likelihood("0.700", DRA, world), likelihood("2.700", DRA, world)
    single = likelihood("0.700")
    background = 1 / len(volts_grid(WORLD).labels)
    assert at_first[HEALTHY] == pytest.approx(
        0.5 * (single[HEALTHY] + 0.01 * background / 0.1), rel=1e-3
    )
    narrower = np.hypot(0.03, METER.volts_error(0.7)) / np.hypot(0.03, METER.volts_error(2.7))
    assert at_second[HEALTHY] == pytest.approx(narrower * at_first[HEALTHY], rel=0.05)
    assert KIND.expected(DRA, world, METER) == "0.63 to 0.77 V or 2.63 to 2.77 V"


def test_floating_and_unresolved() -> None:
    floating, lost = FakeWorld(floating=True), FakeWorld(unresolved=True)
    background = 1 / len(volts_grid(WORLD).labels) / 0.25
    # scipy: not held, the reading may be anything about the prediction, and now and then else
    mean = WORLD.volts(DRA.state, DRA.places).mean[HEALTHY, 0]
    sigma = np.hypot(np.hypot(0.03, 0.01 + 0.005 * mean), ADRIFT + ADRIFT_SHARE * mean)
    for typed in ("4.100", "1.000", "0.200"):
        near = stats.norm.pdf(float(typed), mean, sigma)
        far = stats.norm.pdf(float(typed), mean, TAIL_WIDTH * sigma)
        core = (1 - TAIL_SHARE) * near + TAIL_SHARE * far
        found = likelihood(typed, DRA, floating)[HEALTHY]
        back = (
            background if typed == "4.100" else volts_grid(WORLD).background_density(float(typed))
        )
        expected = (1 - FLOATING) * core + FLOATING * back
        assert found == pytest.approx(expected, rel=1e-2)
    np.testing.assert_allclose(likelihood("4.1", DRA, lost), background)
    assert "floating" in KIND.expected(DRA, floating, METER)
    assert "unresolved" in KIND.expected(DRA, lost, METER)


def test_outcomes_against_scipy() -> None:
    """Each bin holds the normal's mass between its borders, and 2 % is spread evenly."""
    checks = [DRA, Check(kind="volts", places=("Q3.c",), state="idle")]
    tables = KIND.outcomes(checks, WORLD, METER)
    for check, table in zip(checks, tables, strict=True):
        assert table.p.shape == (F, len(table.labels))
        np.testing.assert_allclose(table.p.sum(axis=1), 1.0, atol=1e-6)
        mean = WORLD.volts(check.state, check.places).mean[:, 0]
        sigma = np.hypot(0.03, 0.01 + 0.005 * mean)
        borders = np.array(table.edges)
        mass = np.diff(stats.norm.cdf((borders - mean[:, None]) / sigma[:, None]), axis=1)
        expected = (1 - FLOOR) * mass + FLOOR / len(table.labels)
        np.testing.assert_allclose(table.p, expected, atol=5e-4)
    assert tables[0].labels is tables[1].labels


def test_outcomes_agree_with_likelihood_over_each_bin() -> None:
    table = KIND.outcomes([DRA], WORLD, METER)[0]
    for o in range(1, len(table.labels) - 1):
        low, high = table.edges[o], table.edges[o + 1]
        got = KIND.likelihood(DRA, Reading(text="", low=low, high=high), WORLD, METER)
        np.testing.assert_allclose(got[:F], table.p[:, o], atol=0.04)


@pytest.mark.parametrize("marks", [(1, 0, 0), (0, 1, 0), (0, 0, 1)])
def test_rows_sum_to_one_whatever_the_marks(marks: tuple[int, int, int]) -> None:
    world = FakeWorld(*map(bool, marks))
    for table in KIND.outcomes(KIND.offers(world), world, METER):
        np.testing.assert_allclose(table.p.sum(axis=1), 1.0, atol=1e-6)
        assert (table.p > 0).all()


def test_tables_come_in_the_order_of_the_checks() -> None:
    checks = list(KIND.offers(WORLD))[::-1]
    together = KIND.outcomes(checks, WORLD, METER)
    for check, table in zip(checks, together, strict=True):
        np.testing.assert_allclose(table.p, KIND.outcomes([check], WORLD, METER)[0].p)
    assert KIND.outcomes([], WORLD, METER) == []


def test_offers_every_leg_but_those_of_parts_between_rails() -> None:
    offers = KIND.offers(WORLD)
    at = {check.places[0] for check in offers}
    assert {"U3.6", "R7.2", "Q3.b", "TP1", "L1.2", "D1.a", "U3.14", "U3.7", "U9.1"} <= at
    assert {"R7.1", "L1.1", "Q3.e"} <= at, "an open joint to a rail shows at the leg itself"
    assert not {"C1.n", "U3.6/pad"} & at
    assert {check.state for check in offers} == {"hold-A", "idle"}
    ids = [check.id for check in offers]
    assert len(ids) == len(set(ids))
    first_of_net = {WORLD.place(check.places[0]).net for check in offers[:10]}
    assert {"DRA", "COIL", "INA"} <= first_of_net


def test_a_rail_may_be_read_where_it_comes_in() -> None:
    """Its joints and fuse lie beyond: only there is a dead supply told from them."""
    entry = next(check for check in KIND.offers(WORLD) if check.places == ("net +5",))
    assert "the point where +5 comes in" in KIND.sentence(entry, WORLD)
    assert ("net DRA",) not in {check.places for check in KIND.offers(WORLD)}


def test_words_for_a_person() -> None:
    assert KIND.sentence(DRA, WORLD) == (
        "Measure DC volts at U3 pin 6 (net DRA), black probe on ground, with the board in state "
        "hold-A."
    )
    assert KIND.setup(DRA, WORLD) == "powered"
    assert KIND.setup(Check(kind="volts", places=("U3.6",), state="unplugged"), WORLD) == "off"
    assert any("slip" in caution for caution in KIND.cautions(DRA, WORLD))
    risky = KIND.risk(Check(kind="volts", places=("U9.1",), state="idle"), WORLD)
    assert risky == pytest.approx(0.002 * 600)
    assert KIND.risk(DRA, WORLD) < risky


def test_mistakes_are_named() -> None:
    with pytest.raises(ReadingError, match="millivolts"):
        KIND.read(DRA, "680", WORLD)
    with pytest.raises(PlaceError):
        likelihood("1", Check(kind="volts", places=("U3.66",), state="idle"))
    with pytest.raises(UnknownName):
        likelihood("1", Check(kind="volts", places=("U3.6",), state="hold"))
