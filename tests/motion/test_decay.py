"""How a positioner decays; common practice, no source, but for what the motion shows of it."""

import numpy as np
import pytest

from halfsplit.motion.decay import STAGES, still_to_come
from halfsplit.motion.drive import Drive, ring
from halfsplit.motion.judge import BUZZES, RUNS, Errand, judge
from halfsplit.motion.mechanism import Mechanism
from halfsplit.motion.sound import predict
from halfsplit.motion.walk import Grid, walk

UNIT = Mechanism(friction=0.02, viscous=1e-3, detent=0.005)
DRIVE = Drive(ohms=30.0, henries=30e-3, clamp=24.0)


def test_the_order_of_decay() -> None:
    """First odd buzzing, then read errors, write errors, corrupted data, and at last a format that
    does not finish (common practice, no source)."""
    assert STAGES[0] == "odd buzzing"
    assert [STAGES.index(word) for word in ("read errors", "write errors")] == [1, 2]
    assert still_to_come("write errors") == ("corrupted data", "a format that does not finish")
    assert still_to_come(STAGES[-1]) == ()
    with pytest.raises(ValueError, match="tuple"):
        still_to_come("smoke")


def test_a_phase_that_weakens_is_heard_before_it_misplaces() -> None:
    """One phase from its full current to none: its sound repeats with the cycle of four steps, no
    more with each step, while it still lands within half a step; only then it stays behind."""
    left = np.linspace(1.0, 0.0, 21)
    errand = Errand.make(24, 4, 60.0)
    grid = Grid.make(UNIT, errand.seconds.tolist())
    states = np.repeat(ring(UNIT, 0.4)[errand.path][:, :, None], len(left), axis=2)
    states[:, 1, :] *= left
    done = walk(UNIT, grid, DRIVE.currents(grid, states), winding=(30.0, 30e-3))
    word = judge(errand, done).word
    times = np.cumsum(errand.seconds)
    heard = predict(done, float(times[0]), float(times[errand.far - 1]))
    healthy = heard[0].repeats
    odd = next(k for k, one in enumerate(heard) if one.repeats < 0.6 * healthy)
    wrong = next((k for k, each in enumerate(word.tolist()) if each != RUNS), len(left))
    assert healthy == pytest.approx(60.0, rel=0.05)
    assert heard[odd].repeats == pytest.approx(15.0, rel=0.05)
    assert 0 < odd < wrong
    assert word[odd] == RUNS


def test_a_phase_driven_at_the_wrong_time_does_not_step_and_buzzes() -> None:
    """More than one coil at the wrong time: it does not step properly and buzzes (common practice,
    no source). The opposite coil is on whenever its own is."""
    states = ring(UNIT, 0.4)
    states = np.maximum(states, np.roll(states, 2, axis=1))
    errand = Errand.make(24, 4, 60.0)
    grid = Grid.make(UNIT, errand.seconds.tolist())
    done = walk(UNIT, grid, DRIVE.currents(grid, states[errand.path][:, :, None]),
                winding=(30.0, 30e-3))  # fmt: skip
    assert judge(errand, done).word[0] != RUNS
    stuck = ring(UNIT, 0.4)
    stuck[:, 0] = 0.4
    done = walk(UNIT, grid, DRIVE.currents(grid, stuck[errand.path][:, :, None]),
                winding=(30.0, 30e-3))  # fmt: skip
    assert judge(errand, done).word[0] == BUZZES
