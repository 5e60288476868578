"""From voltage to logic with hysteresis, and a list of whatever is not clean about the signal."""

from __future__ import annotations

import numpy as np

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.line import Array, Indices, Line
from halfsplit.waves.thresholds import Levels, Thresholds, choose_thresholds, own_levels

__all__ = ["Blemish", "Digitised", "digitise"]

RINGS_AT_LEAST = 3
"""Alternations about the settled level that make ringing (judgement)."""

RING_SIZE = 0.1
"""Of the swing; smaller alternations are noise (judgement)."""

MOST_VOLTS = 1e5
"""V; what is more was never measured on a board."""

_RING_WINDOW = 200
_SHOWN = 1000
"""Blemishes of one kind kept in the list; all are counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Blemish:
    """One thing that is not clean: ``kind`` is ``glitch``, ``runt``, ``slow edge``, ``ringing`` or
    ``undefined``; ``time`` and ``span`` in s; ``value`` what was measured: V reached by a runt, Hz
    of ringing, else the span."""

    kind: str
    time: float
    span: float
    value: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Digitised:
    """A signal as logic. ``undefined`` s were spent between the thresholds outside edges;
    ``counts`` has how many blemishes of each kind there are, ``blemishes`` the first of them."""

    line: Line
    levels: Levels
    thresholds: Thresholds
    undefined: float
    counts: dict[str, int]
    blemishes: tuple[Blemish, ...]


def digitise(
    name: str,
    start: float,
    interval: float,
    volts: Array,
    family: str = "ttl",
    thresholds: Thresholds | None = None,
    slowest_edge: float | None = None,
    shortest_pulse: float | None = None,
) -> Digitised:
    """Make a logic line of ``volts`` [K], sampled every ``interval`` s from ``start`` s on.

    ``slowest_edge`` (s) is what an edge may take between the thresholds, else three intervals
    and a twentieth of the usual pulse; ``shortest_pulse`` (s) what is no glitch, else a twentieth
    of the usual pulse. Raises :class:`WaveError`.
    """
    volts = np.asarray(volts, float)
    if volts.ndim != 1 or len(volts) < 2:
        raise WaveError(f"{name}: expected at least 2 samples in a row, got {volts.size}")
    if not (np.isfinite(interval) and interval > 0):
        raise WaveError(f"{name}: expected a sample interval above 0 s, got {interval:g}")
    if not np.isfinite(volts).all():
        at = int(np.flatnonzero(~np.isfinite(volts))[0])
        raise WaveError(f"{name}: sample {at + 1} is no number; cut the record before it")
    if np.abs(volts).max() > MOST_VOLTS:
        raise WaveError(
            f"{name}: expected volts, got {np.abs(volts).max():.3g}; choose the unit of the column"
        )
    levels = own_levels(volts)
    limits = thresholds or choose_thresholds(levels, family)
    side = np.where(volts <= limits.low, 0, np.where(volts >= limits.high, 1, -1)).astype(np.int64)
    defined: Indices = np.flatnonzero(side >= 0).astype(np.int64)
    stop = start + interval * len(volts)
    if not len(defined):
        raise WaveError(
            f"{name}: never below {limits.low:.2f} V nor above {limits.high:.2f} V, so it has no "
            f"level; it stays near {levels.low:.2f} V: floating, or another family"
        )
    turns = np.flatnonzero(np.diff(side[defined]) != 0)
    before, after = defined[turns], defined[turns + 1]
    rise: Array = (limits.middle - volts[before]) / (volts[after] - volts[before])
    edges = (start + interval * (before + rise * (after - before))).astype(float)
    line = Line(
        name=name, start=start, stop=stop, first=bool(side[defined[0]]), edges=edges,
        resolution=interval,
    )  # fmt: skip
    usual = float(np.median(np.diff(edges))) if len(edges) > 1 else stop - start
    slow = max(3 * interval, 0.05 * usual) if slowest_edge is None else slowest_edge
    short = 0.05 * usual if shortest_pulse is None else shortest_pulse
    found = [
        *_glitches(line, short),
        *_slow_edges(before, after, start, interval, slow),
        *_between(volts, side, defined, limits, start, interval, slow),
        *_ringing(volts, after, levels, start, interval),
    ]
    inside = int((side < 0).sum()) - int((after - before - 1).sum())
    return Digitised(
        line=line, levels=levels, thresholds=limits, undefined=interval * inside,
        counts={kind: sum(b.kind == kind for b in found) for kind in {b.kind for b in found}},
        blemishes=tuple(sorted(found, key=lambda b: b.time)[:_SHOWN]),
    )  # fmt: skip


def _glitches(line: Line, shortest: float) -> list[Blemish]:
    gaps = np.diff(line.edges)
    return [
        Blemish(kind="glitch", time=float(line.edges[i]), span=float(gaps[i]), value=float(gaps[i]))
        for i in np.flatnonzero(gaps < shortest)
    ]


def _slow_edges(
    before: Indices, after: Indices, start: float, interval: float, slowest: float
) -> list[Blemish]:
    spans = interval * (after - before)
    return [
        Blemish(
            kind="slow edge",
            time=float(start + interval * before[i]),
            span=float(spans[i]),
            value=float(spans[i]),
        )
        for i in np.flatnonzero(spans > slowest)
    ]


def _between(
    volts: Array,
    side: Indices,
    defined: Indices,
    limits: Thresholds,
    start: float,
    interval: float,
    slowest: float,
) -> list[Blemish]:
    """Runts, which leave a level and come back to it, and stretches left undefined at an end."""
    found = []
    gaps = np.flatnonzero((np.diff(defined) > 1) & (np.diff(side[defined]) == 0))
    band = limits.high - limits.low
    for i in gaps.tolist():
        a, b = int(defined[i]) + 1, int(defined[i + 1])
        peak = float(volts[a:b].max() if side[defined[i]] == 0 else volts[a:b].min())
        into = peak - limits.low if side[defined[i]] == 0 else limits.high - peak
        span = interval * (b - a)
        if span > slowest:
            found.append(("undefined", a, span, span))
        elif into > 0.25 * band:
            found.append(("runt", a, span, peak))
    for a, b in ((0, int(defined[0])), (int(defined[-1]) + 1, len(volts))):
        if interval * (b - a) > slowest:
            found.append(("undefined", a, interval * (b - a), interval * (b - a)))
    return [
        Blemish(kind=kind, time=start + interval * at, span=span, value=value)
        for kind, at, span, value in found
    ]


def _ringing(
    volts: Array, after: Indices, levels: Levels, start: float, interval: float
) -> list[Blemish]:
    """Alternations about the settled level after an edge, and their frequency."""
    if not levels.two:
        return []
    found = []
    ends = np.append(after[1:], len(volts))
    for at, end in zip(after.tolist()[:_SHOWN], ends.tolist(), strict=False):
        part = volts[at : min(end, at + _RING_WINDOW)]
        if len(part) < 8:
            continue
        off = part - np.median(part[len(part) // 2 :])
        big = np.flatnonzero(np.abs(off) > RING_SIZE * levels.swing)
        turns = big[1:][np.diff(np.sign(off[big])) != 0]
        if len(turns) >= RINGS_AT_LEAST:
            half = interval * (turns[-1] - turns[0]) / (len(turns) - 1)
            found.append(
                Blemish(
                    kind="ringing",
                    time=start + interval * at,
                    span=interval * float(big[-1]),
                    value=0.5 / half,
                )
            )
    return found
