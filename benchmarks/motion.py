"""350 faults through 200 motor steps, beside scipy's solver on the first of them.

    python benchmarks/motion.py [--faults 350] [--steps 200] [--scipy 2] [--rounds 5]

All faults have currents of their own: the phases of the healthy drive with factors drawn at random,
some phases dead and some stuck. scipy (``solve_ivp``, RK45 at its usual tolerances) takes the same
motor and currents, one fault after another. Dry friction, which makes scipy creep, is told apart:
both go once without. Seconds are of the wall clock, of the best round; the seconds of the
processor beside them, and their share of the clock, say how busy the machine was: nothing here
waits for anything but a processor.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
from scipy.integrate import solve_ivp

from halfsplit.motion.drive import Drive, ring
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.walk import Grid, Walk, walk

RATE = 400.0
UNIT = Mechanism(friction=0.015, viscous=1e-3)
DRIVE = Drive(ohms=30.0, henries=30e-3, clamp=24.0)
SMOOTH = 2.0
"""Radians a second over which scipy's friction turns round; a sharper turn takes it for ever."""


def main() -> None:
    arguments = argparse.ArgumentParser(description="Motion under many faults, beside scipy.")
    arguments.add_argument("--faults", type=int, default=350)
    arguments.add_argument("--steps", type=int, default=200)
    arguments.add_argument("--scipy", type=int, default=2, help="faults that scipy walks too")
    arguments.add_argument("--rounds", type=int, default=5)
    asked = arguments.parse_args()
    grid = Grid.make(UNIT, [1.0 / RATE] * asked.steps)
    currents = drawn(grid, asked.steps, asked.faults)
    print(f"{asked.faults} faults x {asked.steps} steps at {RATE:g} a second, "
          f"{grid.span.size} intervals")  # fmt: skip
    cases = {
        "currents as given": lambda: walk(UNIT, grid, currents),
        "with induced currents": lambda: walk(UNIT, grid, currents, winding=(30.0, 30e-3)),
        "with induced currents, two threads": lambda: halves(grid, currents),
    }
    each = 0.0
    for name, run in cases.items():
        taken, busy = best(run, asked.rounds)
        each = each or taken / asked.faults
        print(f"  {name}: {taken:.3f} s, {busy:.3f} s of processors ({busy / taken:.0%} of one)")
    for title, unit in (("no dry friction", replace(UNIT, friction=0.0)), ("dry friction", UNIT)):
        done = walk(unit, grid, currents)
        for fault in range(asked.scipy):
            clock = time.perf_counter()
            other = reference(unit, grid, currents[:, :, fault])
            taken = time.perf_counter() - clock
            apart = np.abs(done.position[:, fault] - other)
            print(f"  scipy, {title}, fault {fault}: {taken:.2f} s, {taken / each:.0f} times as "
                  f"long; apart by {np.median(apart):.3f} steps in the middle, "
                  f"{apart.max():.3f} at most")  # fmt: skip


def drawn(grid: Grid, steps: int, faults: int) -> Array:
    """[K, P, B]; the first fault is the healthy drive."""
    random = np.random.default_rng(7)
    share = random.uniform(0.6, 1.2, (4, faults))
    share[:, ::5] *= random.random((4, len(share[0, ::5]))) > 0.3
    share[:, 0] = 1.0
    stuck = np.where(random.random((4, faults)) > 0.97, 0.4, 0.0)
    stuck[:, 0] = 0.0
    states = ring(UNIT, 0.4)[np.arange(steps) % 4]
    return DRIVE.currents(grid, np.maximum(states[:, :, None] * share, stuck))


def halves(grid: Grid, currents: Array) -> list[Walk]:
    """Two threads, half of the faults each."""
    parts = [np.ascontiguousarray(part) for part in np.array_split(currents, 2, axis=2)]
    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(lambda part: walk(UNIT, grid, part, winding=(30.0, 30e-3)), parts))


def best(run: Callable[[], object], rounds: int) -> tuple[float, float]:
    """Seconds of the best round: of the clock, and of the processors in it."""
    found = (math.inf, math.inf)
    for _ in range(rounds):
        clock, processor = time.perf_counter(), time.process_time()
        run()
        found = min(found, (time.perf_counter() - clock, time.process_time() - processor))
    return found


def reference(unit: Mechanism, grid: Grid, amps: Array) -> Array:
    """Positions [K] by scipy under ``amps`` [K, P], straight between the middles of intervals."""
    middles, angles = grid.middles, unit.angles

    def slope(t: float, state: Array) -> list[float]:
        now = [float(np.interp(t, middles, amps[:, p])) for p in range(unit.phases)]
        phi = unit.teeth * state[0]
        torque = (
            -unit.holding
            / unit.rated
            * sum(i * math.sin(phi - psi) for i, psi in zip(now, angles.tolist(), strict=True))
        )
        torque -= unit.viscous * state[1] + unit.friction * math.tanh(state[1] / SMOOTH)
        return [state[1], torque / unit.inertia]

    done = solve_ivp(slope, (0.0, float(grid.time[-1])), [0.0, 0.0], t_eval=grid.time, rtol=1e-5)
    found: Array = done.y[0] / unit.step_angle
    return found


if __name__ == "__main__":
    main()
