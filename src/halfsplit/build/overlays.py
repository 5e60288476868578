"""The overlays of many cases, laid over a batch of parameters in a few writes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.clocking import Bits
from halfsplit.build.parameters import Overlay, lay
from halfsplit.build.tolerance import Lay
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["Overlays", "lay_over", "layer"]

Index = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Write:
    """Settings of one group that are written at once, in the order of their cases [E]."""

    group: int
    scale: bool
    case: Index
    row: Index
    member: Index
    value: Array


class Overlays:
    """The overlays of C cases. Settings of one parameter by one case keep their order."""

    def __init__(self, overlays: Sequence[Overlay]) -> None:
        found: dict[tuple[int, int, bool], list[tuple[int, int, int, float]]] = defaultdict(list)
        for case, what in enumerate(overlays):
            before: dict[tuple[int, int, int], int] = defaultdict(int)
            for group, row, member, value, scale in what:
                at = (group, row, member)
                found[before[at], group, scale].append((case, row, member, value))
                before[at] += 1
        self._writes = []
        for (_, group, scale), settings in sorted(found.items()):
            cases, rows, members = np.asarray([at[:3] for at in settings], dtype=np.intp).T
            values = np.asarray([at[3] for at in settings])
            self._writes.append(_Write(group, scale, cases, rows, members, values))

    def lay(self, params: Sequence[Array], cases: Index) -> None:
        """Write the overlay of each column's case [B] over it, in place."""
        for write in self._writes:
            first = np.searchsorted(write.case, cases)
            count = np.searchsorted(write.case, cases, side="right") - first
            column = np.repeat(np.arange(cases.size), count)
            entry = np.arange(column.size) + np.repeat(first - np.cumsum(count) + count, count)
            at = write.row[entry], write.member[entry], column
            if write.scale:
                params[write.group][at] *= write.value[entry]
            else:
                params[write.group][at] = write.value[entry]


def lay_over(params: list[Array], step: Overlay, overlays: Overlays, cases: Index) -> list[Array]:
    """``params`` [P, M, B] with a step and the overlay of each column's case [B] laid over, in
    place."""
    lay(params, step, slice(None))
    overlays.lay(params, cases)
    return params


def layer(step: Overlay, overlays: Sequence[Overlay], bits: Bits) -> Lay:
    """Lays a step, the overlay of each column's case and its stored bits over drawn parameters."""
    faults = Overlays(overlays)

    def laid(params: list[Array], cases: Index) -> list[Array]:
        lay_over(params, step, faults, cases)
        bits.take(cases).write(params, slice(None))
        return params

    return laid
