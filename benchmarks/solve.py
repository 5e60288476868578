"""Kernel against numpy on the solves that the example boards really ask for, side by side.

    python benchmarks/solve.py [--rounds 5] [--states 2] [--no-numpy]

Every batch that one state after another asks for is recorded, then solved again by each engine in
turn, so that a busy machine troubles all alike. Microseconds are of processor time for one case
(for two threads of wall-clock time); the best of the rounds counts.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Any
from unittest import mock

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve import engine, newton, persistent
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.kernel import Kernel, load_kernel
from halfsplit.solve.law import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """One batch as it was asked for."""

    circuit: Circuit
    params: Sequence[Array]
    guess: Array | None
    more: dict[str, Any]
    width: int


def main() -> None:
    arguments = argparse.ArgumentParser(description="Kernel against numpy, us for one solve.")
    arguments.add_argument("--rounds", type=int, default=5)
    arguments.add_argument("--states", type=int, default=2, help="states of each board")
    arguments.add_argument("--no-numpy", action="store_true", help="leave the slow one out")
    arguments.add_argument("--board", default="", help="part of a board's name")
    asked = arguments.parse_args()
    print(f"engine: {engine.engine_name()}")
    kernel = load_kernel()
    for path in sorted(files("halfsplit").joinpath("examples").iterdir(), key=lambda p: p.name):
        if path.name.endswith(".board") and asked.board in path.name:
            batches = record(path.read_text(encoding="utf-8"), asked.states)
            show(path.name, batches, kernel, asked.rounds, not asked.no_numpy)


def record(text: str, states: int) -> list[Recorded]:
    """What the first states of a board ask the solver."""
    world = compile_board(read_board(text, PartsVocabulary()))
    found: list[Recorded] = []

    def solve(
        circuit: Circuit, params: Sequence[Array], guess: Array | None = None, **more: Any
    ) -> newton.Solution:
        done = engine.solve(circuit, params, guess, **more)
        found.append(
            Recorded(
                circuit=circuit,
                params=[p.copy() for p in params],
                guess=None if guess is None else guess.copy(),
                more=more,
                width=done.resolved.size,
            )
        )
        return done

    with mock.patch.object(persistent, "solve", solve):
        for state in world.board.states[:states]:
            world.result(state.name)
    return found


def show(
    name: str, batches: list[Recorded], kernel: Kernel | None, rounds: int, with_numpy: bool
) -> None:
    cases = sum(batch.width for batch in batches)
    size = batches[0].circuit.size
    print(f"{name}: {size} nodes, {len(batches)} batches, {cases} cases")
    runs: dict[str, tuple[Callable[..., Any], Callable[[], float]]] = {}
    if kernel:
        steps = 0
        for b in batches:
            done = kernel.solve(b.circuit, b.params, b.guess, **b.more)
            steps += done.steps if done else 0
        print(f"  {steps / cases:.2f} iterations for one case")
        runs["kernel, one thread"] = kernel.solve, time.process_time
        runs["kernel, two threads"] = (
            lambda *a, **k: kernel.solve(*a, **k, threads=2),
            time.perf_counter,
        )
    if with_numpy:
        runs["numpy"] = newton.solve, time.process_time
    best = dict.fromkeys(runs, float("inf"))
    for turn in range(rounds):
        for label, (solve, clock) in runs.items():
            if label == "numpy" and turn > 1:
                continue
            started = clock()
            for b in batches:
                solve(b.circuit, b.params, b.guess, **b.more)
            best[label] = min(best[label], clock() - started)
    for label, seconds in best.items():
        print(f"  {label:22} {seconds / cases * 1e6:9.2f} us a solve")
    if kernel and with_numpy:
        print(f"  numpy / kernel         {best['numpy'] / best['kernel, one thread']:9.1f}")


if __name__ == "__main__":
    main()
