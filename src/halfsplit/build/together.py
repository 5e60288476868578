"""Several faults at once, solved together; and what one fault burns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from halfsplit.build.compiled import Compiled
from halfsplit.build.fault import ELSE, Suspect
from halfsplit.build.faultlist import FaultList
from halfsplit.build.severity import versions
from halfsplit.build.world import World

__all__ = ["BURNS", "Consequence", "both", "consequences"]

Consequence = tuple[int, int]
"""Rows of a fault and of the fault that it brings about."""

BURNS = 2.0
"""A resistor above this many times its watts, a fuse above this many times its amperes, goes in
time (common practice, no source)."""


def both(world: World, pairs: Sequence[tuple[int, int]]) -> Compiled | None:
    """A world whose faults after the healthy row are these pairs of rows of ``world``, each pair
    solved with the changes of both; ``None`` where the world is not one that is solved. The last
    few are kept."""
    return _solved(world, tuple(pairs)) if isinstance(world, Compiled) else None


@lru_cache(maxsize=4)
def _solved(world: Compiled, pairs: tuple[tuple[int, int], ...]) -> Compiled:
    faults = [world.faults[0]]
    overlays = [world.overlays[0]]
    for a, b in pairs:
        one, two = world.faults[a], world.faults[b]
        faults.append(
            replace(
                one,
                id=f"{one.id} + {two.id}",
                changes=one.changes + two.changes,
                stored=one.stored + two.stored,
            )
        )
        overlays.append((*world.overlays[a], *world.overlays[b]))
    count = len(pairs)
    listed = FaultList(
        faults=tuple(faults),
        suspects=(Suspect(id="both", repair="both"), Suspect(id=ELSE, repair="look further")),
        suspect_of=np.array([-1, *([0] * count)], dtype=np.int64),
        prior=np.array([0.0, *([1.0 / max(count, 1)] * count), 0.0]),
    )
    return Compiled(
        board=world.board,
        assembly=world.assembly,
        listed=listed,
        overlays=overlays,
        unsure={what: versions(world.assembly.circuit, what, 1.0) for what in overlays},
        like=world,
    )


def consequences(world: World) -> tuple[Consequence, ...]:
    """Faults that overload a resistor or a fuse in some powered state, with the open that follows.

    The good board's own load does not count. Empty where the world is not one that is solved.
    """
    return _burnt(world) if isinstance(world, Compiled) else ()


@lru_cache(maxsize=4)
def _burnt(world: Compiled) -> tuple[Consequence, ...]:
    opens = {
        fault.designator: row
        for row, fault in enumerate(world.faults)
        if fault.where == "part" and fault.mode == "open"
    }
    limits = {name: amperes for name in world.watched if (amperes := _limit(world, name)) > 0.0}
    names = [name for name in limits if name in opens]
    if not names:
        return ()
    worst = np.zeros((len(world.faults), len(names)))
    for state in world.board.states:
        if state.powered:
            flows = np.abs(np.nan_to_num(world.current(state.name, names).mean))
            worst = np.maximum(worst, flows)
    over = worst > np.array([limits[name] for name in names])
    over &= ~over[0]
    return tuple(
        (int(row), opens[names[column]])
        for row, column in zip(*np.nonzero(over), strict=True)
        if world.faults[row].designator != names[column]
    )


def _limit(world: Compiled, designator: str) -> float:
    """Amperes at which the part gives up in time; 0 where nothing is known."""
    part = world.board.part(designator)
    if part is None:
        return 0.0
    for rating in world.assembly.kinds[designator].ratings(part):
        if rating.name == "current" and part.kind == "fuse":
            return BURNS * rating.value
        if rating.name == "dissipation" and part.kind == "resistor" and part.value:
            return float(np.sqrt(BURNS * rating.value / part.value))
    return 0.0
