"""Comparators that stand on an edge: a few tens of millivolts decide, and no model is that good.

Where the inputs of a comparator are closer than :data:`NEAR`, or nothing holds one of them, its
other answer is as likely as the computed one: the case is solved again with the offset moved
across. A tolerance may turn it over too, but that is the other answer and no spread about this
one: about each, the comparators that turned are held.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.parameters import take_columns
from halfsplit.build.tolerance import Index, Lay
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.analog import Comparator
from halfsplit.solve.persistent import persist
from halfsplit.solve.smooth import sigmoid

__all__ = ["ADRIFT", "NEAR", "Levels", "columns_of", "hold", "holding", "over_edges",
           "turned_levels"]  # fmt: skip

Levels = Mapping[int, Array]
"""Group of comparators -> [M, B] how far each lets go, 0 to 1; not-a-number where it is free."""

NEAR = 0.1
"""Volts between a comparator's inputs below which either answer may come: saturation voltages and
offsets of the kind differ by that much between makers (assumed)."""
_LET_GO = 3.0
"""From where on an output is let go, steepness times volts between the inputs: below it the output
still sinks a twentieth of what it can, which is more than a pull-up gives."""
_TURNED = 0.3
"""What a comparator lets go differs by at least so much when it has turned over."""
ADRIFT = 2e6
"""Source resistance from which on a place floats, ohm: a meter or a bias current moves it."""


def over_edges(
    circuit: Circuit, v: Array, params: Sequence[Array], ohms: Array, other: Array
) -> tuple[Levels, Levels]:
    """Put the other answers of comparators on an edge into ``other`` [N, B], where it is free; the
    levels of those that turn over between the solutions ``v`` [N, B] and there."""
    edge, across = _moved_across(circuit, v, ohms, params)
    given = np.flatnonzero(np.isfinite(other).any(axis=0))
    if edge.size:
        there, _ = persist(circuit, across, v[:, edge])
        free = np.flatnonzero(np.isnan(other[:, edge]).all(axis=0) & there.resolved)
        other[:, edge[free]] = there.v[:, free]
        edge, across = edge[free], take_columns(across, free)
    found: tuple[dict[int, Array], dict[int, Array]] = ({}, {})
    for columns, moved in ((edge, across), (given, take_columns(params, given))):
        if not columns.size:
            continue
        ends = (v[:, columns], take_columns(params, columns)), (other[:, columns], moved)
        for levels, into in zip(turned_levels(circuit, *ends), found, strict=True):
            for number, level in levels.items():
                free_ones = np.full((level.shape[0], v.shape[1]), np.nan)
                into.setdefault(number, free_ones)[:, columns] = level
    return found


def turned_levels(
    circuit: Circuit, before: tuple[Array, Sequence[Array]], after: tuple[Array, Sequence[Array]]
) -> tuple[Levels, Levels]:
    """What the comparators give that turned over between two solutions, each the volts [N, B] and
    the parameters they were found with: in the first one, and in the second."""
    first, second = _levels(circuit, *before), _levels(circuit, *after)
    for number, one in first.items():
        alike = np.abs(one - second[number]) < _TURNED
        one[alike] = second[number][alike] = np.nan
    return first, second


def columns_of(levels: Levels) -> Index:
    """The columns in which a comparator turned."""
    turned = [np.isfinite(level).any(axis=0) for level in levels.values()]
    return np.flatnonzero(np.any(turned, axis=0)) if turned else np.zeros(0, dtype=np.intp)


def hold(circuit: Circuit, params: Sequence[Array], levels: Levels) -> None:
    """Fix the comparators at their levels in ``params`` [P, M, B], in place."""
    for number, level in levels.items():
        names = circuit.groups[number].law.parameters
        fixed, own = np.isfinite(level), params[number]
        a0, a1 = names.index("a0"), names.index("a1")
        own[a0] = np.where(fixed, level, own[a0])
        own[a1] = np.where(fixed, 0.0, own[a1])


def holding(circuit: Circuit, lay: Lay, levels: Levels) -> Lay:
    """``lay``, and the comparators of each column's case fixed at their ``levels``."""

    def laid(params: list[Array], cases: Index) -> list[Array]:
        params = lay(params, cases)
        hold(circuit, params, {number: level[:, cases] for number, level in levels.items()})
        return params

    return laid


def _levels(circuit: Circuit, v: Array, params: Sequence[Array]) -> dict[int, Array]:
    padded = np.concatenate((np.nan_to_num(v), np.zeros((1, v.shape[1]))))
    found = {}
    for number, group in enumerate(circuit.groups):
        if isinstance(group.law, Comparator):
            vos, steep, a0, a1 = params[number][:4]
            apart = padded[group.nodes[3]] - padded[group.nodes[4]] + vos
            found[number] = a0 + a1 * sigmoid(steep * apart)[0]
    return found


def _moved_across(
    circuit: Circuit, v: Array, ohms: Array, params: Sequence[Array]
) -> tuple[npt.NDArray[np.intp], list[Array]]:
    """Columns of ``v`` [N, B] with a comparator on an edge, and their parameters with its offset
    moved so that it answers the other way. ``ohms`` [N, B] are the source resistances."""
    padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
    loose = np.concatenate((ohms, np.zeros((1, v.shape[1])))) > ADRIFT
    on_edge = np.zeros(v.shape[1], dtype=bool)
    shifts: dict[int, Array] = {}
    for number, group in enumerate(circuit.groups):
        if not isinstance(group.law, Comparator):
            continue
        apart = padded[group.nodes[3]] - padded[group.nodes[4]] + params[number][0]
        near = (np.abs(apart) < NEAR) | loose[group.nodes[3]] | loose[group.nodes[4]]
        lets_go = params[number][1] * apart > _LET_GO
        across = np.where(lets_go, -NEAR, NEAR) - apart
        shifts[number] = np.where(near, across, 0.0)
        on_edge |= near.any(axis=0)
    columns = np.flatnonzero(on_edge)
    moved = take_columns(params, columns)
    for number, shift in shifts.items():
        moved[number][0] += shift[:, columns]
    return columns, moved
