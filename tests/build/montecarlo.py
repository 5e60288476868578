"""Mean and spread of readings by tolerance, as predicted, against many boards solved in full.

``scripts/accuracy`` prints the table of docs/accuracy.md.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np
from tests.build.worlds import world
from tests.solve.compare import EXAMPLES, FLOATING, example

from halfsplit.build.compiled import Compiled
from halfsplit.build.parameters import base_parameters, lay, overlay, sample_deviations
from halfsplit.build.settings import step_changes
from halfsplit.build.sweep import Sweep
from halfsplit.solve.law import Array
from halfsplit.solve.persistent import persist

__all__ = ["Drawn", "drawn"]

LEAST = 5e-3
"""A smaller spread does not matter beside the meter's error, V."""
MODEL_VOLTS, MODEL_SHARE = 0.05, 0.04
"""The least error of the laws that stands beside every spread (``build/misfit.py``)."""
_AT_ONCE = 2500


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """R readings of one board in one state: a node under a fault each. ``quick`` [R] spread as
    predicted, ``spread`` and ``mean`` over the boards drawn, ``nominal`` the reading as told."""

    names: tuple[str, ...]
    nominal: Array
    quick: Array
    mean: Array
    spread: Array

    @property
    def ratio(self) -> Array:
        """Predicted over drawn."""
        return self.quick / np.maximum(self.spread, 1e-6)

    @property
    def ratio_told(self) -> Array:
        """The same with the error of the laws in both, as belief has it."""
        model = MODEL_VOLTS + MODEL_SHARE * np.abs(self.nominal)
        told: Array = np.hypot(self.quick, model) / np.hypot(self.spread, model)
        return told

    @property
    def off(self) -> Array:
        """How far the mean is from what is told, in spreads as belief has them."""
        model = MODEL_VOLTS + MODEL_SHARE * np.abs(self.nominal)
        found: Array = np.abs(self.mean - self.nominal) / np.hypot(self.quick, model)
        return found

    def worst(self) -> str:
        """The reading whose spread is farthest off."""
        k = int(np.abs(np.log(np.maximum(self.ratio_told, 1e-3))).argmax())
        return (
            f"{self.names[k]}: {self.quick[k]:.3f} V told, {self.spread[k]:.3f} V drawn "
            f"about {self.mean[k]:.2f} V, {self.nominal[k]:.2f} V told"
        )


def drawn(compiled: Compiled, state: str, boards: int, faults: int) -> Drawn:
    """The good board and ``faults - 1`` faults spread over the list, ``boards`` of each; readings
    that something holds, that have one value, and whose spread is worth telling. Grades of a fault
    are left out, for no board draws them; stored bits stay as the walk left them."""
    assembly, circuit = compiled.assembly, compiled.assembly.circuit
    rows = np.unique(np.linspace(0, len(compiled.faults) - 1, faults).astype(int))
    overlays = [compiled.overlays[row] for row in rows]
    sweep = Sweep(assembly, overlays, {})
    found = compiled.board.state(state)
    assert found is not None
    steps = [overlay(circuit, step_changes(assembly, found, step)) for step in found.steps]
    result = sweep.state(steps)
    sets = base_parameters(circuit, sample_deviations(assembly, boards + 1, seed=7))
    names, columns = [], []
    for k, (row, what) in enumerate(zip(rows, overlays, strict=True)):
        v = _solved(sweep, steps, what, sets, result.nominal[:, k])
        quick, nominal = result.spread[:, k], result.nominal[:, k]
        spread = v.std(axis=1)
        told = (spread > LEAST) | (quick > LEAST)
        told &= (result.ohms[:, k] < FLOATING) & np.isnan(result.other[:, k])
        at = np.flatnonzero(told & np.isfinite(nominal))
        names += [f"{compiled.faults[row].id} at {assembly.node_names[n]}" for n in at]
        columns.append(np.stack((nominal[at], quick[at], v.mean(axis=1)[at], spread[at])))
    joined = np.concatenate(columns, axis=1)
    return Drawn(
        names=tuple(names), nominal=joined[0], quick=joined[1], mean=joined[2], spread=joined[3]
    )


def _solved(
    sweep: Sweep,
    steps: list[tuple[tuple[int, int, int, float, bool], ...]],
    what: tuple[tuple[int, int, int, float, bool], ...],
    sets: list[Array],
    nominal: Array,
) -> Array:
    """[N, boards] with one fault."""
    bits = sweep._walk(steps, [what], None, 1.0).bits
    found = []
    for start in range(1, sets[0].shape[2], _AT_ONCE):
        params = [p[:, :, start : start + _AT_ONCE].copy() for p in sets]
        lay(params, steps[-1], slice(None))
        lay(params, what, slice(None))
        bits.write(params, slice(None))
        width = params[0].shape[2]
        done, _ = persist(
            sweep.circuit, params, np.repeat(np.nan_to_num(nominal)[:, None], width, axis=1)
        )
        found.append(done.v[:, done.resolved])
    return np.concatenate(found, axis=1)


def main() -> int:
    """10 000 boards of the good one and of 24 faults, on each example board; or fewer."""
    boards = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    faults = int(sys.argv[2]) if len(sys.argv) > 2 else 25
    print("| board | state | readings | spread: least | 5 % | median | 95 % | most "
          "| mean off: median | 95 % | most |")  # fmt: skip
    print("|---" * 11 + "|")
    for board, states in EXAMPLES.items():
        for state in states:
            found = drawn(world(example(board)), state, boards, faults)
            ratio = np.quantile(found.ratio_told, [0.0, 0.05, 0.5, 0.95, 1.0])
            off = np.quantile(found.off, [0.5, 0.95, 1.0])
            cells = " | ".join(f"{x:.2f}" for x in (*ratio, *off))
            print(f"| {board} | {state} | {found.ratio.size} | {cells} |", flush=True)
            raw = np.quantile(found.ratio, [0.0, 0.05, 0.5, 0.95, 1.0])
            print(f"  raw {' '.join(f'{x:.2f}' for x in raw)}; {found.worst()}", file=sys.stderr)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
