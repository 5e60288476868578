"""A record in a folder of its own beside the case: arrays on the disk, mapped, never all in memory.

The folder is written under another name and takes its own with one rename, so that it is whole or
not there. Every file has a checksum (CRC-32, as zlib has it) in ``kept.json``.
"""

from __future__ import annotations

import json
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.pyramid import SparseIndex, level_sizes, reduced
from halfsplit.capture.record import UNKNOWN, Analog, Channel, Digital, Record, ticks_at
from halfsplit.errors import CaptureError
from halfsplit.frozen import dataclass

__all__ = ["INDEX", "RAW", "VERSION", "Columns", "Kept", "checksum", "record_in"]

INDEX = "kept.json"
VERSION = 1
RAW = ("ticks", "values", "samples", "times")
"""Endings of the files that hold the record itself; the others are worked out from these."""
_FILE = re.compile(r"[0-9]{1,4}\.[a-z]{1,8}")
_CHUNK = 1 << 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """One channel between two times, summed up in W columns of equal width.

    Analog: ``low`` and ``high`` [W] float32, not-a-number where a column has no sample (of a stair:
    none before). Digital:
    ``seen`` [W] uint8, bit v set when value v was there, and ``edges`` [W], how many changes.
    """

    low: NDArray[np.float32] | None = None
    high: NDArray[np.float32] | None = None
    seen: NDArray[np.uint8] | None = None
    edges: NDArray[np.int64] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Summary:
    """What is kept beside the arrays of one channel: levels, and an index of uneven times."""

    low: tuple[NDArray[Any], ...]
    high: tuple[NDArray[Any], ...]
    masks: NDArray[np.uint8] | None
    index: SparseIndex | None


