"""Networks of logic gates as arrays, and their values for many input vectors at once.

Every bit of an unsigned 64-bit word is one case (a vector, or a fault), so that one instruction
works 64 cases. Bit k of word w is case 64 w + k; a last word that is not full carries cases that
mean nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import IntEnum
from functools import reduce
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from halfsplit.errors import SolveError
from halfsplit.frozen import dataclass

__all__ = [
    "FULL",
    "Bits",
    "Gates",
    "Indices",
    "Kind",
    "Words",
    "columns",
    "gate_output",
    "gates",
    "pack",
    "used",
    "values",
]

Words: TypeAlias = npt.NDArray[np.uint64]
Bits: TypeAlias = npt.NDArray[np.bool_]
Indices: TypeAlias = npt.NDArray[np.int64]

FULL = np.uint64(0xFFFF_FFFF_FFFF_FFFF)


class Kind(IntEnum):
    """What feeds a net."""

    INPUT = 0
    ZERO = 1
    ONE = 2
    BUF = 3
    NOT = 4
    AND = 5
    NAND = 6
    OR = 7
    NOR = 8
    XOR = 9
    XNOR = 10


_INVERTING = frozenset({Kind.NOT, Kind.NAND, Kind.NOR, Kind.XNOR})
_OPERATION = {
    Kind.AND: np.bitwise_and, Kind.NAND: np.bitwise_and,
    Kind.OR: np.bitwise_or, Kind.NOR: np.bitwise_or,
    Kind.XOR: np.bitwise_xor, Kind.XNOR: np.bitwise_xor,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gates:
    """N nets, each fed by one gate or from outside; a gate's sources come before its own net.

    ``kinds`` [N]; ``sources`` N tuples of nets; ``readers`` N tuples of (net, pin): where each net
    goes; ``inputs`` [I]; ``outputs`` [O], the nets that are seen from outside.
    """

    kinds: tuple[Kind, ...]
    sources: tuple[tuple[int, ...], ...]
    readers: tuple[tuple[tuple[int, int], ...], ...]
    inputs: Indices
    outputs: Indices

    def branches(self, net: int) -> bool:
        """Whether the net goes to more than one place, the outside being one."""
        return len(self.readers[net]) + bool((self.outputs == net).any()) > 1


def gates(kinds: Sequence[Kind], sources: Sequence[Sequence[int]], outputs: Iterable[int]) -> Gates:
    """The network of N nets. Raises :class:`SolveError` when it is not in order."""
    readers: list[list[tuple[int, int]]] = [[] for _ in kinds]
    for net, (kind, feeding) in enumerate(zip(kinds, sources, strict=True)):
        wanted = _inputs(kind)
        if len(feeding) < wanted or (kind < Kind.AND and len(feeding) > wanted):
            words = f"{wanted} input{'' if wanted == 1 else 's'}"
            more = " or more" if kind >= Kind.AND else ""
            raise SolveError(f"gate {net}, {kind.name}: expected {words}{more}, got {len(feeding)}")
        for pin, source in enumerate(feeding):
            if not 0 <= source < net:
                raise SolveError(f"gate {net}: expected sources before it, got net {source}")
            readers[source].append((net, pin))
    return Gates(
        kinds=tuple(kinds),
        sources=tuple(tuple(each) for each in sources),
        readers=tuple(tuple(each) for each in readers),
        inputs=np.flatnonzero(np.asarray(kinds) == Kind.INPUT),
        outputs=np.fromiter(outputs, dtype=np.int64),
    )


def values(network: Gates, given: Words) -> Words:
    """[N, W] value of every net for ``given`` [I, W] input words."""
    found = np.zeros((len(network.kinds), given.shape[1]), dtype=np.uint64)
    found[network.inputs] = given
    for net, kind in enumerate(network.kinds):
        if kind != Kind.INPUT:
            found[net] = gate_output(kind, [found[source] for source in network.sources[net]])
    return found


def gate_output(kind: Kind, fed: Sequence[Words]) -> Words:
    """What a gate gives for its inputs; it may be one of them, so do not write into it."""
    if not fed:
        return np.asarray(FULL if kind == Kind.ONE else 0, dtype=np.uint64)
    joined = reduce(_OPERATION[kind], fed) if len(fed) > 1 else fed[0]
    return ~joined if kind in _INVERTING else joined


def pack(bits: Bits) -> Words:
    """[..., W] words of ``bits`` [..., cases]."""
    room = -bits.shape[-1] % 64
    padded = np.pad(bits, [(0, 0)] * (bits.ndim - 1) + [(0, room)])
    return np.packbits(padded, axis=-1, bitorder="little").view("<u8").astype(np.uint64)


def columns(words: Words, cases: Indices) -> Bits:
    """[..., cases] bits of ``words`` [..., W] for the cases chosen."""
    shift = (cases & 63).astype(np.uint64)
    return (words[..., cases >> 6] >> shift & np.uint64(1)).astype(np.bool_)


def used(cases: int) -> Words:
    """[W] words with a one for each of so many cases."""
    return pack(np.ones(cases, dtype=np.bool_))


def _inputs(kind: Kind) -> int:
    return 0 if kind < Kind.BUF else 1
