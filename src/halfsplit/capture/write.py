"""Write records as VCD (IEEE 1364-2005, clause 18) and as delimited text."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.record import Analog, Digital, Record
from halfsplit.errors import CaptureError

__all__ = ["text_lines", "vcd_lines", "write_text", "write_vcd"]

_UNITS = (("s", 0), ("ms", -3), ("us", -6), ("ns", -9), ("ps", -12), ("fs", -15))
_SCALES = [
    (f"{size} {unit}", power + len(str(size)) - 1)
    for unit, power in _UNITS
    for size in (100, 10, 1)
]
"""Every $timescale there is, coarsest first, and its power of ten."""

_LEVELS = "01xz"
_MOST_TICKS = 2.0**62


def write_vcd(record: Record, path: str | Path) -> None:
    """Write a VCD file, whole or not at all. Raises :class:`CaptureError`."""
    _write(vcd_lines(record), Path(path))


def write_text(
    record: Record, path: str | Path, *, delimiter: str = ",", decimal: str = "."
) -> None:
    """Write a row for every time at which something is known, whole or not at all.

    Raises :class:`CaptureError`.
    """
    _write(text_lines(record, delimiter=delimiter, decimal=decimal), Path(path))


def vcd_lines(record: Record) -> Iterator[str]:
    """The lines of a VCD file; samples become reals. The times keep whole ticks of all channels.

    Raises :class:`CaptureError` for times before 0 and for ticks that no $timescale divides.
    """
    if record.begin < 0:
        raise CaptureError(
            f"VCD has no times before 0, this record begins at {record.begin:g} s; "
            "move it to begin at 0",
            source=record.source,
        )
    scale, power = _scale(record)
    yield f"$timescale {scale} $end"
    yield "$scope module record $end"
    for number, channel in enumerate(record.channels):
        kind = "wire 1" if isinstance(channel, Digital) else "real 64"
        yield f"$var {kind} {_code(number)} {_word(channel.name)} $end"
    yield "$upscope $end"
    yield "$enddefinitions $end"
    now = -1
    for tick, change in _changes(record, power):
        if tick > now:
            now = tick
            yield f"#{tick}"
        yield change
    end = round(record.end * 10.0**-power)
    if end > now:
        yield f"#{end}"


def text_lines(record: Record, *, delimiter: str = ",", decimal: str = ".") -> Iterator[str]:
    """A row of names, then one row for every edge and sample of any channel."""
    names = [
        f"{channel.name} ({channel.unit})"
        if isinstance(channel, Analog) and channel.unit
        else channel.name
        for channel in record.channels
    ]
    yield delimiter.join(_quoted(name, delimiter) for name in ("Time (s)", *names))
    known = [c.times if isinstance(c, Digital) else c.seconds for c in record.channels]
    times = np.unique(np.concatenate([np.array([record.begin, record.end]), *known]))
    columns = [_fields(channel, times, decimal) for channel in record.channels]
    for row in zip((_number(float(time), decimal) for time in times), *columns, strict=True):
        yield delimiter.join(row)


def _write(lines: Iterator[str], path: Path) -> None:
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with beside.open("w", encoding="utf-8", newline="\n") as file:
            for line in lines:
                file.write(line + "\n")
        os.replace(beside, path)
    except OSError as error:
        raise CaptureError(f"cannot be written: {error.strerror}", source=path.name) from error
    finally:
        beside.unlink(missing_ok=True)


def _scale(record: Record) -> tuple[str, int]:
    """The coarsest scale in which all ticks, and the times of samples, are whole."""
    ticks = [channel.tick for channel in record.digital]
    ticks += [channel.step or 1e-9 for channel in record.analog]
    for scale, power in _SCALES:
        steps = [tick * 10.0**-power for tick in ticks or [1e-9]]
        if all(step > 0.5 and abs(step - round(step)) < 1e-6 * step for step in steps):
            if record.end * 10.0**-power >= _MOST_TICKS:
                break
            return scale, power
    raise CaptureError(
        f"no $timescale divides the ticks of {', '.join(f'{tick:g} s' for tick in ticks)}",
        source=record.source,
    )


def _changes(record: Record, power: int) -> Iterator[tuple[int, str]]:
    """Tick and text of every change, in order of time."""
    rows: list[tuple[NDArray[np.int64], list[str]]] = []
    for number, channel in enumerate(record.channels):
        code = _code(number)
        if isinstance(channel, Digital):
            ticks = channel.ticks * round(channel.tick * 10.0**-power)
            rows.append((ticks, [f"{_LEVELS[value]}{code}" for value in channel.values]))
        else:
            ticks = np.rint(channel.seconds * 10.0**-power).astype(np.int64)
            rows.append((ticks, [f"r{float(value):.9g} {code}" for value in channel.samples]))
    if not rows:
        return
    every = np.concatenate([ticks for ticks, _ in rows])
    texts = [text for _, own in rows for text in own]
    for k in np.argsort(every, kind="stable").tolist():
        yield int(every[k]), texts[k]


def _code(number: int) -> str:
    """A short code of printable characters, 33 to 126 (IEEE 1364-2005, 18.2.3.7)."""
    text = ""
    while True:
        text += chr(33 + number % 94)
        number = number // 94 - 1
        if number < 0:
            return text


def _word(name: str) -> str:
    return "_".join(name.split()).replace("$", "_") or "_"


def _fields(channel: Digital | Analog, times: NDArray[np.float64], decimal: str) -> list[str]:
    if isinstance(channel, Digital):
        return [_LEVELS[value] for value in channel.at(times)]
    return [_number(float(np.float32(v)), decimal, 9) for v in channel.at(times)]


def _number(value: float, decimal: str, digits: int = 15) -> str:
    """A number as text, and nothing at all for one that is not known."""
    return "" if math.isnan(value) else f"{value:.{digits}g}".replace(".", decimal)


def _quoted(name: str, delimiter: str) -> str:
    return f'"{name}"' if delimiter in name else name