class Kept:
    """An open kept record. ``record`` has all of it, its arrays mapped from the disk."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._index = _read_index(folder)
        entries = self._index["channels"]
        self.record = _record(folder, self._index)
        self._summaries = {
            channel.name: self._summary(entry, channel)
            for entry, channel in zip(entries, self.record.channels, strict=True)
        }

    @classmethod
    def open(cls, folder: str | Path) -> Kept:
        """Raises :class:`CaptureError` when it is missing, of another version, or files are cut."""
        with _opening(Path(folder)) as place:
            return cls(place)

    def check(self) -> None:
        """Read every file and compare its checksum. Raises :class:`CaptureError`."""
        for name, expected in self._index["files"].items():
            if checksum(self.folder / name) != expected["crc32"]:
                raise CaptureError(
                    f"file {name} is damaged; read the capture file again", source=self.folder.name
                )

    def columns(self, name: str, begin: float, end: float, count: int = 2000) -> Columns:
        """A channel from ``begin`` to ``end`` (seconds) in ``count`` columns.

        Every sample and edge is in a column; where they are many, the ends of a column are exact to
        an eighth of its width. Raises :class:`halfsplit.errors.UnknownName`.
        """
        channel = self.record.channel(name)
        summary = self._summaries[name]
        at = np.linspace(begin, end, count + 1)
        if isinstance(channel, Digital):
            return _digital_columns(channel, summary, at)
        bounds = _sample_bounds(channel, summary, at)
        low = reduced(channel.samples, summary.low, np.fmin, bounds)
        high = reduced(channel.samples, summary.high, np.fmax, bounds)
        empty = bounds[1:] <= bounds[:-1]
        low[empty], high[empty] = np.nan, np.nan
        if channel.held:
            # What a column begins with was there as well, though its sample came earlier.
            held = np.full(count, np.nan, dtype=np.float32)
            before = bounds[:-1] > 0
            held[before] = channel.samples[bounds[:-1][before] - 1]
            low, high = np.fmin(low, held), np.fmax(high, held)
        return Columns(low=low, high=high)

    def _summary(self, entry: dict[str, Any], channel: Channel) -> _Summary:
        if isinstance(channel, Digital):
            masks = _array(self.folder, self._index, entry["masks"], np.uint8)
            sizes = level_sizes(channel.values.size)
            return _Summary(
                low=_split(masks[channel.values.size :], sizes), high=(),
                masks=masks[: channel.values.size], index=SparseIndex(channel.ticks),
            )  # fmt: skip
        sizes = level_sizes(channel.samples.size)
        return _Summary(
            low=_split(_array(self.folder, self._index, entry["low"], np.float32), sizes),
            high=_split(_array(self.folder, self._index, entry["high"], np.float32), sizes),
            masks=None,
            index=None if channel.times is None else SparseIndex(channel.times),
        )


def record_in(folder: Path) -> Record:
    """The record alone, of a folder that may lack the summaries. Raises :class:`CaptureError`."""
    with _opening(folder):
        return _record(folder, _read_index(folder))


@contextmanager
def _opening(folder: Path) -> Iterator[Path]:
    try:
        yield folder
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise CaptureError(
            f"expected a kept record, could not open it: {error}; read the capture file again",
            source=folder.name,
        ) from error


def checksum(path: Path) -> int:
    """CRC-32 of a file."""
    value = 0
    with path.open("rb") as file:
        while piece := file.read(_CHUNK):
            value = zlib.crc32(piece, value)
    return value


def _read_index(folder: Path) -> dict[str, Any]:
    found = json.loads((folder / INDEX).read_text(encoding="utf-8"))
    index: dict[str, Any] = found["record"]
    if found["crc32"] != zlib.crc32(json.dumps(index, sort_keys=True).encode()):
        raise ValueError(f"{INDEX} is damaged")
    if index["version"] != VERSION:
        raise ValueError(f"it is of version {index['version']}, this program knows {VERSION}")
    return index


def _record(folder: Path, index: dict[str, Any]) -> Record:
    return Record(
        source=index["source"],
        begin=index["begin"],
        end=index["end"],
        channels=tuple(_channel(folder, index, entry) for entry in index["channels"]),
        remarks=tuple(index["remarks"]),
    )


def _channel(folder: Path, index: dict[str, Any], entry: dict[str, Any]) -> Channel:
    def array(which: str, dtype: type[np.generic]) -> NDArray[Any]:
        return _array(folder, index, entry[which], dtype)

    if entry["kind"] == "digital":
        return Digital(
            name=entry["name"],
            tick=entry["tick"],
            ticks=array("ticks", np.int64),
            values=array("values", np.uint8),
        )
    return Analog(
        name=entry["name"],
        unit=entry["unit"],
        samples=array("samples", np.float32),
        start=entry["start"],
        step=entry["step"],
        times=array("times", np.float64) if entry["times"] else None,
        held=entry["held"],
    )


def _array(folder: Path, index: dict[str, Any], name: str, dtype: type[np.generic]) -> NDArray[Any]:
    if not _FILE.fullmatch(name):
        raise ValueError(f"it names a file {name[:40]!r}")
    path = folder / name
    size = path.stat().st_size
    if size != index["files"][name]["size"]:
        raise ValueError(f"file {name} has {size} bytes")
    if not size:
        return np.empty(0, dtype=dtype)
    return np.asarray(np.memmap(path, dtype=dtype, mode="r"))


def _split(levels: NDArray[Any], sizes: list[int]) -> tuple[NDArray[Any], ...]:
    return tuple(np.split(levels, np.cumsum(sizes)[:-1])) if sizes else ()


def _sample_bounds(
    channel: Analog, summary: _Summary, at: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Number of the first sample at or after each time."""
    if summary.index is not None:
        return summary.index.find(at)
    if not channel.samples.size:
        return np.zeros(at.size, dtype=np.int64)
    exact = (at - channel.start) / channel.step
    return np.clip(np.ceil(exact - 1e-6), 0, channel.samples.size).astype(np.int64)


def _digital_columns(channel: Digital, summary: _Summary, at: NDArray[np.float64]) -> Columns:
    assert summary.index is not None
    assert summary.masks is not None
    bounds = summary.index.find(ticks_at(at, channel.tick))
    edges = np.diff(bounds)
    seen = reduced(summary.masks, summary.low, np.bitwise_or, bounds)
    seen[edges <= 0] = 0
    # What a column begins with, unless it begins with an edge, was there as well.
    held = np.full(at.size - 1, 1 << UNKNOWN, dtype=np.uint8)
    before = bounds[:-1] > 0
    held[before] = summary.masks[bounds[:-1][before] - 1]
    return Columns(seen=seen | held, edges=edges)
