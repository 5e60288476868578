"""Trajectories against scipy's ODE solver and the closed forms of vibration textbooks."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.motion.truth import Row, rows

from halfsplit.motion.drive import Drive, ring
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.walk import Columns, Grid, Walk, walk


def held(unit: Mechanism, seconds: float, start: float, steps: int = 40) -> Walk:
    """Phase 0 on at rated current, let go at ``start``."""
    grid = Grid.make(unit, [seconds / steps] * steps)
    currents = np.zeros((grid.span.size, unit.phases, 1))
    currents[:, 0] = unit.rated
    return walk(unit, grid, currents, start=start)


def test_small_swings_have_the_natural_period() -> None:
    """Period 8.886 ms for p = 50, 0.1 N m, 1e-5 kg m2 (the table's 112.54 Hz)."""
    unit = Mechanism(friction=0.0)
    done = held(unit, 0.2, 0.02)
    up = np.flatnonzero((done.position[:-1, 0] < 0.0) & (done.position[1:, 0] >= 0.0))
    period = (done.grid.time[up[-1]] - done.grid.time[up[0]]) / (up.size - 1)
    assert period == pytest.approx(8.886e-3, rel=5e-3)
    assert np.abs(done.position).max() < 0.0202  # nothing comes in from nowhere


@pytest.mark.parametrize("row", rows("overshoot"))
def test_overshoot_of_a_damped_swing(row: Row) -> None:
    given, share = row
    unit = damped(given["zeta"])
    done = held(unit, 0.05, 0.02)
    assert -done.position.min() / 0.02 == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize("row", rows("settle 5 %"))
def test_settling_of_a_damped_swing(row: Row) -> None:
    """The envelope is down to 5 % at 3 / (zeta wn): no swing above it later, some before."""
    given, seconds = row
    done = held(damped(given["zeta"]), 0.2, 0.02, steps=80)
    late = done.grid.time > seconds
    assert np.abs(done.position[late]).max() < 0.05 * 0.02
    assert np.abs(done.position[done.grid.time > 0.7 * seconds]).max() > 0.05 * 0.02


def damped(zeta: float) -> Mechanism:
    unit = Mechanism(friction=0.0)
    return Mechanism(friction=0.0, viscous=2.0 * zeta * math.sqrt(unit.stiffness() * unit.inertia))


def test_dry_friction_takes_the_same_from_each_swing_and_then_holds() -> None:
    """Each half swing is 2 T_c / k smaller; it stops within T_c / k (any textbook of vibration)."""
    unit = Mechanism(friction=2e-5)
    per_half = 2.0 * unit.friction / unit.stiffness() / unit.step_angle
    start = 10.3 * per_half
    done = held(unit, 0.2, start, steps=80)
    turns = done.position[1:-1, 0]
    tops = turns[
        (np.abs(turns) >= np.abs(done.position[:-2, 0]))
        & (np.abs(turns) > np.abs(done.position[2:, 0]))
    ]
    expected = start - per_half * np.arange(1, 8)
    np.testing.assert_allclose(np.abs(tops[:7]), expected, atol=0.06 * per_half)
    assert done.speed[-1, 0] == 0.0
    assert abs(done.position[-1, 0]) < 0.5 * per_half


def reference(
    unit: Mechanism, amps: Callable[[float], Array], seconds: float, time: Array
) -> Array:
    """Positions in steps by scipy, T = -h sum (i/I) sin(phi - psi) - detent - viscous - load."""

    def slope(t: float, state: Array) -> list[float]:
        phi = unit.teeth * state[0]
        torque = -unit.holding * float(np.sum(amps(t) / unit.rated * np.sin(phi - unit.angles)))
        torque -= unit.detent * math.sin(unit.cycle * phi)
        torque -= unit.viscous * state[1] + unit.load
        return [state[1], torque / unit.inertia]

    done = solve_ivp(slope, (0.0, seconds), [0.0, 0.0], t_eval=time, rtol=1e-9, atol=1e-12,
                     max_step=1e-3)  # fmt: skip
    found: Array = done.y[0] / unit.step_angle
    return found


@pytest.mark.parametrize("rate", [60.0, 200.0])
def test_trajectory_against_scipy(rate: float) -> None:
    unit = Mechanism(friction=0.0, viscous=1.5e-3, detent=0.008, load=0.01)
    states = ring(unit, unit.rated)
    count = 12
    grid = Grid.make(unit, [1.0 / rate] * count)
    step_of = np.repeat(np.arange(count), np.diff(grid.ends, prepend=-1))
    done = walk(unit, grid, states[step_of % 4][:, :, None])
    expected = reference(
        unit, lambda t: states[min(int(t * rate + 1e-9), count - 1) % 4], count / rate,
        np.minimum(grid.time, count / rate - 1e-12),
    )  # fmt: skip
    assert expected[-1] > 8.0
    np.testing.assert_allclose(done.position[:, 0], expected, atol=0.02)


def test_induced_currents_against_scipy() -> None:
    """Winding and motion together: L di/dt = V - R i - e, e = T_k w / i_k, on one step of 12 V."""
    unit, drive = Mechanism(friction=0.0, rated=0.4), Drive(ohms=30.0, henries=30e-3)
    grid = Grid.make(unit, [1e-3] * 60)
    settled = np.zeros((60, 4, 1))
    settled[:, 1] = 0.4
    currents = drive.currents(grid, settled)
    currents[:, 1, 0] = 0.4 * (1.0 - np.exp(-grid.middles / drive.tau))
    done = walk(unit, grid, currents, winding=(30.0, 30e-3))
    constant = unit.holding / unit.rated

    def slope(t: float, state: Array) -> list[float]:
        angle, speed, amps = state
        along = -math.sin(unit.teeth * angle - 0.5 * math.pi)
        volts = 12.0 - 30.0 * amps - constant * along * speed
        return [speed, constant * along * amps / unit.inertia, volts / 30e-3]

    other = solve_ivp(slope, (0.0, 0.06), [0.0, 0.0, 0.0], t_eval=grid.time[:-1], rtol=1e-9,
                      atol=1e-12)  # fmt: skip
    expected = other.y[0] / unit.step_angle
    np.testing.assert_allclose(done.position[:-1, 0], expected, atol=0.02)
    stiff = walk(unit, grid, currents)
    late = slice(-100, None)
    assert np.ptp(done.position[late]) < 0.75 * np.ptp(stiff.position[late])  # it does damp


def test_induced_currents_of_bare_iron_against_scipy() -> None:
    """The same for variable reluctance: flux L(angle) i, T = i^2 L'/2, e = i L' w."""
    unit = Mechanism(family="variable-reluctance", phases=3, steps_per_turn=24, friction=0.0,
                     viscous=1e-4, rated=1.0)  # fmt: skip
    grid = Grid.make(unit, [2e-3] * 40)
    currents = np.zeros((grid.span.size, 3, 1))
    currents[:, 0] = 1.0
    done = walk(unit, grid, currents, start=0.3, winding=(10.0, 50e-3))

    def slope(t: float, state: Array) -> list[float]:
        angle, speed, amps = state
        steep = -2.0 * unit.holding * math.sin(unit.teeth * angle)  # L' at 1 A rated
        torque = 0.5 * amps**2 * steep - unit.viscous * speed
        return [speed, torque / unit.inertia, (10.0 - 10.0 * amps - amps * steep * speed) / 50e-3]

    other = solve_ivp(slope, (0.0, 0.08), [0.3 * unit.step_angle, 0.0, 1.0],
                      t_eval=grid.time[:-1], rtol=1e-9, atol=1e-12)  # fmt: skip
    expected = other.y[0] / unit.step_angle
    np.testing.assert_allclose(done.position[:-1, 0], expected, atol=0.02)


def test_columns_go_their_own_ways_and_stops_stop() -> None:
    unit = Mechanism(stops=(-0.5, 2.2), rebound=0.3)
    grid = Grid.make(unit, [0.02] * 8)
    step_of = np.repeat(np.arange(8), np.diff(grid.ends, prepend=-1))
    currents = np.repeat(ring(unit, 0.4)[np.minimum(step_of, 5) % 4][:, :, None], 2, axis=2)
    done = walk(unit, grid, currents, columns=Columns(friction=np.array([1.0, 12.0])))
    assert done.position.max() <= 2.2
    assert done.position[:, 0].max() == pytest.approx(2.2)  # it was driven against the stop
    np.testing.assert_array_equal(done.position[:, 1], 0.0)  # friction above the holding torque


@pytest.mark.parametrize("row", rows("decay"))
def test_clamped_decay(row: Row) -> None:
    given, seconds = row
    drive = Drive(ohms=given["R"], henries=given["L"], clamp=given["Vc"])
    grid = Grid.make(Mechanism(), [1e-3] * 5)
    settled = np.zeros((5, 1, 1))
    settled[0] = given["I"]
    found = drive.currents(grid, settled)[:, 0, 0]
    after = grid.middles - 1e-3
    assert (found[(after > 0.0) & (after < seconds)] > 0.0).all()
    np.testing.assert_array_equal(found[after > seconds], 0.0)


def test_rise_limit_and_fastest_rate() -> None:
    [(given, amps)] = rows("rise")
    drive = Drive(ohms=given["R"], henries=given["L"])
    grid = Grid.make(Mechanism(), [1e-9, 2.0 * given["t"]])
    found = drive.currents(grid, np.array([0.0, given["V"] / given["R"]])[:, None, None])
    assert np.interp(given["t"], grid.middles, found[:, 0, 0]) == pytest.approx(amps, rel=2e-3)
    limited = Drive(ohms=given["R"], henries=given["L"], limit=0.1)
    assert limited.currents(grid, np.full((2, 1, 1), 0.4)).max() == 0.1
    [(given, rate)] = rows("fastest")
    assert Drive(ohms=30.0, henries=given["L"]).fastest(given["V"], given["I"]) == rate
