"""What the inputs of blocks that are judged by their voltage should read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.parameters import Overlay
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.stage import StageTrouble

__all__ = ["aimed"]


def aimed(circuit: Circuit, params: Sequence[Array], good: Array) -> Overlay:
    """What every input that is judged by its voltage should be: that of the healthy board, whose
    parameters [P, M, B] and volts ``good`` [N] these are."""
    found = []
    volts = np.append(np.nan_to_num(good), 0.0)
    for group, (at, p) in enumerate(zip(circuit.groups, params, strict=True)):
        if not isinstance(at.law, StageTrouble):
            continue
        row = at.law.parameters.index
        for k in range(1, at.law.inputs + 1):
            for member in np.flatnonzero(p[row(f"s{k}"), :, 0]).tolist():
                want = float(volts[at.nodes[1 + 2 * k, member]])
                width = float(
                    max(p[row("tol"), member, 0] * abs(want), p[row(f"least{k}"), member, 0])
                )
                found += [
                    (group, row(f"want{k}"), member, want, False),
                    (group, row(f"width{k}"), member, width, False),
                ]
    return tuple(found)
