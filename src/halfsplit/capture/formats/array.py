"""numpy arrays: one array in a .npy file, or named ones in .npz."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.formats._grid import as_samples, edges, fine_tick, good_times
from halfsplit.capture.kind import Finding, Format, Opened
from halfsplit.capture.record import Analog, Channel, Record
from halfsplit.errors import CaptureError
from halfsplit.frozen import dataclass
from halfsplit.units import format_quantity, parse

__all__ = ["KIND"]

_BLOCK = 1 << 18
_MARK = b"\x93NUMPY"
_TIMES = ("time", "times", "t")
_STEPS = ("interval", "dt", "step")
_MOST_CHANNELS = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rows:
    """Arrays [K] by name, all of one length; ``times`` [K] or an ``interval`` in seconds."""

    source: str
    rows: Mapping[str, NDArray[Any]]
    times: NDArray[np.float64] | None
    interval: float
    tick: float
    remarks: tuple[str, ...]

    def parts(self) -> Iterator[Record]:
        """Records of a quarter of a million samples each; a .npy file is never all in memory."""
        length = min((row.size for row in self.rows.values()), default=0)
        last = dict.fromkeys(self.rows, -1)
        for first in range(0, max(1, length), _BLOCK):
            times = self._times(first, min(first + _BLOCK, length))
            good = good_times(times, times[0] if times.size else 0.0, self.tick)
            if good < times.size:
                raise CaptureError(
                    f"time goes backwards or is missing after sample {first + good}",
                    source=self.source,
                )
            own = {
                name: np.asarray(row[first : first + times.size]) for name, row in self.rows.items()
            }
            yield Record(
                source=self.source,
                begin=float(times[0]) if times.size else 0.0,
                end=float(times[-1]) + (self.interval if self.times is None else 0.0)
                if times.size else 0.0,
                channels=tuple(self._channel(name, row, times, last) for name, row in own.items()),
                remarks=self.remarks,
            )  # fmt: skip

    def _times(self, first: int, stop: int) -> NDArray[np.float64]:
        if self.times is None:
            return np.arange(first, stop, dtype=np.float64) * self.interval
        return np.asarray(self.times[first:stop], dtype=np.float64)

    def _channel(
        self, name: str, row: NDArray[Any], times: NDArray[np.float64], last: dict[str, int]
    ) -> Channel:
        if row.dtype.kind == "b" or row.dtype == np.uint8:
            levels = np.minimum(row, 3).astype(np.int64)
            channel = edges(name, times, levels, self.tick, last[name])
            last[name] = int(levels[-1]) if levels.size else -1
            return channel
        samples = as_samples(row)
        if self.times is not None:
            return Analog(name=name, unit="", samples=samples, times=times)
        start = float(times[0]) if times.size else 0.0
        return Analog(name=name, unit="", samples=samples, start=start, step=self.interval)


def look(path: Path, choices: Mapping[str, str]) -> Opened:
    """Find the arrays and their time. Raises :class:`CaptureError`."""
    arrays = _load(path)
    rows: dict[str, NDArray[Any]] = {}
    times, interval = None, 0.0
    for name, array in arrays.items():
        if array.dtype.kind not in "biuf":
            raise CaptureError(
                f"expected numbers, got an array {name!r} of {array.dtype}", source=path.name
            )
        if array.size == 1 and name.lower() in _STEPS:
            interval = float(array.reshape(-1)[0])
        elif array.ndim == 1 and name.lower() in _TIMES:
            times = array
        else:
            rows |= _named(name, array, path.name)
    lengths = {row.size for row in rows.values()} | ({times.size} if times is not None else set())
    if len(lengths) != 1:
        raise CaptureError(
            f"expected arrays of one length, got {sorted(lengths)[:8] or 'none'}", source=path.name
        )
    remarks: tuple[str, ...] = ()
    interval = parse(choices["interval"], "s") if "interval" in choices else interval
    if not 0 < interval < np.inf:
        interval = 1.0
        if times is None:
            remarks = ("no interval in the file: samples are taken as 1 s apart; choose interval",)
    reading = _Rows(
        source=path.name,
        rows=rows,
        times=times,
        interval=interval,
        tick=interval if times is None else fine_tick(times[:4096].astype(np.float64)),
        remarks=remarks,
    )
    words = f"samples are {format_quantity(interval, 's', 6)} apart"
    finding = Finding(
        name="interval",
        value=f"{interval:.12g}s",
        words=words if times is None else "times are in the file, in seconds",
    )
    return Opened(format=KIND.name, source=path.name, findings=(finding,), parts=reading.parts)


def _load(path: Path) -> dict[str, NDArray[Any]]:
    """Arrays by name; one of a .npy file stays on the disk. Nothing that is pickled is opened."""
    try:
        with path.open("rb") as file:
            if file.read(len(_MARK)) == _MARK:
                return {"channel": np.load(path, mmap_mode="r", allow_pickle=False)}
            file.seek(0)
            with np.load(file, allow_pickle=False) as found:
                return {name: found[name] for name in found.files}
    except Exception as error:  # numpy lets out whatever its parts raise on a damaged file
        said = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        raise CaptureError(f"expected numpy arrays of numbers: {said}", source=path.name) from error


def _named(name: str, array: NDArray[Any], source: str) -> dict[str, NDArray[Any]]:
    """An array as rows: of two axes, the longer one is the time."""
    if array.ndim == 1:
        return {name: array}
    if array.ndim != 2 or min(array.shape) > _MOST_CHANNELS:
        raise CaptureError(
            f"expected samples, or samples and channels, got an array of shape {array.shape}",
            source=source,
        )
    table = array if array.shape[0] >= array.shape[1] else array.T
    return {f"{name} {k + 1}": table[:, k] for k in range(table.shape[1])}


def suits(head: bytes, suffix: str) -> float:
    """Both forms begin with marks of their own."""
    if head.startswith(_MARK):
        return 1.0
    return 0.8 if head[:2] == b"PK" and suffix == ".npz" else 0.5 * (suffix in KIND.suffixes)


KIND = Format(
    name="numpy",
    title="numpy arrays (NPY, NPZ)",
    suffixes=(".npy", ".npz"),
    help="One array of samples, or of samples and channels; or named arrays, with `time` in "
    "seconds or `interval`. Arrays of bool and uint8 are digital: 0, 1, 2 unknown, 3 let go.",
    choices={"interval": "time between two samples"},
    suits=suits,
    look=look,
)
