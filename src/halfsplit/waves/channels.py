"""Channels of a record as logic lines and as evenly spaced samples."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.capture.record import HIGH, LOW, Analog, Channel, Digital, Record
from halfsplit.errors import WaveError
from halfsplit.waves.digitise import Digitised, digitise
from halfsplit.waves.line import Array, Line, line_of_changes
from halfsplit.waves.thresholds import choose_thresholds, own_levels

__all__ = ["MOST_SAMPLES", "even_samples", "line_of", "lines_of"]

MOST_SAMPLES = 50_000_000
"""Samples of one channel that are spread evenly when their spacing varies."""


def lines_of(
    record: Record, names: Sequence[str] = (), family: str = "ttl"
) -> tuple[list[Line], list[Digitised]]:
    """Logic lines of the channels named (all of them unless named), and how those of them that
    were recorded in volts became logic. Raises UnknownName, :class:`WaveError`."""
    chosen = [record.channel(name) for name in names] if names else list(record.channels)
    if not chosen:
        raise WaveError(f"{record.source}: expected channels, found none")
    digitised = _as_sisters(chosen, family)
    lines = [
        found.line if found is not None else line_of(channel, record)
        for channel, found in zip(chosen, digitised, strict=True)
    ]
    return lines, [found for found in digitised if found is not None]


def line_of(channel: Channel, record: Record) -> Line:
    """A digital channel as a line over the whole record.

    Where its level is not known, or let go, the last known one holds; before the first known one
    that one does. Raises :class:`WaveError` when it never has a level.
    """
    if not isinstance(channel, Digital):
        raise WaveError(f"{channel.name}: expected a channel of levels, got one of samples")
    known = (channel.values == LOW) | (channel.values == HIGH)
    if not known.any():
        raise WaveError(f"{channel.name}: never has a level, it is unknown all the time")
    times, values = channel.times[known], channel.values[known].astype(float)
    if times[0] > record.begin:
        times, values = np.append(record.begin, times), np.append(values[0], values)
    end = max(record.end, float(times[-1]))
    return line_of_changes(channel.name, times, values, end, channel.tick)


def _as_sisters(channels: Sequence[Channel], family: str) -> list[Digitised | None]:
    """Channels of samples as logic; one that never moves takes the thresholds of its sisters, since
    it cannot show its own."""
    sampled = [even_samples(one) if isinstance(one, Analog) else None for one in channels]
    levels = [own_levels(one[2]) if one else None for one in sampled]
    limits = [choose_thresholds(one, family) for one in levels if one and one.two]
    shared = limits[0] if limits else None
    return [
        digitise(channel.name, *one, family=family, thresholds=None if level.two else shared)
        if one and level
        else None
        for channel, one, level in zip(channels, sampled, levels, strict=True)
    ]


def even_samples(channel: Analog) -> tuple[float, float, Array]:
    """Start (s), interval (s) and samples [K] of a channel, in its unit.

    Where the spacing varies, samples are taken anew at its lower decile. Raises
    :class:`WaveError` for a unit that is no volt or ampere, time that runs backwards, too few
    samples, and too many of them.
    """
    if channel.unit not in ("V", "A", ""):
        raise WaveError(
            f"{channel.name}: expected volts or amperes, got {channel.unit}; choose another column"
        )
    if len(channel.samples) < 2:
        raise WaveError(f"{channel.name}: expected samples, got {len(channel.samples)}")
    if channel.times is None:
        return channel.start, channel.step, channel.samples.astype(float)
    gaps = np.diff(channel.times)
    if (gaps < 0).any():
        raise WaveError(f"{channel.name}: time runs backwards; sort the record")
    interval = float(np.quantile(gaps[gaps > 0], 0.1, method="lower")) if (gaps > 0).any() else 0.0
    span = float(channel.times[-1] - channel.times[0])
    if not interval or span / interval > MOST_SAMPLES:
        raise WaveError(
            f"{channel.name}: expected samples about evenly spaced, got {len(gaps) + 1} over "
            f"{span:.3g} s at least {interval:.3g} s apart; read a part of the record"
        )
    start = float(channel.times[0])
    at = start + interval * np.arange(int(span / interval) + 1)
    return start, interval, channel.at(at)
