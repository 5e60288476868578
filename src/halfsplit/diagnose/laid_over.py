"""Recorded lines laid over an exercise: where in the record each of its states is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.build.transient_schedule import Schedule
from halfsplit.capture.record import Analog, Record
from halfsplit.checks._recorded import Bits, Stage
from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.waves.align import Alignment, align
from halfsplit.waves.channels import even_samples, line_of
from halfsplit.waves.digitise import digitise
from halfsplit.waves.line import Line, line_of_changes
from halfsplit.waves.thresholds import Thresholds

__all__ = ["LaidOver", "Trace", "Visit", "lay_over", "traces"]

ANALYSER = (0.8, 2.0)
"""V; an analyser on its usual threshold tells levels below the first from those above the second
(TTL levels, which such a threshold of about 1.4 V is meant for)."""
PACES = np.linspace(0.9, 1.1, 21)
"""The exercise may have been played so much slower or faster than told."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """One net as recorded: its ``line``, None when it is between the levels all the time, and its
    samples, ``volts`` [K] at ``seconds`` [K], where those were recorded."""

    net: str
    line: Line | None
    seconds: Array
    volts: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A state from ``begin`` to ``end`` (s of the record)."""

    state: str
    begin: float
    end: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidOver:
    """``visits`` in order; the lines agree with a good board's for the part ``agreement`` of the
    time. The exercise began ``shift`` s into the record and took ``pace`` times as long as told."""

    visits: tuple[Visit, ...]
    shift: float
    pace: float
    agreement: float


def traces(
    record: Record, by_net: Mapping[str, str], known: Sequence[Stage]
) -> tuple[dict[str, Trace], list[str]]:
    """Net -> trace, of all nets of stages that were recorded; and why others gave none."""
    found: dict[str, Trace] = {}
    left_out = []
    for stage in known:
        for i, net in enumerate(stage.nets):
            if net in by_net:
                try:
                    found[net] = _trace(record, by_net[net], net, stage, i)
                except WaveError as error:
                    left_out.append(f"{net}: {error}")
    return found, left_out


def lay_over(seen: Mapping[str, Trace], known: Sequence[Stage], schedule: Schedule) -> LaidOver:
    """Find where in the record the exercise is, by what a good board shows. Where no line changes
    it begins with the record."""
    moving, due = [], []
    for stage in known:
        for i, net in enumerate(stage.nets):
            trace = seen.get(net)
            if trace is not None and trace.line is not None and len(trace.line.edges):
                moving.append(trace.line)
                due.append(_due(stage, i, schedule))
    start = min((trace.seconds[0] for trace in seen.values() if trace.seconds.size), default=0.0)
    best, pace = Alignment(shift=-float(start), agreement=1.0, rivals=()), 1.0
    if moving:
        tried = [(align([_paced(line, p) for line in due], moving), p) for p in PACES.tolist()]
        best, pace = max(tried, key=lambda one: one[0].agreement)
    visits, at = [], -best.shift
    for phase in schedule.phases:
        end = at + pace * phase.seconds
        visits.append(Visit(state=phase.state, begin=at, end=end))
        at = end
    return LaidOver(visits=tuple(visits), shift=-best.shift, pace=pace, agreement=best.agreement)


def _trace(record: Record, name: str, net: str, stage: Stage, i: int) -> Trace:
    """Raises WaveError."""
    channel = record.channel(name)
    if not isinstance(channel, Analog):
        low, high = stage.swings[:, i].tolist()
        if not (low < ANALYSER[0] and high > ANALYSER[1]):
            raise WaveError(
                f"a good board is between {low:.2g} and {high:.2g} V there, which a logic "
                "analyser does not tell apart; record it with a scope"
            )
        line = replace(line_of(channel, record), name=net)
        return Trace(net=net, line=line, seconds=np.array([line.start]), volts=np.empty(0))
    if channel.unit not in ("V", ""):
        raise WaveError(f"expected volts, got {channel.unit}; choose another column")
    start, interval, volts = even_samples(channel)
    below, above = float(stage.below[i]), float(stage.above[i])
    limits = Thresholds(low=below, high=above, why="predicted for a good board")
    try:
        line_seen = digitise(net, start, interval, volts, thresholds=limits).line
    except WaveError:
        if not np.isfinite(volts).all():
            raise
        line_seen = None
    seconds: Array = (start + interval * np.arange(volts.size)).astype(np.float64)
    return Trace(net=net, line=line_seen, seconds=seconds, volts=volts)


def _due(stage: Stage, i: int, schedule: Schedule) -> Line:
    """What a good board shows on a line, from 0 s on; states that the stage does not list are
    like the one before."""
    high: Bits = stage.healthy[:, i]
    level, at = bool(high[0]), 0.0
    times, values = [], []
    for phase in schedule.phases:
        if phase.state in stage.states:
            level = bool(high[stage.states.index(phase.state)])
        times.append(at)
        values.append(float(level))
        at += phase.seconds
    return line_of_changes(stage.nets[i], np.array(times), np.array(values), stop=at)


def _paced(line: Line, pace: float) -> Line:
    return replace(line, stop=pace * line.stop, edges=pace * line.edges)
