"""Kernel, numpy and ngspice on the same faults of boards of growing size, side by side.

    python -m benchmarks.against_ngspice [--rounds 3] [--most 60] [--no-numpy]

The boards are like driver channels in a row (channels.py). The cases are the faults that change
one conductance: joints open and poor, parts open, shorted and leaky, bridges. All start from the
healthy solution. ngspice gets the same laws (its own diode and transistor models, chips as
formulas) and does alter, op, alter back in this process; only cases that it solved without gmin
or source stepping count, for all three. The time is the processor's for one case, the best of
the rounds. The last lines are of all faults: 100 000 solves on two threads, by the clock, and
from an empty process to the first prediction.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from benchmarks.channels import Task, board, task
from benchmarks.ngspice_library import Ngspice
from tests.solve.spice import netlist

from halfsplit.solve import newton
from halfsplit.solve.kernel import Kernel, load_kernel

CHANNELS = (1, 2, 5, 7, 17)
HELD = 2e6
"""Nodes of more than so many ohm float: ngspice's own gmin shows there."""
_FIRST = """
from importlib.resources import files
from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary
text = files("halfsplit").joinpath("examples", "linear-supply.board").read_text(encoding="utf-8")
world = compile_board(read_board(text, PartsVocabulary()))
world.volts(world.board.states[0].name, ["TP5"])
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """What ngspice did: the cases that count, mean seconds for one, and the median over the cases
    of the largest difference of a node to numpy's, V."""

    cases: Sequence[int]
    seconds: float
    differ: float


def main() -> None:
    arguments = argparse.ArgumentParser(description="Microseconds for one solve, by size.")
    arguments.add_argument("--rounds", type=int, default=3)
    arguments.add_argument("--most", type=int, default=60, help="cases of a board for ngspice")
    arguments.add_argument("--no-numpy", action="store_true", help="leave the slow one out")
    asked = arguments.parse_args()
    kernel = load_kernel()
    if kernel is None:
        raise SystemExit("needs the compiled kernel")
    print(f"kernel: {kernel.name}")
    print(
        "| nodes | cases | iterations | kernel, us | numpy, us | ngspice, us "
        "| ngspice / kernel | ngspice / numpy | difference |\n|" + "---|" * 9
    )
    spice = Ngspice()
    for channels in CHANNELS:
        row(spice, kernel, task(board(channels)), asked.rounds, asked.most, not asked.no_numpy)
    many(kernel, task(board(2)), asked.rounds)
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", _FIRST], check=True)
    print(f"from an empty process to the first prediction: {time.perf_counter() - started:.2f} s")


def row(
    spice: Ngspice, kernel: Kernel, job: Task, rounds: int, most: int, with_numpy: bool
) -> None:
    """One line of the table."""
    reference = measured(spice, job, rounds, most)
    chosen = list(reference.cases) * max(1, 512 // len(reference.cases))
    params, width = job.batch(chosen), len(chosen)
    done = kernel.solve(job.circuit, params, job.healthy)
    assert done is not None
    ours = best(lambda: kernel.solve(job.circuit, params, job.healthy), 10 * rounds) / width
    theirs = float("nan")
    if with_numpy:
        theirs = best(lambda: newton.solve(job.circuit, params, job.healthy), rounds) / width
    print(
        f"| {job.circuit.size} | {len(reference.cases)} of {len(job.faults)} "
        f"| {done.steps / width:.1f} | {ours * 1e6:.2f} | {theirs * 1e6:.0f} "
        f"| {reference.seconds * 1e6:.0f} | {reference.seconds / ours:.0f} "
        f"| {reference.seconds / theirs:.1f} | {reference.differ * 1e6:.2g} uV |",
        flush=True,
    )


def measured(spice: Ngspice, job: Task, rounds: int, most: int) -> Reference:
    """Up to ``most`` cases, spread over the list, by ngspice."""
    spice.load(netlist(job.circuit, job.params, 0, job.healthy[:, 0]))
    cases, seconds, differ = [], [], []
    count = len(job.faults)
    for k in np.unique(np.linspace(0, count - 1, min(count, most)).astype(int)).tolist():
        group, member, g = job.faults[k]
        nodes = job.circuit.groups[group].nodes[:, member]
        a, b = ("0" if n == job.circuit.size else f"n{n}" for n in nodes)
        healthy = 1.0 / float(job.params[group][0, member, 0])
        took = [spice.solve(f"r{group}_{member}{a}{b}", 1.0 / g, healthy) for _ in range(rounds)]
        if not spice.plain:
            continue
        done = newton.solve(job.circuit, job.batch([k]), job.healthy, want_ohms=True)
        held = done.ohms[:, 0] < HELD
        cases.append(k)
        seconds.append(min(took))
        differ.append(float(np.abs(done.v[:, 0] - spice.volts(job.circuit.size))[held].max()))
    spice.command("remcirc")
    return Reference(cases=cases, seconds=float(np.mean(seconds)), differ=float(np.median(differ)))


def many(kernel: Kernel, job: Task, rounds: int) -> None:
    """100 000 solves on two threads, in batches as the sweep makes them."""
    every = list(range(len(job.faults)))
    params = job.batch((every * (512 // len(every) + 1))[:512])

    def run() -> None:
        for _ in range(196):
            kernel.solve(job.circuit, params, job.healthy, threads=2)

    seconds = best(run, rounds, time.perf_counter) * 100_000 / (196 * 512)
    print(f"100 000 solves of {job.circuit.size} nodes, every fault, two threads: {seconds:.2f} s")


def best(
    run: Callable[[], object], rounds: int, clock: Callable[[], float] = time.process_time
) -> float:
    """The least seconds of some rounds."""
    found = float("inf")
    for _ in range(rounds):
        started = clock()
        run()
        found = min(found, clock() - started)
    return found


if __name__ == "__main__":
    main()
