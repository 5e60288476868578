"""Spread by tolerances: six samples at first order against many boards solved in full.

``scripts/accuracy`` prints the table of docs/accuracy.md.
"""

from __future__ import annotations

import numpy as np
from tests.build.worlds import world
from tests.solve.compare import EXAMPLES, FLOATING, example

from halfsplit.build.compiled import Compiled
from halfsplit.build.parameters import base_parameters, lay, overlay, sample_deviations
from halfsplit.build.settings import step_changes
from halfsplit.solve.law import Array
from halfsplit.solve.persistent import persist

__all__ = ["drawn", "ratios"]

LEAST = 5e-3
"""A smaller spread does not matter beside the meter's error, V."""


def drawn(compiled: Compiled, state: str, width: int) -> tuple[Array, Array]:
    """Spread [N] of the healthy board as predicted, and that of ``width`` boards drawn and solved
    in full (stored bits at 0: for states whose bits do not matter)."""
    assembly, circuit = compiled.assembly, compiled.assembly.circuit
    params = base_parameters(circuit, sample_deviations(assembly, width + 1, seed=7))
    found = compiled.board.state(state)
    assert found is not None
    lay(params, overlay(circuit, step_changes(assembly, found, found.steps[-1])), slice(None))
    done, _ = persist(circuit, params)
    assert done.resolved.all()
    held = compiled.result(state).ohms[:, 0] < FLOATING
    return compiled.result(state).spread[held, 0], done.v[held, 1:].std(axis=1)


def ratios(compiled: Compiled, state: str, width: int) -> Array:
    """Predicted over drawn at every node where either is worth telling."""
    quick, full = drawn(compiled, state, width)
    told = (full > LEAST) | (quick > LEAST)
    return quick[told] / full[told]


def main() -> int:
    """States of the example boards in which no stored bit matters."""
    print("| board | state | nodes | least | 10 % | median | 90 % | most |")
    print("|---|---|---|---|---|---|---|---|")
    for board, states in EXAMPLES.items():
        for state in states:
            if state.startswith("hold"):
                continue
            found = ratios(world(example(board)), state, 2000)
            at = np.quantile(found, [0.0, 0.1, 0.5, 0.9, 1.0])
            cells = " | ".join(f"{ratio:.2f}" for ratio in at)
            print(f"| {board} | {state} | {found.size} | {cells} |")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
