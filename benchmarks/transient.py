"""Faults through 60 ms of the example drive, beside ngspice, and how far the coil currents are off.

    python benchmarks/transient.py [--faults 300] [--ngspice 2] [--rounds 3] [--schedule TEXT]

The same laws, the same schedule. The error is against the same engine with steps of 10 us at most
and a hundredth of the tolerance, as a share of the largest current; ngspice says apart from that
how far both are from it (with stray farads that it needs, see tests/solve/transient_spice.py).
Seconds are of the wall clock, of the best round; processor seconds beside them say how busy the
machine was.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
import time
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from unittest import mock

import numpy as np
from tests.solve.transient_spice import decks, play

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.build.transient import Waveforms, run
from halfsplit.build.transient_schedule import Schedule, read_schedule
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve.engine import engine_name
from halfsplit.solve.law import Array
from halfsplit.solve.transient_compiled import Stepper

COILS = ("L1", "L2", "L3", "L4")
SCHEDULE = "rest 5ms, hold-A/hold-B/hold-C/hold-D x20 400Hz, rest 5ms"


def main() -> None:
    arguments = argparse.ArgumentParser(description="Faults over time, beside ngspice.")
    arguments.add_argument("--faults", type=int, default=300)
    arguments.add_argument("--ngspice", type=int, default=2, help="faults that ngspice plays too")
    arguments.add_argument("--rounds", type=int, default=3)
    arguments.add_argument("--schedule", default=SCHEDULE)
    asked = arguments.parse_args()
    text = (files("halfsplit") / "examples" / "plotter-drive.board").read_text(encoding="utf-8")
    world = compile_board(read_board(text, PartsVocabulary()))
    schedule = read_schedule(asked.schedule)
    faults = different(world, asked.faults)
    best, busy, done = float("inf"), 0.0, None
    for _ in range(asked.rounds):
        clock, processor = time.perf_counter(), time.process_time()
        done = run(world, schedule, faults=faults, currents=COILS)
        taken = time.perf_counter() - clock
        if taken < best:
            best, busy = taken, time.process_time() - processor
    assert done is not None
    print(f"engine: {engine_name()}; {len(faults)} faults x {schedule.seconds * 1e3:.0f} ms, "
          f"{done.time.size} steps")  # fmt: skip
    print(f"  {best:.2f} s, {busy:.2f} s of processors; {done.unresolved.sum()} unresolved; "
          f"{best / len(faults) * 1e3:.2f} ms a fault")  # fmt: skip
    with mock.patch.object(Stepper, "make", return_value=None):
        processor = time.process_time()
        run(world, schedule, faults=faults, currents=COILS)
        plain = time.process_time() - processor
    print(f"  each stage by the DC engine instead: {plain:.2f} s of processors, "
          f"{plain / busy:.1f} times as much")  # fmt: skip
    some = faults[:: max(1, len(faults) // 24)]
    fine = run(world, schedule, faults=some, currents=COILS, longest=10e-6, accuracy=3e-5)
    errors = against(done, fine, some)
    print(f"  error of coil currents: median {np.median(errors):.2%}, largest {errors.max():.2%} "
          f"of {len(some)} faults")  # fmt: skip
    with_ngspice(world, schedule, done, faults[: asked.ngspice], best / len(faults))


def different(world: Compiled, count: int) -> list[str]:
    """The first ``count`` faults of which no two change the same."""
    found: dict[object, str] = {}
    for fault in world.faults:
        found.setdefault((fault.changes, fault.stored), fault.id)
    return list(found.values())[:count]


def against(done: Waveforms, fine: Waveforms, faults: Sequence[str]) -> Array:
    """Largest error of each fault's coil currents over its times, as a share of the largest."""
    rows = [done.faults.index(name) for name in faults]
    worst = np.zeros(len(faults))
    most = max(np.abs(fine.currents[coil]).max() for coil in COILS[:1])
    for coil in COILS:
        there = fine.at(done.time, fine.currents[coil])
        worst = np.maximum(worst, np.abs(done.currents[coil][rows] - there).max(axis=1))
    share: Array = worst / most
    return share


def with_ngspice(
    world: Compiled, schedule: Schedule, done: Waveforms, faults: Sequence[str], ours: float
) -> None:
    """One process for each fault."""
    program = shutil.which("ngspice")
    if program is None or not faults:
        return
    for name, deck in zip(faults, decks(world, schedule, faults, 20e-6), strict=True):
        with tempfile.TemporaryDirectory() as folder:
            clock = time.perf_counter()
            theirs = play(program, Path(folder), deck)
            taken = time.perf_counter() - clock
        row = done.faults.index(name)
        if theirs.time[-1] < 0.999 * schedule.seconds:
            print(f"  ngspice, {name}: gave up at {theirs.time[-1] * 1e3:.1f} ms")
            continue
        apart = [
            np.interp(done.time, theirs.time, theirs.amps[coil]) - done.currents[coil][row]
            for coil in COILS
        ]
        most = max(np.abs(amps).max() for amps in theirs.amps.values())
        print(f"  ngspice, {name}: {taken:.2f} s, {taken / ours:.0f} times as long; apart by "
              f"{np.sqrt(np.mean(np.square(apart))) / most:.2%} rms, "
              f"{np.abs(apart).max() / most:.2%} at most")  # fmt: skip


if __name__ == "__main__":
    main()
