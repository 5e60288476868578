"""Which vectors show which stuck-at faults, all at once.

Up to the next stem a fault has one way to go, so whether it gets there is read off backwards. Only
flipped stems are simulated, many side by side. In logic without memory this is exact for single
faults. Source: M. Abramovici, P. R. Menon and D. T. Miller, "Critical path tracing: an alternative
to fault simulation", IEEE Design & Test 1 (1984), with the stems simulated instead of traced.
"""

from __future__ import annotations

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.gates import (
    FULL,
    Bits,
    Gates,
    Indices,
    Kind,
    Words,
    gate_output,
    pack,
    used,
    values,
)
from halfsplit.solve.gates_faults import STEM, Stuck

__all__ = ["shown_by"]

_BLOCK = 2048
"""Words of one net that are worked at once: few enough to stay in a cache."""


def shown_by(network: Gates, stuck: Stuck, faults: Indices, given: Bits) -> Words:
    """[F, W] words with a one where vector k of ``given`` [I, K] shows the fault at an output, for
    the F ``faults`` chosen from ``stuck``."""
    good = values(network, pack(given))
    paths = _paths(network, good)
    reader = stuck.reader[faults]
    reached = np.where(reader == STEM, stuck.net[faults], reader)
    stems = np.unique(paths.stem[reached])
    seen = np.zeros_like(good)
    for block in np.array_split(stems, max(1, -(-len(stems) * good.shape[1] // _BLOCK))):
        seen[block] = _flipped_stems_seen(network, good, block)
    seen &= used(given.shape[1])
    found = good[stuck.net[faults]]
    found[stuck.value[faults]] ^= FULL
    found &= (paths.open & seen[paths.stem])[reached]
    for row in np.flatnonzero(reader != STEM).tolist():
        pin = int(stuck.pin[faults[row]])
        found[row] &= _lets_through(network, good, int(reached[row]), pin)
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Paths:
    """``stem`` [N] that each net leads to; ``open`` [N, W] where a change gets that far."""

    stem: Indices
    open: Words


def _paths(network: Gates, good: Words) -> _Paths:
    stem = np.arange(len(network.kinds))
    opened = np.full_like(good, FULL)
    outside = set(network.outputs.tolist())
    for net in range(len(network.kinds) - 1, -1, -1):
        if len(network.readers[net]) == 1 and net not in outside:
            ((reader, pin),) = network.readers[net]
            stem[net] = stem[reader]
            opened[net] = opened[reader] & _lets_through(network, good, reader, pin)
    return _Paths(stem, opened)


def _lets_through(network: Gates, good: Words, gate: int, pin: int) -> Words:
    """[W] where a change of that input alone changes the output."""
    kind = network.kinds[gate]
    others = [good[net] for at, net in enumerate(network.sources[gate]) if at != pin]
    if not others or kind in (Kind.XOR, Kind.XNOR):
        return np.full_like(good[gate], FULL)
    return gate_output(Kind.AND if kind in (Kind.AND, Kind.NAND) else Kind.NOR, others)


def _flipped_stems_seen(network: Gates, good: Words, stems: Indices) -> Words:
    """[S, W] where some output changes when one of the S stems is the other way round."""
    shape = len(stems), good.shape[1]
    rows: dict[int, list[int]] = {}
    for row, stem in enumerate(stems.tolist()):
        rows.setdefault(stem, []).append(row)
    changed: dict[int, Words] = {}
    for net in range(int(stems.min()), len(network.kinds)):
        sources = network.sources[net]
        if not changed.keys().isdisjoint(sources):
            fed = [changed.get(source, good[source]) for source in sources]
            changed[net] = gate_output(network.kinds[net], fed)
        if net in rows:
            # a copy, for what a buffer gives is its input's own array
            flipped = np.array(np.broadcast_to(changed.get(net, good[net]), shape))
            flipped[rows[net]] ^= FULL
            changed[net] = flipped
    seen = np.zeros(shape, dtype=np.uint64)
    for output in network.outputs.tolist():
        if output in changed:
            seen |= changed[output] ^ good[output]
    return seen
