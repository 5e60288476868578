"""What every net of a network of gates reads under each of many faults, for one input vector."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.solve.gates import FULL, Bits, Gates, Indices, Kind, Words, columns, gate_output
from halfsplit.solve.gates_faults import STEM

__all__ = ["Change", "Changes", "Seen", "agree", "disagree", "nets_under"]

Seen = npt.NDArray[np.int8]
"""[O] levels at the outputs: 0, 1, or -1 where nobody looked."""


class Change(IntEnum):
    """What a fault does to the place where it is."""

    STUCK_LOW = 0
    STUCK_HIGH = 1
    INVERTED = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Changes:
    """M changes of single places, in F cases: ``case`` [M], below ``count``; ``net`` [M];
    ``reader`` [M], the gate whose pin it is, or :data:`~halfsplit.solve.gates_faults.STEM`;
    ``pin`` [M]; ``what`` [M], a :class:`Change`."""

    count: int
    case: Indices
    net: Indices
    reader: Indices
    pin: Indices
    what: npt.NDArray[np.int8]

    @classmethod
    def single(
        cls, net: Indices, reader: Indices, pin: Indices, what: npt.NDArray[np.int8]
    ) -> Changes:
        """One change in each case."""
        cases = np.arange(len(net))
        return cls(count=len(net), case=cases, net=net, reader=reader, pin=pin, what=what)

    def take(self, cases: Indices) -> Changes:
        """The cases chosen (each once), in that order."""
        place = np.full(self.count, -1)
        place[cases] = np.arange(len(cases))
        kept = np.flatnonzero(place[self.case] >= 0)
        return Changes(
            count=len(cases),
            case=place[self.case[kept]],
            net=self.net[kept],
            reader=self.reader[kept],
            pin=self.pin[kept],
            what=self.what[kept],
        )


def nets_under(network: Gates, changes: Changes, given: Bits) -> Words:
    """[N, W] what each net reads for the vector ``given`` [I]; bit f is in case f."""
    edits = _edits(changes)
    found = np.zeros((len(network.kinds), (changes.count + 63) // 64), dtype=np.uint64)
    found[network.inputs] = np.where(given, FULL, np.uint64(0))[:, None]
    at_gate: dict[int, set[int]] = {}
    for reader, pin in edits:
        at_gate.setdefault(reader, set()).add(pin)
    for net, kind in enumerate(network.kinds):
        if kind != Kind.INPUT:
            fed = [found[source] for source in network.sources[net]]
            for pin in at_gate.get(net, ()):
                if pin >= 0:
                    fed[pin] = fed[pin].copy()
                    _apply(fed[pin], edits[net, pin])
            found[net] = gate_output(kind, fed)
        if (net, STEM) in edits:
            _apply(found[net], edits[net, STEM])
    return found


def agree(network: Gates, changes: Changes, given: Sequence[Bits], seen: Sequence[Seen]) -> Indices:
    """The cases that explain every test: ``given`` [I] each, and ``seen`` [O] each."""
    left = np.arange(changes.count)
    for vector, outputs in zip(given, seen, strict=True):
        nets = nets_under(network, changes.take(left), vector)[network.outputs]
        left = left[~disagree(nets, outputs, len(left))]
    return left


def disagree(outputs: Words, seen: Seen, count: int) -> Bits:
    """[F] whether some of the ``outputs`` [O, W] is not as ``seen`` [O] in each case."""
    wrong = np.zeros(outputs.shape[1], dtype=np.uint64)
    for value, output in zip(seen.tolist(), outputs, strict=True):
        if value >= 0:
            wrong |= ~output if value else output
    return columns(wrong, np.arange(count))


@dataclass(frozen=True, slots=True, eq=False)
class _Edit:
    """Bits of the words numbered ``word``, that :class:`Change` ``what`` is done to."""

    what: int
    word: Indices
    bits: Words


def _edits(changes: Changes) -> Mapping[tuple[int, int], list[_Edit]]:
    """(gate, pin), or (net, STEM) for a net as a whole -> what is done there."""
    at = np.where(changes.reader == STEM, changes.net, changes.reader)
    word = changes.case >> 6
    order = np.lexsort((word, changes.what, changes.pin, at))
    keys = np.stack([at, changes.pin, changes.what.astype(np.int64), word])[:, order]
    starts = np.flatnonzero(np.diff(keys, axis=1, prepend=-2).any(axis=0))
    bit = np.uint64(1) << (changes.case[order] & 63).astype(np.uint64)
    if not len(starts):
        return {}
    masks = np.bitwise_or.reduceat(bit, starts)
    keys = keys[:, starts]
    groups = np.flatnonzero(np.diff(keys[:3], axis=1, prepend=-2).any(axis=0))
    found: dict[tuple[int, int], list[_Edit]] = {}
    for start, end in zip(groups, [*groups[1:], len(masks)], strict=True):
        place, pin, what, _ = keys[:, start].tolist()
        edit = _Edit(what, keys[3, start:end], masks[start:end])
        found.setdefault((place, pin), []).append(edit)
    return found


def _apply(words: Words, edits: Sequence[_Edit]) -> None:
    for edit in edits:
        if edit.what == Change.INVERTED:
            words[edit.word] ^= edit.bits
        elif edit.what == Change.STUCK_HIGH:
            words[edit.word] |= edit.bits
        else:
            words[edit.word] &= ~edit.bits
