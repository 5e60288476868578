"""Outcome tables of many checks, packed so that gain is a few matrix products.

**C** checks, **F** + 1 rows (last: something else), **O** outcomes. A table's columns that are
the same under every listed fault tell the listed faults apart no better than one column would, so
they are merged; then tables are padded to a few widths and stacked by width.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array, Indices
from halfsplit.frozen import dataclass

__all__ = ["Block", "Single", "Tables"]

Single = npt.NDArray[np.float32]

SAME = 1e-6
"""Columns that vary less than this over the faults are merged."""
STEP = 8
"""Widths are multiples of this."""
_NEAR = 64
"""Rows of all checks that are written before the next ones, for the sake of the cache."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """n checks of equal width.

    ``checks`` [n] their indices, ``p`` [F + 1, n, O] the tables, ``entropy`` [F + 1, n] of every
    row in bits.
    """

    checks: Indices
    p: Single
    entropy: Single


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables:
    """The tables of ``count`` checks over ``rows`` = F + 1 rows, in blocks."""

    count: int
    rows: int
    blocks: tuple[Block, ...]

    @classmethod
    def pack(cls, tables: Iterable[Array], rows: int) -> Tables:
        """From C tables [F + 1, O], each with rows that sum to one. They are taken one by one:
        all together they are much larger than what is made of them."""
        by_width: dict[int, list[tuple[int, Single]]] = {}
        count = 0
        for table in tables:
            merged = _merge(table).astype(np.float32)
            width = -(-merged.shape[1] // STEP) * STEP
            by_width.setdefault(width, []).append((count, merged))
            count += 1
        blocks = []
        for width, members in sorted(by_width.items()):
            p = np.zeros((rows, len(members), width), dtype=np.float32)
            entropy = np.empty((rows, len(members)), dtype=np.float32)
            for at, (_, merged) in enumerate(members):
                entropy[:, at] = -xlog2x(merged).sum(axis=1)
            for start in range(0, rows, _NEAR):  # rows of one check lie far apart in the block
                near = slice(start, start + _NEAR)
                for at, (_, merged) in enumerate(members):
                    p[near, at, : merged.shape[1]] = merged[near]
            checks = np.array([index for index, _ in members], dtype=np.int64)
            blocks.append(Block(checks=checks, p=p, entropy=entropy))
        return cls(count=count, rows=rows, blocks=tuple(blocks))

    def table(self, check: int) -> Single:
        """[F + 1, O] of one check, its columns merged and padded."""
        for block in self.blocks:
            at = np.flatnonzero(block.checks == check)
            if len(at):
                return block.p[:, int(at[0])]
        raise IndexError(f"expected a check below {self.count}, got {check}")

    @classmethod
    def join(cls, parts: Sequence[Tables], rows: int) -> Tables:
        """One after the other; nothing is copied."""
        blocks, count = [], 0
        for part in parts:
            for block in part.blocks:
                moved = block.checks + count
                blocks.append(Block(checks=moved, p=block.p, entropy=block.entropy))
            count += part.count
        return cls(count=count, rows=rows, blocks=tuple(blocks))

    def of_rows(self, rows: Indices, which: Indices | None = None) -> Tables:
        """Some rows only, in the order of ``rows``; of some checks only, as :meth:`take`."""
        which = np.arange(self.count) if which is None else which
        blocks = []
        for block, checks, at in self._renumbered(which):
            p, entropy = block.p[np.ix_(rows, at)], block.entropy[np.ix_(rows, at)]
            blocks.append(Block(checks=checks, p=p, entropy=entropy))
        return Tables(count=len(which), rows=len(rows), blocks=tuple(blocks))

    def take(self, which: Indices) -> Tables:
        """The tables of some checks, numbered anew in the order of ``which``; a block that is
        taken whole is not copied."""
        blocks = []
        for block, checks, at in self._renumbered(which):
            whole = len(at) == len(block.checks)
            p = block.p if whole else block.p[:, at]
            entropy = block.entropy if whole else block.entropy[:, at]
            blocks.append(Block(checks=checks, p=p, entropy=entropy))
        return Tables(count=len(which), rows=self.rows, blocks=tuple(blocks))

    def _renumbered(self, which: Indices) -> Iterator[tuple[Block, Indices, Indices]]:
        """Blocks that hold some of ``which``: their new numbers, and where in the block."""
        new_index = np.full(self.count, -1, dtype=np.int64)
        new_index[which] = np.arange(len(which))
        for block in self.blocks:
            inside = new_index[block.checks]
            at = np.flatnonzero(inside >= 0).astype(np.int64)
            if len(at):
                yield block, inside[at], at


def xlog2x(x: Single) -> Single:
    """x log2 x, zero at zero."""
    logs = np.log2(np.maximum(x, np.float32(1e-30)))
    return np.asarray(np.multiply(x, logs, out=logs), dtype=np.float32)


def _merge(table: Array) -> Array:
    listed = table[:-1]
    same = listed.max(axis=0) - listed.min(axis=0) <= SAME
    if same.sum() < 2:
        return table
    together = table[:, same].sum(axis=1, keepdims=True)
    return np.hstack([table[:, ~same], together])
