"""What each supply of a board gives, with and without what is plugged in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.board.model import Board, Drive, State, Step
from halfsplit.build.assemble import BOARD
from halfsplit.build.compiled import Compiled
from halfsplit.frozen import dataclass

__all__ = ["RailCurrent", "plugs", "rail_currents"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RailCurrent:
    """Ampere that one supply gives in one state of a good board; ``unplugged`` with every plug
    out; not-a-number where unresolved."""

    net: str
    state: str
    amps: float
    unplugged: float


def plugs(board: Board) -> tuple[str, ...]:
    """Connectors that something off the board hangs on, by designator."""
    return tuple(part.designator for part in board.parts if part.kind == "connector")


def rail_currents(world: Compiled) -> tuple[RailCurrent, ...]:
    """Every supply in every powered state."""
    return tuple(_all(world))


def _all(world: Compiled) -> Iterator[RailCurrent]:
    out = plugs(world.board)
    for state in world.board.states:
        if not state.powered:
            continue
        plugged, bare = _amps(world, state), _amps(world, _without(state, out))
        for at, rail in enumerate(world.board.rails):
            yield RailCurrent(net=rail.net, state=state.name, amps=plugged[at], unplugged=bare[at])


def _without(state: State, names: Sequence[str]) -> State:
    """The state with plugs out from its first step on."""
    drives = tuple(Drive(target=name, value="out") for name in names)
    return replace(state, steps=tuple(
        Step(drives=(*(d for d in step.drives if d.target not in names), *drives))
        for step in state.steps
    ))  # fmt: skip


def _amps(world: Compiled, state: State) -> list[float]:
    v, params = world.good(state)
    circuit = world.assembly.circuit
    padded = np.concatenate((v, np.zeros((1, 1))))
    found = []
    for rail in world.board.rails:
        group, member = circuit.where[BOARD, f"rail:{rail.net}"]
        at = circuit.groups[group]
        here = padded[at.nodes[:, member]][:, None, :]
        amps, _ = at.law.evaluate(here, params[group][:, member][:, None, :], False)
        found.append(abs(float(amps[0, 0, 0])))
    return found
