"""Single stuck-at faults of a network of gates, and which of them no vector can tell apart.

A net that goes to several places has a line for its stem and one for each branch. Faults are
joined by the rules for single gates (an input of an AND stuck at 0 is its output stuck at 0, and
so on), which is what published counts of collapsed faults mean. Source: E. J. McCluskey and F. W.
Clegg, "Fault equivalence in combinational logic networks", IEEE Trans. Computers C-20 (1971).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.gates import Bits, Gates, Indices, Kind

__all__ = ["STEM", "Stuck", "stuck_faults"]

STEM = -1
"""Reader of a fault that is at the net as a whole."""
_CONTROLLING = {Kind.AND: 0, Kind.NAND: 0, Kind.OR: 1, Kind.NOR: 1}
"""Value of one input that settles the output."""
_SETTLED = {Kind.AND: 0, Kind.NAND: 1, Kind.OR: 1, Kind.NOR: 0}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stuck:
    """F faults. ``net`` [F]; ``reader`` [F], the gate whose pin it is, or :data:`STEM`; ``pin``
    [F]; ``value`` [F] stuck at; ``kin`` [F], the class of each; ``heads`` [K], one fault of each
    class, the nearest to the outputs."""

    net: Indices
    reader: Indices
    pin: Indices
    value: Bits
    kin: Indices
    heads: Indices


def stuck_faults(network: Gates) -> Stuck:
    """Both faults of every line, in classes."""
    lines = list(_lines(network))
    number = {line: at for at, line in enumerate(lines)}
    parent = list(range(2 * len(lines)))
    for one, other in _alike(network, number):
        parent[_top(parent, one)] = _top(parent, other)
    tops = np.array([_top(parent, fault) for fault in range(len(parent))], dtype=np.int64)
    heads, kin = np.unique(tops, return_inverse=True)
    place = np.repeat(np.array(lines, dtype=np.int64).reshape(-1, 3), 2, axis=0)
    return Stuck(
        net=place[:, 0],
        reader=place[:, 1],
        pin=place[:, 2],
        value=np.tile(np.array([False, True]), len(lines)),
        kin=kin.astype(np.int64),
        heads=heads,
    )


def _lines(network: Gates) -> Iterator[tuple[int, int, int]]:
    for net, readers in enumerate(network.readers):
        yield net, STEM, STEM
        if network.branches(net):
            yield from ((net, reader, pin) for reader, pin in readers)


def _alike(network: Gates, number: dict[tuple[int, int, int], int]) -> Iterator[tuple[int, int]]:
    """Pairs of equivalent faults, the one at the output second; fault 2 l + v is line l at v."""
    for net, kind in enumerate(network.kinds):
        out = 2 * number[net, STEM, STEM]
        for pin, source in enumerate(network.sources[net]):
            line = number.get((source, net, pin), number[source, STEM, STEM])
            if len(network.sources[net]) == 1:
                inverts = kind in (Kind.NOT, Kind.NAND, Kind.NOR, Kind.XNOR)
                yield from ((2 * line + v, out + (v ^ inverts)) for v in (0, 1))
            elif kind in _CONTROLLING:
                yield 2 * line + _CONTROLLING[kind], out + _SETTLED[kind]


def _top(parent: list[int], fault: int) -> int:
    while parent[fault] != fault:
        parent[fault] = parent[parent[fault]]
        fault = parent[fault]
    return fault
