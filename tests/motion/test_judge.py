"""Words for motions: what healthy and faulty drives do, and at which rates they stop."""

import numpy as np
import pytest

from halfsplit.motion.drive import Drive, ring, there_and_back
from halfsplit.motion.judge import BUZZES, DEAD, ONE_WAY, RUNS, Errand, judge, ladder
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.walk import Columns, Grid, walk

UNIT = Mechanism(friction=0.02)
DRIVE = Drive(ohms=30.0, henries=30e-3, clamp=24.0)


def word(states: Array, rate: float = 80.0, columns: Columns | None = None) -> int:
    errand = Errand.make(12, len(states), rate)
    grid = Grid.make(UNIT, errand.seconds.tolist())
    currents = DRIVE.currents(grid, states[errand.path][:, :, None])
    done = walk(UNIT, grid, currents, columns=columns, winding=(30.0, 30e-3))
    return int(judge(errand, done).word[0])


def test_healthy_runs_dead_is_dead_and_a_stuck_phase_buzzes() -> None:
    """Coils driven more than one at the wrong time: it does not step properly and buzzes (common
    practice, no source). One phase missing: cannot start or only vibrates, or goes some steps
    forward and some back (help page of a motor vendor)."""
    states = ring(UNIT, 0.4)
    stuck, missing = states.copy(), states.copy()
    stuck[:, 0], missing[:, 1] = 0.4, 0.0
    assert word(states) == RUNS
    assert word(np.zeros_like(states)) == DEAD
    assert word(stuck) == BUZZES
    assert word(missing) not in (RUNS, DEAD)


def test_swapped_wires_rock_or_run_backwards() -> None:
    """B and C swapped: back and forth; A and B swapped at both ends of the ring: backwards, so that
    "there" comes out the wrong way (a mailing list of practitioners)."""
    states = ring(UNIT, 0.4)
    assert word(states[:, [0, 2, 1, 3]], 30.0) != RUNS
    backwards = Errand.make(12, 4, 30.0)
    grid = Grid.make(UNIT, backwards.seconds.tolist())
    currents = DRIVE.currents(grid, states[:, [0, 3, 2, 1]][backwards.path][:, :, None])
    found = judge(backwards, walk(UNIT, grid, currents))
    assert found.up[0] == pytest.approx(-12.0, abs=0.2)


def test_a_heavy_load_goes_one_way_only() -> None:
    """Friction and load together are more than it holds: it cannot lift, each cycle that goes by
    lets it down by one, and down it goes when asked to."""
    heavy = Mechanism(friction=0.05, load=0.06)
    errand = Errand.make(12, 4, 60.0)
    grid = Grid.make(heavy, errand.seconds.tolist())
    currents = DRIVE.currents(grid, ring(heavy, 0.4)[errand.path][:, :, None])
    found = judge(errand, walk(heavy, grid, currents, winding=(30.0, 30e-3)))
    assert found.word[0] == ONE_WAY
    assert found.up[0] < -4.0
    assert found.down[0] > 10.0


def test_rates_stop_below_what_the_current_allows() -> None:
    """V / (2 L I) is 500 steps a second for 12 V, 30 mH, 0.4 A (a distributor's calculator): an
    upper bound, which load lowers. A limit and four times the volts carry it further."""
    rates = np.array([80.0, 160.0, 320.0, 640.0])
    plain = ladder(UNIT, DRIVE, 0.4, rates, count=12)
    assert plain[0]
    assert not plain[rates > 500.0].any()
    loaded = ladder(UNIT, DRIVE, 0.4, rates, count=12, columns=Columns(friction=3.5))
    assert loaded.sum() < plain.sum()
    driven = ladder(
        UNIT, Drive(ohms=30.0, henries=30e-3, clamp=48.0, limit=0.4), 1.6, rates, count=12
    )
    assert driven.sum() >= plain.sum()


def test_half_steps_count_as_halves() -> None:
    """The eight-state sequence of the GS-D200 datasheet, page 8: a step is half a full one."""
    codes = ["1000", "1100", "0100", "0110", "0010", "0011", "0001", "1001"]
    states = 0.4 * np.array([[float(bit) for bit in code] for code in codes])
    errand = Errand.make(24, 8, 120.0)
    grid = Grid.make(UNIT, errand.seconds.tolist())
    currents = DRIVE.currents(grid, states[errand.path][:, :, None])
    done = walk(UNIT, grid, currents, winding=(30.0, 30e-3))
    assert done.landings[errand.far, 0] == pytest.approx(12.0, abs=0.2)
    assert judge(errand, done, size=0.5).word[0] == RUNS


def test_the_path_there_and_back() -> None:
    path, far, home = there_and_back(3, 4)
    assert list(path) == [0, 1, 2, 3, 3, 2, 1, 0, 0]
    assert (path[far], path[home]) == (3, 0)
