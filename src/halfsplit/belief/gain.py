"""How much a check is expected to tell: mutual information between its outcome and the suspects.

Source: C. E. Shannon, "A mathematical theory of communication", Bell System Technical Journal 27
(1948); the choice of probes by it: J. de Kleer and B. C. Williams, "Diagnosing multiple faults",
Artificial Intelligence 32 (1987). Gain about suspects is never more than gain about faults (data
processing inequality), so the cheap one ranks first and the dear one is worked out from the top
until no other can win.
"""

from __future__ import annotations

import numpy as np

from halfsplit.belief.posterior import Array, Indices, believed
from halfsplit.belief.tables import Block, Single, Tables, xlog2x
from halfsplit.frozen import dataclass

__all__ = ["Gains", "fault_gains", "group_gain", "group_gains", "screened_gains"]

MANY = 0.7
"""Share of rows from which all are multiplied, which saves choosing them."""
CACHED = 1 << 17
"""Numbers of a table that are copied at a time."""


@dataclass(frozen=True, slots=True)
class Gains:
    """``bits`` [C]; ``exact`` [C] where it is about groups, else it is an upper bound of that."""

    bits: Array
    exact: np.typing.NDArray[np.bool_]


def fault_gains(p: Array, tables: Tables) -> Array:
    """[C] bits expected about which row of ``p`` [F + 1] it is."""
    rows, weights = _believed(p)
    gains = np.zeros(tables.count)
    for block in tables.blocks:
        _, n, width = block.p.shape
        outcome = _mixed(block, rows, weights).reshape(n, width)
        inner = weights @ (block.entropy if rows is None else block.entropy[rows])
        gains[block.checks] = -xlog2x(outcome).sum(axis=1) - inner
    return np.maximum(gains, 0.0)


def group_gains(p: Array, group: Indices, tables: Tables, which: Indices | None = None) -> Array:
    """[C] bits expected about which group it is; ``group`` [F + 1] numbers the rows' groups.
    With ``which`` [n] only about these checks, [n]."""
    kept = believed(p)
    kept = kept[np.argsort(group[kept], kind="stable")]
    weights = (p[kept] / p[kept].sum()).astype(np.float32)
    starts = np.flatnonzero(np.diff(group[kept], prepend=-1))
    sizes = np.diff(starts, append=len(kept))
    alone = np.repeat(sizes == 1, sizes)
    several = [slice(at, at + size) for at, size in zip(starts, sizes, strict=True) if size > 1]
    certain = float(xlog2x(np.add.reduceat(weights, starts)).sum()) if len(kept) else 0.0
    own = float(xlog2x(weights[alone]).sum())
    chosen = tables.of_rows(kept, which)
    gains = np.zeros(chosen.count)
    for block in chosen.blocks:
        _, n, width = block.p.shape
        flat = block.p.reshape(len(kept), n * width)
        mixed = np.empty((len(several), n * width), dtype=np.float32)
        for at, rows in enumerate(several):
            np.dot(weights[rows], flat[rows], out=mixed[at])
        outcome = np.where(alone, weights, np.float32(0.0)) @ flat + mixed.sum(axis=0)
        inner = own - weights[alone] @ block.entropy[alone]
        inner = inner + xlog2x(mixed).reshape(-1, n, width).sum(axis=(0, 2))
        gains[block.checks] = inner - xlog2x(outcome).reshape(n, width).sum(axis=1) - certain
    return np.maximum(gains, 0.0)


def group_gain(p: Array, group: Indices, table: Array) -> float:
    """Bits expected about the group of the rows of one table [n, O], believed by ``p`` [n]."""
    names, at = np.unique(group, return_inverse=True)
    mixed = np.zeros((len(names), table.shape[1]))
    np.add.at(mixed, at, p[:, None] * table)
    shares = mixed.sum(axis=1)
    gain = _sum_xlog2x(mixed) - _sum_xlog2x(mixed.sum(axis=0)) - _sum_xlog2x(shares)
    return max(gain, 0.0)


def screened_gains(
    p: Array, group: Indices, tables: Tables, worth: Array, *, sure: int = 40
) -> Gains:
    """Gains about groups where they can matter.

    ``worth`` [C] multiplies a gain into a score (one over its minutes; 0 leaves a check out).
    At least the ``sure`` best scores are exact: those left as upper bounds score no higher than
    the ``sure``-th exact one.
    """
    bits = fault_gains(p, tables)
    exact = np.zeros(tables.count, dtype=np.bool_)
    order = np.argsort(-bits * worth, kind="stable")
    order = order[(worth[order] > 0.0) & (bits[order] > 0.0)]
    start, size = 0, sure
    while not _settled(bits * worth, order, start, sure):
        batch = order[start : start + size]
        bits[batch] = group_gains(p, group, tables, batch)
        exact[batch] = True
        start, size = start + size, 2 * size
    return Gains(bits, exact)


def _sum_xlog2x(x: Array) -> float:
    some = x[x > 0.0]
    return float((some * np.log2(some)).sum())


def _settled(scores: Array, order: Indices, start: int, sure: int) -> bool:
    """Whether no check from ``start`` on in ``order`` can be among the ``sure`` best."""
    if start >= len(order):
        return True
    done = np.sort(scores[order[:start]])[::-1]
    return start >= sure and bool(done[sure - 1] >= scores[order[start]])


def _believed(p: Array) -> tuple[Indices | None, Single]:
    """Rows worth reckoning with and their weights; no rows and all weights where they are many."""
    keep = believed(p)
    weights = (p[keep] / p[keep].sum()).astype(np.float32)
    if len(keep) > MANY * len(p):
        full = np.zeros(len(p), dtype=np.float32)
        full[keep] = weights
        return None, full
    return keep, weights


def _mixed(block: Block, rows: Indices | None, weights: Single) -> Single:
    """[n * O] outcomes of a block by weighted rows. Few rows are copied at a time: tables are
    large, and what has been copied is used while it is in the processor's cache."""
    flat = block.p.reshape(len(block.p), -1)
    if rows is None:
        return np.asarray(weights @ flat, dtype=np.float32)
    total = np.zeros(flat.shape[1], dtype=np.float32)
    few = max(1, min(len(rows), CACHED // max(flat.shape[1], 1)))
    buffer = np.empty((few, flat.shape[1]), dtype=np.float32)
    for start in range(0, len(rows), few):
        some = rows[start : start + few]
        copied = buffer[: len(some)]
        np.take(flat, some, axis=0, out=copied, mode="clip")
        total += weights[start : start + few] @ copied
    return total
