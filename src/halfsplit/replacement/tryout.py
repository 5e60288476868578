"""The board predicted with another type in a part's place: are its outputs right in every state?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.board.model import Board, Output, Part, State
from halfsplit.build.assemble import BOARD, Assembly, assemble
from halfsplit.build.parameters import lay, overlay, sample_deviations
from halfsplit.build.settings import step_changes
from halfsplit.build.sweep import Sweep
from halfsplit.build.wiring import with_far_sides
from halfsplit.errors import HalfsplitError
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.persistent import persist

__all__ = ["Shown", "with_part", "wrong_outputs"]

SAMPLES = 6
_LEVELS = (0.8, 2.0)
"""Below the first an output is low, above the second high (TTL levels)."""
_NEAR = 0.1
"""An output that is on by less than this share of its threshold, either way, is neither."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What the outputs do: ``states`` and ``outputs`` name rows and columns of ``on``
    [S, 1 + T, outputs]: 1 on or high, 0 off or low, not-a-number for neither."""

    states: tuple[str, ...]
    outputs: tuple[str, ...]
    on: Array


def wrong_outputs(board: Board, part: Part, before: Shown) -> tuple[str, ...]:
    """Outputs that a board with ``part`` in the place of its namesake shows otherwise than
    ``before``, in words; one sentence when it could not be predicted."""
    try:
        after = with_part(board, part)
    except HalfsplitError as error:
        return (f"the board could not be predicted with it: {error}",)
    found = []
    for at, state in enumerate(after.states):
        for column, output in enumerate(after.outputs):
            want = before.on[at, 0, column]
            differs = after.on[at, :, column] != want
            if want == want and differs.any():
                how = "" if differs[0] else " with parts at their limits"
                found.append(f"{output!r} is wrong in {state}{how}")
    return tuple(found)


def with_part(board: Board, part: Part | None) -> Shown:
    """What the outputs do with another part in place, or with the board as it is."""
    if part is not None:
        parts = tuple(part if one.designator == part.designator else one for one in board.parts)
        board = replace(board, parts=parts)
    board = with_far_sides(board)
    assembly = assemble(board)
    sweep = Sweep(assembly, [()], {})
    states = [state for state in board.states if state.powered]
    drawn = sample_deviations(assembly, SAMPLES + 1)
    on = [np.stack(list(_shown(assembly, sweep, state, drawn)), axis=-1) for state in states]
    return Shown(
        states=tuple(state.name for state in states),
        outputs=tuple(output.name for output in board.outputs),
        on=np.array(on),
    )


def _shown(
    assembly: Assembly, sweep: Sweep, state: State, drawn: Sequence[Array]
) -> Iterator[Array]:
    """[1 + 2 T] of each output in one state: nominal, then tolerances with the supplies high and
    low."""
    board, circuit = assembly.board, assembly.circuit
    steps = [overlay(circuit, step_changes(assembly, state, step)) for step in state.steps]
    v, params = sweep.good(steps)
    wide = [
        np.concatenate([p, *[np.where(p == g.base[:, :, None], p + d[:, :, 1:], p)] * 2], axis=2)
        for p, d, g in zip(params, drawn, circuit.groups, strict=True)
    ]
    for rail in board.rails:
        group, row, member = circuit.locate((BOARD, f"rail:{rail.net}"), "volts")
        held = float(params[group][row, member, 0])
        if held == circuit.groups[group].base[row, member]:
            for sign, start in ((1.0, 1), (-1.0, 1 + SAMPLES)):
                limit = held * (1.0 + sign * rail.tolerance)
                columns = slice(start, start + SAMPLES)
                lay(wide, ((group, row, member, limit, False),), columns)
    done, _ = persist(circuit, wide, np.repeat(np.nan_to_num(v), 1 + 2 * SAMPLES, axis=1))
    volts = np.where(done.resolved, done.v, np.nan)
    for output in board.outputs:
        yield _on(assembly, output, volts, wide)


def _on(assembly: Assembly, output: Output, v: Array, params: list[Array]) -> Array:
    if output.measure == "current":
        part = assembly.board.part(output.target)
        reading = assembly.kinds[output.target].current(part) if part else None
        if reading is None:
            return np.full(v.shape[1], np.nan)
        group, member = assembly.circuit.where[output.target, reading.element]
        at = assembly.circuit.groups[group]
        here = np.concatenate((v, np.zeros((1, v.shape[1]))))[at.nodes[:, member]]
        amps, _ = at.law.evaluate(here[:, None, :], params[group][:, member][:, None, :], False)
        value = np.abs(amps[0, 0])
        low, high = (1.0 - _NEAR) * output.threshold, (1.0 + _NEAR) * output.threshold
    else:
        node = assembly.net_node[output.target]
        value = v[node] if node >= 0 else np.zeros(v.shape[1])
        low, high = _LEVELS
        if output.measure == "volts":
            low, high = (1.0 - _NEAR) * output.threshold, (1.0 + _NEAR) * output.threshold
    found: Array = np.where(value > high, 1.0, np.where(value < low, 0.0, np.nan))
    return found
