"""Records taken at different times on the same exercise, laid over each other by the sequence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.line import Array, Line

__all__ = ["Alignment", "align", "shifted"]

SAMPLES_A_PULSE = 16
MOST_SAMPLES = 1 << 20
LEAST_OVERLAP = 0.5
"""Of the shorter record."""

ALIKE = 0.02
"""Difference in agreement below which another shift does as well (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """``shift`` (s) to add to the times of the other record; ``agreement`` is the part of the time
    in which the lines then agree; ``rivals`` are other shifts that agree as well: the sequence
    repeats, so that it cannot be told which is right."""

    shift: float
    agreement: float
    rivals: tuple[float, ...]


def align(reference: Sequence[Line], other: Sequence[Line]) -> Alignment:
    """Find the shift at which ``other`` agrees best with ``reference``, line for line.

    By cross-correlation of the levels, then the median distance of edges. Raises
    :class:`WaveError` for different numbers of lines, or when nothing changes.
    """
    if len(reference) != len(other) or not reference:
        raise WaveError(f"expected as many lines in both, got {len(reference)} and {len(other)}")
    gaps = [np.diff(line.edges) for line in (*reference, *other) if len(line.edges) > 1]
    if not gaps:
        raise WaveError("expected lines that change, to align records by their sequence; none does")
    spans = [max(l.stop for l in ls) - min(l.start for l in ls) for ls in (reference, other)]
    interval = max(float(np.median(np.concatenate(gaps))) / SAMPLES_A_PULSE,
                   sum(spans) / MOST_SAMPLES)  # fmt: skip
    first, second = _levels(reference, interval), _levels(other, interval)
    score, lags = _correlate(first, second)
    best = int(score.argmax())
    shift = float(lags[best]) * interval + reference[0].start - other[0].start
    apart = SAMPLES_A_PULSE
    peaks = np.flatnonzero((score[1:-1] >= score[:-2]) & (score[1:-1] >= score[2:])) + 1
    rivals = [
        float(lags[p] - lags[best]) * interval + shift
        for p in peaks.tolist()
        if abs(lags[p] - lags[best]) > apart / 2 and score[p] > score[best] - ALIKE
    ]
    shift += _fine(reference, other, shift, interval)
    return Alignment(
        shift=shift, agreement=float(0.5 + 0.5 * score[best]), rivals=tuple(rivals[:20])
    )


def shifted(line: Line, by: float) -> Line:
    """The line with all its times moved by that many seconds."""
    return replace(line, start=line.start + by, stop=line.stop + by, edges=line.edges + by)


def _levels(lines: Sequence[Line], interval: float) -> Array:
    """[n, K] levels of -1 and 1 on an even grid."""
    start, stop = max(line.start for line in lines), min(line.stop for line in lines)
    if not start < stop:
        raise WaveError("expected lines of one record over the same time")
    count = max(2, int((stop - start) / interval))
    at: Array = np.linspace(start, start + interval * (count - 1), count)
    return np.array([np.where(line.at(at), 1.0, -1.0) for line in lines])


def _correlate(first: Array, second: Array) -> tuple[Array, Array]:
    """Mean product of the levels for every lag with enough overlap, and the lags in samples."""
    n, m = first.shape[1], second.shape[1]
    size = 1 << (n + m - 1).bit_length()
    spectrum = (np.fft.rfft(first, size) * np.conj(np.fft.rfft(second, size))).sum(axis=0)
    product = np.fft.irfft(spectrum, size)
    lags = np.arange(-(m - 1), n)
    overlap = np.minimum(n, lags + m) - np.maximum(0, lags)
    enough = overlap >= LEAST_OVERLAP * min(n, m)
    lags, overlap = lags[enough], overlap[enough]
    score: Array = product[lags % size] / (overlap * len(first))
    return score, lags.astype(float)


def _fine(reference: Sequence[Line], other: Sequence[Line], shift: float, interval: float) -> float:
    """What is left: the median distance to the nearest edge, within two samples."""
    left = []
    for ours, theirs in zip(reference, other, strict=True):
        if not len(ours.edges) or not len(theirs.edges):
            continue
        moved = theirs.edges + shift
        at = np.clip(np.searchsorted(ours.edges, moved), 1, max(1, len(ours.edges) - 1))
        near = np.stack([ours.edges[at - 1], ours.edges[np.minimum(at, len(ours.edges) - 1)]])
        gap = near - moved
        best = np.take_along_axis(gap, np.abs(gap).argmin(axis=0)[None], axis=0)[0]
        left.append(best[np.abs(best) < 2 * interval])
    every = np.concatenate(left) if left else np.empty(0)
    return float(np.median(every)) if len(every) else 0.0
