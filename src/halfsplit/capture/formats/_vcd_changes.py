"""What a block of a VCD body says, before it is sorted by channel."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.formats._vcd_header import Variable
from halfsplit.frozen import dataclass

__all__ = [
    "BACKWARDS", "BAD_TIME", "BAD_TOKEN", "BAD_VALUE", "DONE", "FULL", "NO_ID", "PROBLEMS",
    "UNKNOWN_ID", "WRONG_KIND", "Changes", "Codes",
]  # fmt: skip

DONE, FULL, BAD_TOKEN, BAD_TIME, BACKWARDS, UNKNOWN_ID, WRONG_KIND, NO_ID, BAD_VALUE = range(9)

PROBLEMS = {
    BAD_TOKEN: "expected a time such as #120, a value such as 1! or $end, got",
    BAD_TIME: "expected a time in whole ticks such as #120, got",
    BACKWARDS: "time goes backwards:",
    UNKNOWN_ID: "this code was not declared by any $var:",
    WRONG_KIND: "a real value for a digital variable, or the other way round:",
    NO_ID: "a value without the code of its variable:",
    BAD_VALUE: "expected a value of 0, 1, x and z, got",
}
"""What to say of each; the words of the file come after."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """K changes of bits and R of reals, in the order of the file.

    ``slot`` [K] int32, ``tick`` [K] int64, ``value`` [K] uint8; ``real_slot`` [R] int32,
    ``real_tick`` [R] int64, ``real`` a text for each. ``first`` is the first time named (-1: none),
    ``now`` the last. ``problem`` stopped it at byte ``at`` (from 0) of the block, unless DONE.
    """

    slot: NDArray[np.int32]
    tick: NDArray[np.int64]
    value: NDArray[np.uint8]
    real_slot: NDArray[np.int32]
    real_tick: NDArray[np.int64]
    real: Sequence[bytes]
    first: int
    now: int
    problem: int = DONE
    at: int = 0


class Codes:
    """The id codes of a file, laid out for both parsers."""

    def __init__(self, variables: Sequence[Variable]) -> None:
        self.count = len(variables)
        codes = [variable.code for variable in variables]
        self.by_code = {code: number for number, code in enumerate(codes)}
        self.longest = max(map(len, codes), default=0)
        self.length = np.array([len(code) for code in codes], dtype=np.int32)
        self.slot = np.array([variable.slot for variable in variables], dtype=np.int32)
        self.width = np.array([variable.width for variable in variables], dtype=np.int32)
        self.kind = np.array(
            [("bits", "real", "text").index(variable.kind) for variable in variables], np.uint8
        )
        self.blob = np.frombuffer(b"".join(codes) or b"\0", dtype=np.uint8)
        self.offset = (np.cumsum(self.length) - self.length).astype(np.int32)
        # For numpy: codes as the last bytes of a machine word, in order; and those of two letters.
        words = [int.from_bytes(code[-8:].rjust(8, b"\0"), "little") for code in codes] or [0]
        keys = np.array(words, dtype=np.uint64)
        self.numbers = np.argsort(keys)
        self.keys = keys[self.numbers]
        self.pairs = np.full(1 << 16, -1, dtype=np.intp)
        if codes and self.longest <= 2:
            self.pairs[(keys >> np.uint64(48)).astype(np.intp)] = np.arange(self.count)
        self.single = np.full(256, -1, dtype=np.int32)
        for code, number in self.by_code.items():
            if len(code) == 1:
                self.single[code[0]] = number
        self.table = np.full(1 << max(4, (2 * self.count).bit_length()), -1, dtype=np.int32)
        for code, number in self.by_code.items():
            at = _hash(code) % self.table.size
            while self.table[at] >= 0:
                at = (at + 1) % self.table.size
            self.table[at] = number


def _hash(code: bytes) -> int:
    """As `id_code` in vcd.c has it."""
    value = 0
    for sign in code:
        value = (value * 31 + sign) & 0xFFFFFFFF
    return value
