"""Write a kept record: parts go to the disk as they come, so that length costs no memory."""

from __future__ import annotations

import glob
import json
import os
import shutil
import zlib
from collections.abc import Iterable
from contextlib import ExitStack
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.kept import INDEX, VERSION, Kept
from halfsplit.capture.pyramid import build
from halfsplit.capture.record import Analog, Channel, Digital, Record, even_step
from halfsplit.closing import Closing
from halfsplit.errors import CaptureError

__all__ = ["keep"]

_CHUNK = 1 << 22


def keep(parts: Iterable[Record], folder: str | Path) -> Kept:
    """Write the parts of a record, which follow each other in time, into a new folder; open it.

    Killed at any moment it leaves either the whole folder or one whose name begins with a point,
    which the next attempt removes.
    Raises :class:`CaptureError` when the folder is there already, the disk is full, or the parts
    themselves stop; then nothing is left.
    """
    folder = Path(folder)
    if folder.exists():
        raise CaptureError("expected a new folder, this one is there already", source=folder.name)
    beside = folder.with_name(f".{folder.name}.{os.getpid()}")
    for left in folder.parent.glob(f".{glob.escape(folder.name)}.*"):
        shutil.rmtree(left, ignore_errors=True)
    try:
        beside.mkdir(parents=True)
        with _Writer(beside) as writer:
            for part in parts:
                writer.add(part)
            writer.finish(folder.name)
        os.rename(beside, folder)
        _sync_folder(folder.parent)
    except OSError as error:
        said = f"cannot be kept: {error.strerror or error}"
        raise CaptureError(said, source=folder.name) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return Kept.open(folder)


class _Writer(Closing):
    """The files of one folder while they grow."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._files: dict[str, BinaryIO] = {}
        self._sums: dict[str, int] = {}
        self._stack = ExitStack()
        self._entries: list[dict[str, Any]] = []
        self._first: Record | None = None
        self._last: Record | None = None
        self._held: dict[str, int] = {}
        self._remarks: dict[str, None] = {}

    def close(self) -> None:
        self._stack.close()

    def add(self, part: Record) -> None:
        """Append a part."""
        if self._first is None:
            self._first = part
            self._entries = _entries(part.channels)
        if part.names != self._first.names:
            raise CaptureError("expected the same channels in all parts", source=part.source)
        self._last = part
        self._remarks.update(dict.fromkeys(part.remarks))
        for entry, channel in zip(self._entries, part.channels, strict=True):
            if isinstance(channel, Digital):
                self._add_edges(entry, channel)
            else:
                self._add_samples(entry, channel)

    def finish(self, source: str) -> None:
        """Write the summaries and the index, and see all of it on the disk."""
        if self._first is None or self._last is None:
            raise CaptureError("expected a record, got none at all", source=source)
        for entry in self._entries:
            self._summarise(entry)
        record = {
            "version": VERSION,
            "source": self._first.source,
            "begin": self._first.begin,
            "end": self._last.end,
            "remarks": list(self._remarks),
            "channels": self._entries,
            "files": {
                name: {"size": file.tell(), "crc32": self._sums[name]}
                for name, file in self._files.items()
            },
        }
        sum_of_all = zlib.crc32(json.dumps(record, sort_keys=True).encode())
        text = json.dumps({"record": record, "crc32": sum_of_all}, indent=1)
        self._append(INDEX, np.frombuffer(text.encode(), dtype=np.uint8))
        for file in self._files.values():
            file.flush()
            os.fsync(file.fileno())
        _sync_folder(self.folder)

    def _add_edges(self, entry: dict[str, Any], channel: Digital) -> None:
        begin = 0
        if channel.values.size:
            begin = int(channel.values[0] == self._held.get(channel.name))
            self._held[channel.name] = int(channel.values[-1])
        self._append(entry["ticks"], channel.ticks[begin:])
        self._append(entry["values"], channel.values[begin:])

    def _add_samples(self, entry: dict[str, Any], channel: Analog) -> None:
        if not self._size(entry["samples"]):
            entry["start"] = channel.start
        self._append(entry["samples"], channel.samples)
        if channel.times is not None and entry["owns times"]:
            self._append(entry["times"], channel.times)

    def _summarise(self, entry: dict[str, Any]) -> None:
        if entry["kind"] == "digital":
            values = self._mapped(entry["values"], np.uint8)
            for first in range(0, max(1, values.size), _CHUNK):
                part = np.left_shift(np.uint8(1), values[first : first + _CHUNK])
                self._append(entry["masks"], part)
            for level in build(self._mapped(entry["masks"], np.uint8), np.bitwise_or):
                self._append(entry["masks"], level)
            return
        samples = self._mapped(entry["samples"], np.float32)
        for name, operation in (("low", np.fmin), ("high", np.fmax)):
            for level in (np.empty(0, np.float32), *build(samples, operation)):
                self._append(entry[name], level)
        if entry["times"] and not entry["held"]:
            times = self._mapped(entry["times"], np.float64)
            step = even_step(times)
            if step:
                entry["start"], entry["step"], entry["times"] = float(times[0]), step, ""

    def _mapped(self, name: str, dtype: type[np.generic]) -> NDArray[Any]:
        if not self._size(name):
            return np.empty(0, dtype=dtype)
        self._files[name].flush()
        return np.asarray(np.memmap(self.folder / name, dtype=dtype, mode="r"))

    def _append(self, name: str, array: NDArray[Any]) -> None:
        if name not in self._files:
            self._files[name] = self._stack.enter_context((self.folder / name).open("wb"))
            self._sums[name] = 0
        raw = np.ascontiguousarray(array).view(np.uint8).data
        self._files[name].write(raw)
        self._sums[name] = zlib.crc32(raw, self._sums[name])

    def _size(self, name: str) -> int:
        return self._files[name].tell() if name in self._files else 0


def _entries(channels: tuple[Channel, ...]) -> list[dict[str, Any]]:
    """What the index says of each channel; channels that share their times share one file."""
    entries: list[dict[str, Any]] = []
    times: dict[int, str] = {}
    for number, channel in enumerate(channels):
        if isinstance(channel, Digital):
            names = {name: f"{number}.{name}" for name in ("ticks", "values", "masks")}
            entries.append({"name": channel.name, "kind": "digital", "tick": channel.tick, **names})
            continue
        own = channel.times is not None and id(channel.times) not in times
        if channel.times is not None:
            times.setdefault(id(channel.times), f"{number}.times")
        entries.append(
            {
                "name": channel.name,
                "kind": "analog",
                "unit": channel.unit,
                "start": channel.start,
                "step": channel.step,
                "held": channel.held,
                "owns times": own,
                "times": "" if channel.times is None else times[id(channel.times)],
                **{name: f"{number}.{name}" for name in ("samples", "low", "high")},
            }
        )
    return entries


def _sync_folder(folder: Path) -> None:
    """Make a rename last (POSIX; elsewhere folders cannot be synced and need not be)."""
    if hasattr(os, "O_DIRECTORY"):
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
