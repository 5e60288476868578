"""Boards of growing size: like driver channels in a row, and their faults in one conductance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

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
from halfsplit.solve.laws.linear import Conductance

__all__ = ["Task", "board", "task"]

NO_BRIDGE = 1e-12
"""Siemens of a bridge that is not there, for a simulator that can only alter what is there."""
_GATES = ((1, 2, 3), (4, 5, 6), (9, 10, 8), (12, 13, 11))
"""Inputs and output of each gate of a 7438."""
_CHANNEL = """
R{r} 2k2 5% +5 D{k}
Q{r} 2N2222 c=E{k} b=D{k} e=GND
R{s} 680 5% +5 E{k}
Q{s} TIP120 c=C{k} b=E{k} e=GND
D{k} 1N4002 a=C{k} k=+24
L{k} winding 56 inductance=90mH C{k} +24
offsheet A{k} drive 74LS
"""


def board(channels: int) -> str:
    """The text of a board with so many channels, every other one on."""
    lines = ['board "Driver channels"', "rail +5 5V", "rail +24 24V ohms=0.3"]
    for first in range(1, channels + 1, 4):
        pins = [
            f"{a}=A{k} {b}=RUN {y}=D{k}"
            for k, (a, b, y) in enumerate(_GATES, start=first)
            if k <= channels
        ]
        lines.append(f"U{first // 4 + 1} 7438 {' '.join(pins)}")
    every = range(1, channels + 1)
    lines += [_CHANNEL.format(k=k, r=2 * k - 1, s=2 * k) for k in every]
    levels = " ".join(f"A{k}={'high' if k % 2 else 'low'}" for k in every)
    return "\n".join([*lines, "offsheet RUN drive 74LS", f"state on RUN=high {levels}", ""])


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """Healthy parameters, each [P, M, 1], and solution [N, 1]; the faults that change one
    conductance, as (group, member, siemens)."""

    circuit: Circuit
    params: list[Array]
    healthy: Array
    faults: Sequence[tuple[int, int, float]]

    def batch(self, chosen: Sequence[int]) -> list[Array]:
        """Parameters [P, M, B] with the chosen faults in."""
        wide = [np.repeat(p, len(chosen), axis=2) for p in self.params]
        for column, k in enumerate(chosen):
            group, member, g = self.faults[k]
            wide[group][0, member, column] = g
        return wide


def task(text: str) -> Task:
    """The first state of a board."""
    made = assemble(with_far_sides(read_board(text, PartsVocabulary())))
    circuit = made.circuit
    params = base_parameters(circuit, sample_deviations(made, 1))
    state = made.board.states[0]
    lay(params, overlay(circuit, step_changes(made, state, state.steps[-1])), slice(None))
    for group, p in zip(circuit.groups, params, strict=True):
        if isinstance(group.law, Conductance):
            p[0] = np.maximum(p[0], NO_BRIDGE)
    healthy = newton.solve(circuit, params)
    return Task(
        circuit=circuit, params=params, healthy=healthy.v, faults=_conductances(made, params)
    )


def _conductances(made: Assembly, params: Sequence[Array]) -> list[tuple[int, int, float]]:
    changes = [overlay(made.circuit, fault.changes) for fault in list_faults(made, years=40).faults]
    found = []
    for what in dict.fromkeys(changes):
        if len(what) == 1 and isinstance(made.circuit.groups[what[0][0]].law, Conductance):
            group, _, member, value, scale = what[0]
            g = value * params[group][0, member, 0] if scale else value
            found.append((group, member, max(float(g), NO_BRIDGE)))
    return found
