"""Voltages of many checks, asked of the world state by state."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.world import Numbers, World
from halfsplit.checks.kind import Check

__all__ = ["gather"]


def gather(checks: Sequence[Check], world: World) -> Numbers:
    """[F, C] voltages of checks at one place each, asked of the world state by state."""
    by_state: dict[str, list[int]] = {}
    for i, check in enumerate(checks):
        by_state.setdefault(check.state, []).append(i)
    order, parts = [], []
    for state, members in by_state.items():
        parts.append(world.volts(state, [checks[i].places[0] for i in members]))
        order += members
    if len(parts) == 1:
        return parts[0]
    back = np.argsort(np.array(order))
    return Numbers(
        mean=np.hstack([part.mean for part in parts])[:, back],
        spread=np.hstack([part.spread for part in parts])[:, back],
        other=np.hstack([part.other for part in parts])[:, back],
        other_spread=np.hstack([part.other_spread for part in parts])[:, back],
        floating=np.hstack([part.floating for part in parts])[:, back],
        unresolved=np.hstack([part.unresolved for part in parts])[:, back],
    )
