"""A logic line as its edges, and several lines side by side as the codes they pass through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass

__all__ = [
    "Array",
    "Bits",
    "Codes",
    "Indices",
    "Line",
    "States",
    "line_of_changes",
    "merge",
    "window",
]

Array: TypeAlias = npt.NDArray[np.float64]
Bits: TypeAlias = npt.NDArray[np.bool_]
Codes: TypeAlias = npt.NDArray[np.int64]
Indices: TypeAlias = npt.NDArray[np.int64]

MOST_LINES = 62
"""Bits of a code in a signed 64-bit number."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """One logic line from ``start`` to ``stop`` (s): its level ``first``, and the ``edges`` [K] at
    which it changes, rising. ``resolution`` (s) is how finely the edges were timed, 0 if exact."""

    name: str
    start: float
    stop: float
    first: bool
    edges: Array
    resolution: float = 0.0

    def at(self, times: Array) -> Bits:
        """[T] the level at each of the times."""
        passed = np.searchsorted(self.edges, times, side="right")
        levels: Bits = (passed % 2 == 1) ^ self.first
        return levels

    def pulses(self, level: bool) -> Array:
        """[P, 2] start and end of every whole pulse of that level, those cut off left out."""
        skip = 0 if self.first != level else 1
        inner = self.edges[skip:]
        inner = inner[: len(inner) // 2 * 2]
        return inner.reshape(-1, 2)

    def share_high(self) -> float:
        """Part of the time spent high."""
        borders = np.concatenate(([self.start], self.edges, [self.stop]))
        spans = np.diff(borders)
        high = spans[0 if self.first else 1 :: 2].sum()
        return float(high / max(spans.sum(), np.finfo(float).tiny))

    def inverted(self) -> Line:
        """The same with high and low exchanged."""
        return replace(self, first=not self.first)

    def without_short(self, shortest: float) -> tuple[Line, Array]:
        """The line without pulses of either level shorter than ``shortest``, and those [P, 2]."""
        edges = self.edges
        if len(edges) < 2:
            return self, np.empty((0, 2))
        kept: list[float] = []
        removed: list[tuple[float, float]] = []
        for edge in edges.tolist():
            if kept and edge - kept[-1] < shortest:
                removed.append((kept.pop(), edge))
            else:
                kept.append(edge)
        return replace(self, edges=np.array(kept)), np.array(removed).reshape(-1, 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class States:
    """Lines side by side: ``codes`` [K] hold from ``times`` [K] on, bit i of a code is line i, up
    to ``stop`` (s). Neighbouring codes differ."""

    names: tuple[str, ...]
    times: Array
    codes: Codes
    stop: float
    resolution: float

    @property
    def spans(self) -> Array:
        """[K] how long each code holds, s."""
        return np.diff(np.append(self.times, self.stop))

    def bits(self) -> Bits:
        """[K, n] the codes line by line."""
        return (self.codes[:, None] >> np.arange(len(self.names)) & 1).astype(bool)


def line_of_changes(
    name: str, times: Array, values: Array, stop: float | None = None, resolution: float = 0.0
) -> Line:
    """A line from ``values`` [K] (0 or 1) that hold from ``times`` [K] (s) on.

    Raises :class:`WaveError` for times that run backwards, values that are no levels, nothing.
    """
    times, values = np.asarray(times, float), np.asarray(values, float)
    if times.ndim != 1 or times.shape != values.shape or not len(times):
        raise WaveError(
            f"{name}: expected as many times as levels and at least one, got {times.size} times "
            f"and {values.size} levels"
        )
    end = float(times[-1]) if stop is None else float(stop)
    _check_times(name, np.append(times, end))
    if not np.isin(values, (0.0, 1.0)).all():
        odd = float(values[~np.isin(values, (0.0, 1.0))][0])
        raise WaveError(
            f"{name}: expected levels 0 and 1, got {odd:g}; volts are made into levels first"
        )
    level = values.astype(bool)
    last = np.append(np.diff(times) > 0, True)
    times, level = times[last], level[last]
    change = np.flatnonzero(np.diff(level)) + 1
    return Line(
        name=name, start=float(times[0]), stop=end, first=bool(level[0]), edges=times[change],
        resolution=resolution,
    )  # fmt: skip


def merge(lines: Sequence[Line]) -> States:
    """The codes that the lines pass through together, over the time all of them cover.

    Raises :class:`WaveError` without lines, with too many, or when they share no time.
    """
    if not 1 <= len(lines) <= MOST_LINES:
        raise WaveError(f"expected 1 to {MOST_LINES} lines, got {len(lines)}")
    start = max(line.start for line in lines)
    stop = min(line.stop for line in lines)
    if not start < stop:
        raise WaveError(
            "expected lines recorded at the same time, got "
            + "; ".join(f"{line.name} {line.start:g} to {line.stop:g} s" for line in lines)
        )
    edges = np.unique(np.concatenate([line.edges for line in lines]))
    times = np.concatenate(([start], edges[(edges > start) & (edges < stop)]))
    codes = np.zeros(len(times), np.int64)
    for i, line in enumerate(lines):
        codes |= line.at(times).astype(np.int64) << i
    keep = np.concatenate(([True], np.diff(codes) != 0))
    return States(
        names=tuple(line.name for line in lines), times=times[keep], codes=codes[keep], stop=stop,
        resolution=max(line.resolution for line in lines),
    )  # fmt: skip


def window(line: Line, start: float, stop: float) -> Line:
    """The part of a line from ``start`` to ``stop`` (s)."""
    inside = line.edges[(line.edges > start) & (line.edges < stop)]
    first = bool(line.at(np.array([start]))[0])
    return replace(line, start=start, stop=stop, first=first, edges=inside)


def _check_times(name: str, times: Array) -> None:
    if not np.isfinite(times).all():
        raise WaveError(f"{name}: expected times in seconds, got some that are no numbers")
    back = np.flatnonzero(np.diff(times) < 0)
    if len(back):
        at = int(back[0])
        raise WaveError(
            f"{name}: time runs backwards, from {times[at]:g} s to {times[at + 1]:g} s at change "
            f"{at + 2}; sort the record, or read its time column in the right unit"
        )
