"""What is on a record, channel by channel, from its parts as they come: never all in memory."""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterable, Iterator

import numpy as np

from halfsplit.capture.record import Analog, Channel, Digital, Record
from halfsplit.errors import CaptureError
from halfsplit.frozen import dataclass

__all__ = ["ChannelView", "Overview", "Watch", "overview"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelView:
    """Of a digital channel ``edges`` counts changes after the first value, and ``narrowest`` is the
    least time between two (seconds). Of an analog one ``samples``, ``rate`` (1/s, 0 when uneven),
    ``low`` and ``high`` in ``unit``. What does not apply is None.
    """

    name: str
    kind: str
    unit: str = ""
    edges: int | None = None
    narrowest: float | None = None
    samples: int | None = None
    rate: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """All channels; ``remarks`` say what a person should know before trusting the record."""

    begin: float
    end: float
    channels: tuple[ChannelView, ...]
    remarks: tuple[str, ...]


class Watch:
    """Figures of the parts that pass by on their way to somewhere else."""

    def __init__(self) -> None:
        self._counts: list[_Count] = []
        self._first: Record | None = None
        self._last: Record | None = None
        self._remarks: dict[str, None] = {}

    def passing(self, parts: Iterable[Record]) -> Iterator[Record]:
        """The same parts."""
        for part in parts:
            if self._first is None:
                self._first, self._counts = part, [_Count(channel) for channel in part.channels]
            for count, channel in zip(self._counts, part.channels, strict=True):
                count.add(channel)
            self._remarks.update(dict.fromkeys(part.remarks))
            self._last = part
            yield part

    def overview(self) -> Overview:
        """Of all that has passed. Raises :class:`CaptureError` when nothing has."""
        if self._first is None or self._last is None:
            raise CaptureError("expected a record, got none at all", source="record")
        begin, end = self._first.begin, self._last.end
        views = tuple(count.view() for count in self._counts)
        doubts = _doubts(views, self._counts, end - begin)
        remarks = tuple(dict.fromkeys((*self._remarks, *doubts)))
        return Overview(begin=begin, end=end, channels=views, remarks=remarks)


def overview(parts: Iterable[Record]) -> Overview:
    """Go through the parts of a record once. Raises :class:`CaptureError` when there are none."""
    watch = Watch()
    for _ in watch.passing(parts):
        pass
    return watch.overview()


def _doubts(views: tuple[ChannelView, ...], counts: list[_Count], duration: float) -> list[str]:
    said = []
    digital = [view for view in views if view.kind == "digital"]
    if not views:
        said.append("there is no channel in it")
    if digital and not any(view.edges for view in digital):
        said.append("no digital channel changes: nothing moved, or the trigger missed it")
    elif still := [view.name for view in digital if not view.edges]:
        said.append(f"never changing: {', '.join(still[:20])}")
    flat = [v.name for v in views if v.kind == "analog" and v.low is not None and v.low == v.high]
    if flat:
        said.append(f"flat from end to end: {', '.join(flat[:20])}")
    if views and duration <= 0:
        said.append("it lasts no time at all: all of it has one time")
    pairs = zip(counts, views, strict=True)
    moving = [count.sum for count, view in pairs if view.edges or view.low != view.high]
    if len(moving) > 1 and len(set(moving)) == 1:
        said.append("all channels are identical: are they on one line, or the columns mixed up?")
    return said


class _Count:
    """Running figures of one channel."""

    def __init__(self, channel: Channel) -> None:
        self.channel = channel
        self.count, self.sum, self.value = 0, 0, -1
        self.tick: int | None = None
        self.narrowest = self.low = math.inf
        self.high = -math.inf
        self.start = self.stop = 0.0

    def add(self, channel: Channel) -> None:
        if isinstance(channel, Digital):
            self._add_edges(channel)
        elif channel.samples.size:
            self._add_samples(channel)

    def _add_edges(self, channel: Digital) -> None:
        ticks, values = channel.ticks, channel.values
        if values.size and values[0] == self.value:
            ticks, values = ticks[1:], values[1:]
        if not values.size:
            return
        # The first value of all is what was found, not an edge.
        edges = ticks if self.count else ticks[1:]
        gaps = np.diff(edges) if self.tick is None else np.diff(edges, prepend=self.tick)
        if gaps.size:
            self.narrowest = min(self.narrowest, float(gaps.min()) * channel.tick)
        self.count += values.size
        self.value, self.tick = int(values[-1]), int(edges[-1]) if edges.size else None
        self.sum = zlib.crc32(values.tobytes(), zlib.crc32(ticks.tobytes(), self.sum))

    def _add_samples(self, channel: Analog) -> None:
        if channel.times is not None:
            first, self.stop = float(channel.times[0]), float(channel.times[-1])
        else:
            first = channel.start
            self.stop = first + (channel.samples.size - 1) * channel.step
        if not self.count:
            self.start = first
        self.count += channel.samples.size
        self.low = float(np.fmin(self.low, np.fmin.reduce(channel.samples)))
        self.high = float(np.fmax(self.high, np.fmax.reduce(channel.samples)))
        self.sum = zlib.crc32(channel.samples.tobytes(), self.sum)

    def view(self) -> ChannelView:
        channel = self.channel
        if isinstance(channel, Digital):
            narrow = self.narrowest
            return ChannelView(
                name=channel.name,
                kind="digital",
                edges=max(0, self.count - 1),
                narrowest=float(narrow) if np.isfinite(narrow) else None,
            )
        span = self.stop - self.start
        return ChannelView(
            name=channel.name,
            kind="analog",
            unit=channel.unit,
            samples=self.count,
            rate=None if channel.held or span <= 0 else (self.count - 1) / span,
            low=self.low if np.isfinite(self.low) else None,
            high=self.high if np.isfinite(self.high) else None,
        )
