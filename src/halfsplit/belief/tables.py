"""Outcome tables of many checks, packed so that gain is a few matrix products.

**C** checks, **F** + 1 rows (last: something else), **O** outcomes. A table's columns that are
the same under every listed fault tell the listed faults apart no better than one column would, so
they are merged; then tables are padded to a few widths and stacked by width.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

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
    def pack(cls, tables: Sequence[Array], rows: int) -> Tables:
        """From C tables [F + 1, O], each with rows that sum to one."""
        by_width: dict[int, list[tuple[int, Array]]] = {}
        for index, table in enumerate(tables):
            merged = _merge(table)
            width = -(-merged.shape[1] // STEP) * STEP
            by_width.setdefault(width, []).append((index, merged))
        blocks = []
        for width, members in sorted(by_width.items()):
            p = np.zeros((rows, len(members), width), dtype=np.float32)
            for at, (_, merged) in enumerate(members):
                p[:, at, : merged.shape[1]] = merged
            checks = np.array([index for index, _ in members], dtype=np.int64)
            blocks.append(Block(checks=checks, p=p, entropy=-xlog2x(p).sum(axis=2)))
        return cls(count=len(tables), rows=rows, blocks=tuple(blocks))

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
