"""How much a check is expected to tell: mutual information between its outcome and the suspects.

Source: C. E. Shannon, "A mathematical theory of communication", Bell System Technical Journal 27
(1948); the choice of probes by it: J. de Kleer and B. C. Williams, "Diagnosing multiple faults",
Artificial Intelligence 32 (1987). Gain about suspects is never more than gain about faults (data
processing inequality), so the cheap one ranks first and the dear one is worked out from the top
until no other can win.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfsplit.belief.posterior import Array, Indices, believed
from halfsplit.belief.tables import Block, Single, Tables, xlog2x

__all__ = ["Gains", "fault_gains", "group_gain", "group_gains", "screened_gains"]


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
        outcome = (weights @ _of(block, rows)).reshape(n, width)
        inner = weights @ (block.entropy if rows is None else block.entropy[rows])
        gains[block.checks] = -xlog2x(outcome).sum(axis=1) - inner
    return np.maximum(gains, 0.0)


def group_gains(p: Array, group: Indices, tables: Tables) -> Array:
    """[C] bits expected about which group it is; ``group`` [F + 1] numbers the rows' groups."""
    kept = believed(p)
    kept = kept[np.argsort(group[kept], kind="stable")]
    weights = (p[kept] / p[kept].sum()).astype(np.float32)
    starts = np.flatnonzero(np.diff(group[kept], prepend=-1))
    sizes = np.diff(starts, append=len(kept))
    alone = np.repeat(sizes == 1, sizes)
    several = np.flatnonzero(~alone)
    within = np.cumsum(np.append(0, sizes[sizes > 1]))[:-1]
    certain = float(xlog2x(np.add.reduceat(weights, starts)).sum()) if len(kept) else 0.0
    own = float(xlog2x(weights[alone]).sum())
    gains = np.zeros(tables.count)
    for block in tables.blocks:
        _, n, width = block.p.shape
        flat = block.p.reshape(len(p), n * width)
        outcome = weights[alone] @ flat[kept[alone]]
        inner = own - weights[alone] @ block.entropy[kept[alone]]
        if len(several):
            joint = flat[kept[several]]
            joint *= weights[several, None]
            mixed = np.add.reduceat(joint, within, axis=0)
            outcome = outcome + mixed.sum(axis=0)
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
        bits[batch] = group_gains(p, group, tables.take(batch))
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
    keep = believed(p)
    weights = (p[keep] / p[keep].sum()).astype(np.float32)
    if len(keep) * 2 > len(p):
        full = np.zeros(len(p), dtype=np.float32)
        full[keep] = weights
        return None, full
    return keep, weights


def _of(block: Block, rows: Indices | None) -> Single:
    p = block.p if rows is None else block.p[rows]
    return p.reshape(p.shape[0], -1)
