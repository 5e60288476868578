"""Stiffness, natural frequency, equilibria with phases missing or stuck, and refusals."""

import math

import numpy as np
import pytest
from tests.motion.truth import Row, rows

from halfsplit.errors import MotionError
from halfsplit.motion import estimate
from halfsplit.motion.drive import ring
from halfsplit.motion.mechanism import Mechanism


@pytest.mark.parametrize("row", rows("natural frequency"))
def test_natural_frequency(row: Row) -> None:
    given, hertz = row
    teeth = 50.0
    unit = Mechanism(holding=given["T"] / given["angle"] / teeth, inertia=given["J"])
    assert unit.teeth == teeth
    assert unit.hertz() == pytest.approx(hertz, rel=1e-4)
    # and back: the inertia that such a ring tells
    found = estimate.inertia_from_ring(unit.holding, teeth, hertz)
    assert found == pytest.approx(given["J"], rel=2e-4)


def test_sag_under_load() -> None:
    [(given, radians)] = rows("sag")
    unit = Mechanism(holding=0.1)
    assert unit.teeth == given["teeth"]
    assert unit.sag(given["share"] * 0.1) * unit.step_angle == pytest.approx(radians, rel=1e-5)
    with pytest.raises(MotionError, match="more than"):
        unit.sag(0.1)


@pytest.mark.parametrize(
    ("family", "phases", "bipolar", "cycle"),
    [
        # D. W. Jones, Stepping Motor Physics: 3 S for three-winding variable reluctance, 4 S for
        # two windings of a permanent magnet motor or hybrid (four halves)
        ("variable-reluctance", 3, False, 3),
        ("hybrid", 4, False, 4),
        ("permanent-magnet", 2, True, 4),
        # five phases: 5 S of one-way current (Jones' table); ten states when it goes both ways
        # (common practice, no source)
        ("variable-reluctance", 5, False, 5),
        ("hybrid", 5, True, 10),
    ],
)
def test_each_full_step_pulls_one_step_on(
    family: str, phases: int, bipolar: bool, cycle: int
) -> None:
    unit = Mechanism(family=family, phases=phases, bipolar=bipolar)  # type: ignore[arg-type]
    assert unit.cycle == cycle
    where, pull = unit.pull(ring(unit, unit.rated).T)
    np.testing.assert_allclose((where - np.arange(cycle) + 1.0) % cycle, 1.0)
    np.testing.assert_allclose(pull, 1.0)


FOUR = {  # 1100, 0110, 0011, 1001: GS-D200 datasheet page 8, odd states of the master sequence
    "AB": (1, 1, 0, 0), "BC": (0, 1, 1, 0), "CD": (0, 0, 1, 1), "DA": (1, 0, 0, 1),
}  # fmt: skip


def test_two_phases_on_pull_harder_and_half_a_step_on() -> None:
    """Factor sqrt 2: Jones; Acarnley chapter 2 (from memory)."""
    unit = Mechanism(rated=1.0)
    where, pull = unit.pull(np.array(list(FOUR.values()), float).T)
    np.testing.assert_allclose(where, [0.5, 1.5, 2.5, 3.5])
    np.testing.assert_allclose(pull, math.sqrt(2.0))


def test_equilibria_with_a_dead_and_with_a_stuck_phase() -> None:
    """On paper from T = -T_H sin: A dead gives B, BC, CD, D at 1, 1.5, 2.5, 3; A stuck on gives
    AB, ABC = B, ACD = D, DA at 0.5, 1, 3, 3.5 (opposite halves cancel)."""
    unit = Mechanism(rated=1.0)
    states = np.array(list(FOUR.values()), float).T
    dead, stuck = states.copy(), states.copy()
    dead[0], stuck[0] = 0.0, 1.0
    np.testing.assert_allclose(unit.pull(dead)[0], [1.0, 1.5, 2.5, 3.0])
    np.testing.assert_allclose(unit.pull(stuck)[0], [0.5, 1.0, 3.0, 3.5])
    np.testing.assert_allclose(unit.pull(stuck)[1][1:3], 1.0)


def test_iron_pulls_by_the_square_of_the_current() -> None:
    """Acarnley chapter 2, from memory: variable reluctance, T ~ i^2; which way i goes is one."""
    unit = Mechanism(family="variable-reluctance", phases=3, rated=1.0)
    assert unit.pull(np.array([0.5, 0.0, 0.0]))[1] == pytest.approx(0.25)
    with pytest.raises(MotionError, match="which way"):
        Mechanism(family="variable-reluctance", phases=3, bipolar=True)


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("phases", 6, "3 to 5 phases"),
        ("holding", 0.0, "holding above 0"),
        ("friction", -1.0, "friction of 0 or more"),
        ("stops", (3.0, 1.0), "lower stop first"),
        ("family", "servo", "hybrid"),
        ("inertia", math.nan, "inertia above 0"),
    ],
)
def test_what_cannot_be_is_refused(field: str, value: object, message: str) -> None:
    with pytest.raises(MotionError, match=message):
        Mechanism(**{field: value})  # type: ignore[arg-type]


def test_estimates_on_paper() -> None:
    """100 g at 10 mm is 9.80665 mN m. 0.2 kg on a band of 20 mm a turn: m (travel / 2 pi)^2 =
    2.0264e-6 kg m2; 1 N there is 3.1831 mN m. A swing of half the one before: decrement ln 2."""
    assert estimate.torque_of_weight(0.1, 0.01) == pytest.approx(9.80665e-3)
    assert estimate.inertia_of_carriage(0.2, 0.02) == pytest.approx(2.0264e-6, rel=1e-4)
    assert estimate.torque_of_force(1.0, 0.02) == pytest.approx(3.1831e-3, rel=1e-4)
    assert estimate.inertia_of_rotor(0.1, 0.01) == pytest.approx(5e-6)
    assert estimate.viscous_from_ring(1e-5, 100.0, 0.5) == pytest.approx(1.3863e-3, rel=1e-4)
    assert estimate.henries_from_tau(1e-3, 30.0) == pytest.approx(0.03)
    with pytest.raises(MotionError, match="between 0 and 1"):
        estimate.viscous_from_ring(1e-5, 100.0, 1.5)
