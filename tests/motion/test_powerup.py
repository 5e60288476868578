"""At power-up a healthy unit runs from track zero to the far end and back and then reports ready;
it has no feedback but the sensor and counts steps blindly (common practice, no source)."""

import numpy as np
import pytest

from halfsplit.errors import MotionError
from halfsplit.motion.drive import Drive, ring
from halfsplit.motion.mechanism import Mechanism
from halfsplit.motion.powerup import power_up

UNIT = Mechanism(friction=0.02, stops=(-2.0, 26.0))
DRIVE = Drive(ohms=30.0, henries=30e-3, clamp=24.0)


def test_healthy_is_ready_and_a_lost_sensor_or_phase_is_not() -> None:
    """Columns: healthy, sensor not reported, phase A stuck on, no current."""
    states = np.repeat(ring(UNIT, 0.4)[:, :, None], 4, axis=2)
    states[:, 0, 2] = 0.4
    states[:, :, 3] = 0.0
    found = power_up(
        UNIT, DRIVE, states, start=np.full(4, 12.0), sensed=np.array([True, False, True, True]),
        count=20, rate=80.0,
    )  # fmt: skip
    assert found.found.tolist() == [True, False, False, False]
    assert found.ready.tolist() == [True, False, False, False]
    assert found.reached[0] == pytest.approx(20.0, abs=1.0)
    assert 50 < found.steps < 60  # 12 to home, 20 there, 20 back


def test_it_does_not_know_that_it_lost_steps_on_the_way() -> None:
    """An end stop before the far end: it counts on, and comes home early against the other stop;
    the sensor agrees, so it reports ready all the same."""
    short = Mechanism(friction=0.02, stops=(-2.0, 12.0))
    found = power_up(short, DRIVE, ring(short, 0.4)[:, :, None], start=np.array([4.0]),
                     sensed=np.array([True]), count=20, rate=80.0)  # fmt: skip
    assert found.ready.tolist() == [True]
    assert found.reached[0] < 12.5


def test_nothing_to_count_is_refused() -> None:
    with pytest.raises(MotionError, match="above 0"):
        power_up(UNIT, DRIVE, ring(UNIT, 0.4)[:, :, None], start=np.zeros(1),
                 sensed=np.ones(1, dtype=bool), count=0, rate=80.0)  # fmt: skip
