"""Repetitions and tones, of made sounds with known rates and of predicted motions."""

import numpy as np
import pytest
from scipy.signal import periodogram

from halfsplit.errors import WaveError
from halfsplit.motion.drive import Drive, ring
from halfsplit.motion.judge import Errand
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.sound import alike, hear, predict
from halfsplit.motion.walk import Grid, walk

RATE = 22050.0


def clicks(hertz: float, ring_hertz: float = 900.0, noise: float = 0.1) -> Array:
    """Half a second of clicks that ring, with noise."""
    time = np.arange(int(0.5 * RATE)) / RATE
    since = time % (1.0 / hertz)
    sound = np.exp(-since * 400.0) * np.sin(2.0 * np.pi * ring_hertz * since)
    return sound + noise * np.random.default_rng(3).normal(size=time.size)


@pytest.mark.parametrize("hertz", [30.0, 85.0, 333.0])
def test_clicks_repeat_at_their_rate(hertz: float) -> None:
    assert hear(clicks(hertz), 1.0 / RATE).repeats == pytest.approx(hertz, rel=0.01)


def test_the_tone_is_the_strongest_line_of_scipys_periodogram() -> None:
    time = np.arange(int(RATE)) / RATE
    sound = np.sin(2.0 * np.pi * 217.3 * time) + 0.5 * np.sin(2.0 * np.pi * 61.0 * time)
    lines, power = periodogram(sound, RATE)
    found = hear(sound, 1.0 / RATE).tone
    assert found == pytest.approx(lines[power.argmax()], abs=1.0)
    assert found == pytest.approx(217.3, abs=0.05)


def test_noise_repeats_nothing_and_silence_is_refused() -> None:
    noise = np.random.default_rng(1).normal(size=int(RATE))
    assert np.isnan(hear(noise, 1.0 / RATE).repeats)
    with pytest.raises(WaveError, match="silence"):
        hear(np.zeros(int(RATE)), 1.0 / RATE)
    with pytest.raises(WaveError, match="or more"):
        hear(noise[:100], 1.0 / RATE)


def test_a_healthy_motor_is_heard_at_its_step_rate_and_a_stuck_phase_at_a_quarter() -> None:
    """A pattern of four states that are not alike comes again every fourth step."""
    unit, drive = Mechanism(friction=0.02), Drive(ohms=30.0, henries=30e-3, clamp=24.0)
    errand = Errand.make(40, 4, 100.0)
    grid = Grid.make(unit, errand.seconds.tolist())
    healthy = ring(unit, 0.4)
    stuck = healthy.copy()
    stuck[:, 0] = 0.4
    both = np.stack([healthy, stuck], axis=-1)[errand.path]
    done = walk(unit, grid, drive.currents(grid, both), winding=(30.0, 30e-3))
    good, bad = predict(done, 0.25, 0.45)
    assert good.repeats == pytest.approx(100.0, rel=0.02)
    assert bad.repeats == pytest.approx(25.0, rel=0.02)


def test_likeness_of_rates() -> None:
    assert alike(100.0, 100.0) == 1.0
    assert alike(100.0, 105.0) > 0.6
    assert alike(100.0, 50.0) == pytest.approx(0.05)  # never nothing
    assert alike(float("nan"), 50.0) == 0.5
