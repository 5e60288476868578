"""What a scope or a logic analyser saw: named channels over one span of time.

A digital channel is a list of edges on a grid of whole ticks, so that times stay exact; an analog
channel is a row of samples. Readers yield a long record as several short ones, one after the other
in time, with the same channels: :func:`join` makes one of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import field, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from halfsplit.errors import CaptureError, UnknownName
from halfsplit.frozen import dataclass

__all__ = [
    "HIGH",
    "LOW",
    "UNKNOWN",
    "Analog",
    "Channel",
    "Digital",
    "Record",
    "Z",
    "digital_from_samples",
    "even_step",
    "evened",
    "join",
    "ticks_at",
]

Times: TypeAlias = NDArray[np.float64]

_CHUNK = 1 << 20

LOW, HIGH, UNKNOWN, Z = 0, 1, 2, 3
"""Values of a digital channel, as IEEE 1364-2005 has them: 0, 1, x (not known), z (let go)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Digital:
    """A channel of two levels, told by its edges.

    ``ticks`` [K] int64, ascending: when it changed, in whole ticks of ``tick`` seconds.
    ``values`` [K] uint8: what it changed to (LOW, HIGH, UNKNOWN or Z), never the same twice
    running. Before ``ticks[0]`` it is UNKNOWN. Should a tick come twice, the later value holds.
    """

    name: str
    tick: float
    ticks: NDArray[np.int64]
    values: NDArray[np.uint8]

    @property
    def times(self) -> NDArray[np.float64]:
        """Seconds of the edges [K]."""
        return np.multiply(self.ticks, self.tick, dtype=np.float64)

    def at(self, seconds: ArrayLike) -> NDArray[np.uint8]:
        """Values [M] at times [M]; an edge counts from its own instant on."""
        found = np.searchsorted(self.ticks, ticks_at(seconds, self.tick, np.floor), side="right")
        return np.concatenate(([np.uint8(UNKNOWN)], self.values))[found]

    def window(self, begin: float, end: float) -> Digital:
        """Edges with begin <= time < end; the value held at ``begin`` comes first."""
        first, last = ticks_at([begin, end], self.tick)
        start, stop = np.searchsorted(self.ticks, (first, last), side="left")
        ticks, values = self.ticks[start:stop], self.values[start:stop]
        if start and not (ticks.size and ticks[0] == first):
            ticks = np.concatenate(([first], ticks))
            values = np.concatenate((self.values[start - 1 : start], values))
        return replace(self, ticks=ticks, values=values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Analog:
    """A channel of samples.

    ``samples`` [K] float32 in ``unit``; not-a-number where the instrument gave none. Sample k was
    taken at ``start + k * step`` seconds, or at ``times[k]`` [K] float64 when the spacing varies
    (then ``step`` is 0). ``held`` says that a sample stays until the next (a stair, not a line).
    """

    name: str
    unit: str
    samples: NDArray[np.float32]
    start: float = 0.0
    step: float = 0.0
    times: NDArray[np.float64] | None = None
    held: bool = False

    @property
    def seconds(self) -> NDArray[np.float64]:
        """Seconds of the samples [K], however they are kept."""
        if self.times is not None:
            return self.times
        return np.arange(self.samples.size, dtype=np.float64) * self.step + self.start

    def at(self, seconds: ArrayLike) -> NDArray[np.float64]:
        """Values [M] at times [M]: on the line between samples, or on the stair if ``held``.

        Not-a-number before the first sample, and after the last unless ``held``.
        """
        asked = np.asarray(seconds, dtype=np.float64)
        own = self.seconds
        if not own.size:
            return np.full(asked.shape, np.nan)
        if not self.held:
            return np.interp(asked, own, self.samples, left=np.nan, right=np.nan)
        found = np.searchsorted(own, asked, side="right")
        return np.where(found > 0, self.samples[np.maximum(found - 1, 0)], np.nan)

    def window(self, begin: float, end: float) -> Analog:
        """Samples with begin <= time < end; of a stair also the sample held at ``begin``."""
        if self.times is not None:
            start, stop = np.searchsorted(self.times, (begin, end), side="left")
            if self.held and start and not (start < stop and self.times[start] == begin):
                times = np.concatenate(([begin], self.times[start:stop]))
                return replace(self, times=times, samples=self.samples[start - 1 : stop])
            return replace(self, times=self.times[start:stop], samples=self.samples[start:stop])
        start, stop = (
            min(max(int(np.ceil(round((t - self.start) / self.step, 6))), 0), self.samples.size)
            for t in (begin, end)
        )
        return replace(self, start=self.start + start * self.step, samples=self.samples[start:stop])


Channel: TypeAlias = Digital | Analog


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Channels that were watched together from ``begin`` to ``end`` (seconds).

    ``remarks`` say, in sentences for a person, what was doubtful in the file.
    """

    source: str
    begin: float
    end: float
    channels: tuple[Channel, ...]
    remarks: tuple[str, ...] = field(default=())

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the channels, in the order of the file."""
        return tuple(channel.name for channel in self.channels)

    @property
    def digital(self) -> tuple[Digital, ...]:
        """The channels of two levels."""
        return tuple(channel for channel in self.channels if isinstance(channel, Digital))

    @property
    def analog(self) -> tuple[Analog, ...]:
        """The channels of samples."""
        return tuple(channel for channel in self.channels if isinstance(channel, Analog))

    def channel(self, name: str) -> Channel:
        """The channel of that name. Raises :class:`UnknownName` with the nearest one."""
        for channel in self.channels:
            if channel.name == name:
                return channel
        raise UnknownName("channel", name, self.names)

    def window(self, begin: float, end: float) -> Record:
        """What was seen with begin <= time < end, cut to the record's own span."""
        begin, end = max(begin, self.begin), min(end, self.end)
        return replace(
            self,
            begin=begin,
            end=max(begin, end),
            channels=tuple(channel.window(begin, end) for channel in self.channels),
        )


def ticks_at(
    seconds: ArrayLike, tick: float, rounding: Callable[[Times], Times] = np.ceil
) -> NDArray[np.int64]:
    """The first tick at or after each time; a time within 1e-6 of a tick is that tick.

    With ``np.floor`` as ``rounding`` the last tick at or before.
    """
    exact: Times = np.asarray(seconds, dtype=np.float64) / tick
    near = np.rint(exact)
    close = np.abs(exact - near) < 1e-6 * np.maximum(1.0, np.abs(near) * 1e-6)
    whole = np.where(close, near, rounding(exact))
    return np.clip(whole, -(2.0**62), 2.0**62).astype(np.int64)


def digital_from_samples(
    name: str, samples: ArrayLike, *, tick: float, first: int = 0, every: int = 1
) -> Digital:
    """The edges of samples [K] (0, 1, UNKNOWN, Z) taken at ticks ``first + k * every``."""
    values = np.asarray(samples).astype(np.uint8)
    change = np.flatnonzero(values[1:] != values[:-1]) + 1
    kept = np.concatenate(([0], change)) if values.size else change
    return Digital(name=name, tick=tick, ticks=first + kept * np.int64(every), values=values[kept])


def join(records: Iterable[Record]) -> Record:
    """One record of several that follow each other in time and have the same channels.

    Raises :class:`CaptureError` when there are none, or their channels differ.
    """
    parts = tuple(records)
    if not parts:
        raise CaptureError("expected a record, got none at all", source="record")
    first = parts[0]
    if len(parts) == 1:
        return first
    for part in parts:
        if part.names != first.names:
            raise CaptureError(
                f"expected the channels {', '.join(first.names)}, got {', '.join(part.names)}",
                source=first.source,
            )
    shared: dict[tuple[int, ...], Times] = {}
    return replace(
        first,
        end=parts[-1].end,
        channels=tuple(
            _joined(pieces, shared) for pieces in zip(*(p.channels for p in parts), strict=True)
        ),
        remarks=tuple(dict.fromkeys(remark for part in parts for remark in part.remarks)),
    )


def evened(record: Record) -> Record:
    """The same samples with a step in place of times, where :func:`even_step` finds one."""
    steps: dict[int, float] = {}
    channels = []
    for channel in record.channels:
        if isinstance(channel, Analog) and channel.times is not None and not channel.held:
            times = channel.times
            if id(times) not in steps:
                steps[id(times)] = even_step(times)
            if steps[id(times)]:
                channel = replace(channel, start=float(times[0]), step=steps[id(times)], times=None)
        channels.append(channel)
    return replace(record, channels=tuple(channels))


def even_step(times: NDArray[np.float64]) -> float:
    """The step between times [K] that are even, 0 when they are not (or fewer than three).

    A two-hundredth of a step is left to rounding in the file.
    """
    if times.size < 3:
        return 0.0
    first, step = float(times[0]), float(times[-1] - times[0]) / (times.size - 1)
    for at in range(0, times.size, _CHUNK):
        own = times[at : at + _CHUNK]
        even = np.arange(at, at + own.size, dtype=np.float64) * step + first
        if not np.abs(own - even).max() <= 5e-3 * step:
            return 0.0
    return step


def _joined(pieces: Sequence[Channel], shared: dict[tuple[int, ...], Times]) -> Channel:
    """``shared`` has the times joined so far, by the pieces: channels may have them in common."""
    first = pieces[0]
    if isinstance(first, Digital):
        ticks, values, last = [], [], -1
        for piece in pieces:
            if isinstance(piece, Digital) and piece.values.size:
                begin = int(piece.values[0] == last)
                ticks.append(piece.ticks[begin:])
                values.append(piece.values[begin:])
                last = int(piece.values[-1])
        if not ticks:
            return first
        return replace(first, ticks=np.concatenate(ticks), values=np.concatenate(values))
    rows = [piece for piece in pieces if isinstance(piece, Analog)]
    start = next((row for row in rows if row.samples.size), first)
    times = [row.times for row in rows if row.times is not None]
    which = tuple(map(id, times))
    if times and which not in shared:
        shared[which] = np.concatenate(times)
    return replace(
        first,
        start=start.start,
        samples=np.concatenate([row.samples for row in rows]),
        times=shared.get(which),
    )
