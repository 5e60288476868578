"""A kept record that came from other hands: nothing in it is believed before it was looked at."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.kept import record_in
from halfsplit.capture.record import Analog, Channel, Digital, Record, Z
from halfsplit.errors import CaptureError

__all__ = ["foreign"]

MOST_CHANNELS = 1_000
MOST_NAME = 200
_CHUNK = 1 << 22


def foreign(folder: Path) -> Record:
    """The record in a folder, its arrays mapped; its summaries are not read, since whoever keeps
    it makes them anew. Raises :class:`CaptureError` for anything that no record has."""
    record = record_in(folder)
    named = (record.source, *record.remarks, *record.names)
    if not all(isinstance(one, str) and len(one) <= MOST_NAME * 5 for one in named):
        raise _refused(folder, "names that are no texts")
    if len(set(record.names)) != len(record.names) or len(record.names) > MOST_CHANNELS:
        raise _refused(folder, "channels that are too many, or two of one name")
    if not (_finite(record.begin, record.end) and record.begin <= record.end):
        raise _refused(folder, "a beginning after its end")
    for channel in record.channels:
        wrong = _wrong(channel)
        if wrong:
            raise _refused(folder, f"{wrong} in channel {channel.name!r:.80}")
    return record


def _wrong(channel: Channel) -> str:
    if isinstance(channel, Digital):
        if not (_finite(channel.tick) and channel.tick > 0):
            return "a tick that is no time"
        if channel.ticks.size != channel.values.size or not _ascending(channel.ticks):
            return "edges out of order"
        starts = range(0, channel.values.size, _CHUNK)
        known = all((channel.values[at : at + _CHUNK] <= Z).all() for at in starts)
        return "" if known else "levels that are none"
    return _wrong_samples(channel)


def _wrong_samples(channel: Analog) -> str:
    if not isinstance(channel.unit, str) or not isinstance(channel.held, bool):
        return "no unit"
    if channel.times is not None:
        if channel.times.size != channel.samples.size or not _ascending(channel.times):
            return "samples out of order"
        return ""
    if not (_finite(channel.start, channel.step) and channel.step >= 0):
        return "an interval that is no time"
    if channel.samples.size > 1 and not channel.step:
        return "samples without an interval"
    return ""


def _ascending(row: NDArray[np.int64] | NDArray[np.float64]) -> bool:
    """Finite, and never going back."""
    for at in range(0, row.size, _CHUNK):
        part = row[max(at - 1, 0) : at + _CHUNK]
        if not (np.isfinite(part).all() and (part[1:] >= part[:-1]).all()):
            return False
    return True


def _finite(*values: object) -> bool:
    return all(
        isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
        for value in values
    )


def _refused(folder: Path, what: str) -> CaptureError:
    return CaptureError(
        f"expected a capture as a packed case has it, got {what}; ask for the case again",
        source=folder.name,
    )
