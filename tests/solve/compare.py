"""A board's faults solved here and by ngspice with the same laws; differences, by class.

``scripts/accuracy`` prints the table of docs/accuracy.md.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.solve.circuits import excess
from tests.solve.spice import netlist, run

import halfsplit.examples as examples
from halfsplit.board.reader import read_board
from halfsplit.build.assemble import Assembly, assemble
from halfsplit.build.faultlist import list_faults
from halfsplit.build.parameters import base_parameters, lay, overlay, sample_deviations
from halfsplit.build.settings import step_changes
from halfsplit.build.wiring import with_far_sides
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve import newton
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.loops import let_fall
from halfsplit.solve.persistent import persist
from halfsplit.solve.response import Linear

LIMIT = 1e-3
"""Differences up to this need no explanation, V."""
EXAMPLES = {
    "linear-supply": ("loaded", "bare"),
    "logic-card": ("quiet", "asleep"),
    "plotter-drive": ("rest", "hold-A"),
}
FLOATING = 2e6
_STILL = 1e-4
_RESIDUE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One board in one state. ``worst`` [F] largest difference of a node's volts in each case,
    floating nodes left out; ``classes`` names of what explains each above LIMIT ("" for small or
    not explained); ``seconds`` ngspice took."""

    board: str
    state: str
    faults: tuple[str, ...]
    places: tuple[str, ...]
    worst: Array
    classes: tuple[str, ...]
    seconds: float

    def unexplained(self) -> list[str]:
        """Faults whose difference has no class."""
        return [
            f"{fault} at {place}: {worst:.3g} V"
            for fault, place, worst, name in zip(
                self.faults, self.places, self.worst, self.classes, strict=True
            )
            if not name and worst > LIMIT
        ]


def compare(program: str, text: str, state: str, most: int, name: str = "board") -> Compared:
    """Up to ``most`` faults, spread evenly over the list, healthy first."""
    board = with_far_sides(read_board(text, PartsVocabulary()))
    assembly = assemble(board)
    circuit = assembly.circuit
    faults = list_faults(assembly, years=40.0).faults
    picked = np.unique(np.linspace(0, len(faults) - 1, most).astype(int))
    params = _parameters(assembly, state, [faults[k].changes for k in picked])
    healthy, _ = persist(circuit, [p[:, :, :1] for p in params])
    start = _fallen(circuit, [p[:, :, :1] for p in params], healthy.v)
    done, _ = persist(circuit, params, start)
    v = _fallen(circuit, params, done.v)
    decks = [netlist(circuit, params, k, start[:, 0]) for k in range(picked.size)]
    with tempfile.TemporaryDirectory() as folder:
        clock = time.perf_counter()
        reference = run(program, Path(folder), decks, circuit.size)
        seconds = time.perf_counter() - clock
    held = Linear.at(circuit, np.nan_to_num(v), params).ohms() < FLOATING
    difference = np.where(held, np.abs(v - reference), 0.0)
    worst = difference.max(axis=0)
    again, _ = persist(circuit, params, np.nan_to_num(reference))
    residue = np.abs(excess(circuit, params, newton.Solution(
        v=reference, resolved=done.resolved, ohms=done.ohms, steps=0))).max(axis=0)  # fmt: skip
    stays = np.where(held, np.abs(again.v - reference), 0.0).max(axis=0) < _STILL
    classes = []
    for k in range(picked.size):
        classes.append(
            "ngspice found none" if np.isnan(reference[:, k]).any()
            else "unresolved here" if not done.resolved[k]
            else "" if worst[k] <= LIMIT
            else "second solution" if stays[k] and residue[k] < _RESIDUE
            else ""
        )  # fmt: skip
    nodes = np.nan_to_num(difference).argmax(axis=0)
    return Compared(
        board=name,
        state=state,
        faults=tuple(faults[k].id for k in picked),
        places=tuple(assembly.node_names[n] for n in nodes),
        worst=worst,
        classes=tuple(classes),
        seconds=seconds,
    )


def _fallen(circuit: Circuit, params: Sequence[Array], v: Array) -> Array:
    """``v`` with latches off their edge; what may oscillate stays there, as ngspice finds it."""
    fallen = let_fall(circuit, params, v)
    v = v.copy()
    v[:, fallen.columns] = np.where(fallen.rings, v[:, fallen.columns], fallen.v)
    return v


def _parameters(assembly: Assembly, state: str, changes: Sequence[object]) -> list[Array]:
    """[P, M, F] in the last step of a state, stored bits at 0."""
    circuit = assembly.circuit
    params = [
        np.repeat(p, len(changes), axis=2)
        for p in base_parameters(circuit, sample_deviations(assembly, 1))
    ]
    found = assembly.board.state(state)
    assert found is not None
    lay(params, overlay(circuit, step_changes(assembly, found, found.steps[-1])), slice(None))
    for column, what in enumerate(changes):
        lay(params, overlay(circuit, what), slice(column, column + 1))  # type: ignore[arg-type]
    return params


def summary(results: Sequence[Compared]) -> str:
    """A table in Markdown."""
    lines = [
        "| board | state | cases | median | 95 % | largest | above 1 mV, and why |",
        "|---|---|---|---|---|---|---|",
    ]
    for r in results:
        usual = np.asarray([w for w, name in zip(r.worst, r.classes, strict=True) if not name])
        why = Counter(name for name in r.classes if name)
        told = ", ".join(f"{count} {name}" for name, count in sorted(why.items())) or "none"
        if r.unexplained():
            told += f", {len(r.unexplained())} not explained"
        lines.append(
            f"| {r.board} | {r.state} | {len(r.faults)} | {np.median(usual) * 1e6:.2g} µV "
            f"| {np.percentile(usual, 95) * 1e6:.2g} µV | {usual.max() * 1e6:.2g} µV | {told} |"
        )
    return "\n".join(lines)


def example(name: str) -> str:
    """The text of an example board."""
    return (Path(next(iter(examples.__path__))) / f"{name}.board").read_text(encoding="utf-8")


def main() -> int:
    """Compare 120 faults of each example board in two states, and every fault of the test
    boards; or as many of each as the first argument says."""
    program = shutil.which("ngspice")
    if program is None:
        print("needs the program ngspice", file=sys.stderr)
        return 1
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 0
    results = []
    for board, states in EXAMPLES.items():
        for state in states:
            results.append(compare(program, example(board), state, most or 120, board))
            print(*results[-1].unexplained(), sep="\n", file=sys.stderr)
    for path in sorted((Path(__file__).parent / "boards").glob("*.board")):
        text = path.read_text(encoding="utf-8")
        for found in read_board(text, PartsVocabulary()).states:
            results.append(compare(program, text, found.name, most or 1000, path.stem))
            print(*results[-1].unexplained(), sep="\n", file=sys.stderr)
    print(summary(results))
    cases = sum(len(r.faults) for r in results)
    print(f"\n{cases} cases; ngspice took {sum(r.seconds for r in results):.0f} s.")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
