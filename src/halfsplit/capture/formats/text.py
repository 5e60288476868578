"""Delimited text: rows of numbers with any delimiter, as instruments and spreadsheets write it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from io import FileIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.formats._grid import as_samples, edges, fine_tick, good_times
from halfsplit.capture.formats._place import line_of
from halfsplit.capture.formats._text_layout import DELIMITERS, Layout, find_layout
from halfsplit.capture.formats._text_rows import Shape, parse_rows
from halfsplit.capture.formats._text_units import Heading, scale_of
from halfsplit.capture.kind import Finding, Format, Opened
from halfsplit.capture.record import UNKNOWN, Analog, Channel, Record, Z
from halfsplit.errors import CaptureError, UnknownName
from halfsplit.frozen import dataclass
from halfsplit.units import format_quantity, parse

__all__ = ["KIND"]

_HEAD = 1 << 16
_BLOCK = 1 << 21
_MOST_LINE = 1 << 26
_TIME_NAMES = ("time", "t", "zeit", "x", "timestamp", "temps", "tiempo", "seconds", "x-axis")
_NONE = "none"


def look(path: Path, choices: Mapping[str, str]) -> Opened:
    """Find delimiter, decimal mark, first row, columns and time. Raises :class:`CaptureError`."""
    with path.open("rb") as file:
        head = file.read(_HEAD)
        more = bool(file.read(1))
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise CaptureError(
            "expected UTF-8 text, got UTF-16; save it as UTF-8", source=path.name, byte=1
        )
    hole = head.find(b"\0")
    if hole >= 0:
        raise CaptureError("expected text, got a zero byte", source=path.name, byte=hole + 1)
    lines = _decode(head).replace("\r\n", "\n").split("\n")
    if more:
        lines.pop()
    layout = find_layout(lines, choices, path.name)
    reading = _reading(path, layout, choices)
    return Opened(
        format=KIND.name, source=path.name, findings=tuple(_findings(reading)), parts=reading.parts
    )


def suits(head: bytes, suffix: str) -> float:
    """Text of which some lines are numbers; the other formats know their own better."""
    if b"\0" in head and head[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        return 0.0
    signs = sum(head.count(digit) for digit in (b"0", b"1", b"2", b"5"))
    return 0.6 if suffix in KIND.suffixes else 0.2 if signs * 50 > len(head) else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """One file with its layout known; ``time`` is a column, or -1 and ``interval`` counts."""

    path: Path
    layout: Layout
    time: int
    interval: float
    tick: float
    digital: frozenset[int]
    left_out: frozenset[int]
    remarks: tuple[str, ...]

    @property
    def shown(self) -> list[int]:
        """Columns that are channels."""
        every = range(len(self.layout.headings))
        return [k for k in every if k != self.time and k not in self.left_out]

    def parts(self) -> Iterator[Record]:
        """Records of about a megabyte of text each."""
        want = np.ones(len(self.layout.headings), dtype=np.uint8)
        want[list(self.left_out)] = 0
        shape = Shape(
            delimiter=self.layout.delimiter,
            decimal=self.layout.decimal,
            comment=self.layout.comment,
            want=want,
        )
        done, before = 0, -math.inf
        last = np.full(want.size, -1, dtype=np.int64)
        with FileIO(self.path) as file:
            for at, text in _lines(file, self.layout.first - 1):
                rows = parse_rows(text, shape)
                values, problem = rows.values, rows.at < len(text)
                times = self._times(values, done)
                good = good_times(times, before, self.tick)
                if good:
                    yield self._record(values[:good], times[:good], done, last)
                    before = float(times[good - 1])
                if good < times.size:
                    raise self._backwards(at, good, text)
                if problem:
                    raise self._damage(at, rows.at, text)
                done += len(values)

    def _times(self, values: NDArray[np.float64], done: int) -> NDArray[np.float64]:
        if self.time < 0:
            return (np.arange(len(values), dtype=np.float64) + done) * self.interval
        scale = self.layout.headings[self.time].scale
        return values[:, self.time] if scale == 1.0 else values[:, self.time] * scale

    def _record(
        self,
        values: NDArray[np.float64],
        times: NDArray[np.float64],
        done: int,
        last: NDArray[np.int64],
    ) -> Record:
        channels: list[Channel] = []
        for k in self.shown:
            head = self.layout.headings[k]
            if k in self.digital:
                levels = _levels(values[:, k])
                channels.append(edges(head.name, times, levels, self.tick, int(last[k])))
                last[k] = levels[-1]
                continue
            samples = as_samples(values[:, k], head.scale)
            channels.append(
                Analog(name=head.name, unit=head.unit, samples=samples, times=times)
                if self.time >= 0
                else Analog(
                    name=head.name, unit=head.unit, samples=samples,
                    start=done * self.interval, step=self.interval,
                )
            )  # fmt: skip
        return Record(
            source=self.path.name,
            begin=float(times[0]),
            end=float(times[-1]),
            channels=tuple(channels),
            remarks=self.remarks,
        )

    def _backwards(self, at: int, row: int, text: bytes) -> CaptureError:
        return CaptureError(
            "time goes backwards or is missing; cut the file there, or choose another time column",
            source=self.path.name,
            line=line_of(self.path, at) + _line_of_row(text, row, self.layout.comment),
        )

    def _damage(self, block: int, at: int, text: bytes) -> CaptureError:
        words = text[at : at + 200].split(b"\n")[0][:60].decode("latin-1").rstrip("\r")
        return CaptureError(
            f"expected {len(self.layout.headings)} numbers with "
            f"{DELIMITERS[self.layout.delimiter]} between them, got {words!r}",
            source=self.path.name,
            line=line_of(self.path, block + at),
            byte=block + at + 1,
        )


def _reading(path: Path, layout: Layout, choices: Mapping[str, str]) -> _Reading:
    """Which column is the time, which are digital, and how fine the ticks are."""
    sample = np.array(layout.sample)
    names = [head.name for head in layout.headings]
    remarks: list[str] = []
    time = _time_column(layout, sample, choices, path.name)
    if "time-unit" in choices and time >= 0:
        unit = choices["time-unit"]
        known = scale_of(unit)
        if known is None or known[0] != "s":
            raise CaptureError(
                f"expected a unit of time such as ms, got {unit!r}", source=path.name
            )
        headings = [
            replace(h, scale=known[1]) if k == time else h for k, h in enumerate(layout.headings)
        ]
        layout = replace(layout, headings=tuple(headings))
    interval = parse(choices["interval"], "s") if "interval" in choices else layout.interval
    if not interval > 0:
        interval = 1.0
        if time < 0:
            remarks.append(
                "no time column and no interval in the file: samples are taken as 1 s apart; "
                "choose interval if it is known"
            )
    tick = interval
    if time >= 0:
        head = layout.headings[time]
        if head.unit not in ("s", ""):
            remarks.append(f"the time column {head.name!r} is in {head.unit}, taken as seconds")
        if not head.unit and "time-unit" not in choices:
            remarks.append("the time column has no unit: taken as seconds")
        tick = fine_tick(sample[:, time] * head.scale)
    same = frozenset(
        k for k in range(len(names))
        if k != time and time >= 0 and np.array_equal(sample[:, k], sample[:, time])
    )  # fmt: skip
    return _Reading(
        path=path,
        layout=replace(layout, headings=_unique(layout.headings)),
        time=time,
        interval=interval,
        tick=tick,
        digital=_digital_columns(names, sample, choices) - {time},
        left_out=same,
        remarks=tuple(remarks),
    )


def _time_column(
    layout: Layout, sample: NDArray[np.float64], choices: Mapping[str, str], source: str
) -> int:
    names = [head.name for head in layout.headings]
    chosen = choices.get("time")
    if chosen == _NONE:
        return -1
    if chosen is not None:
        if chosen in names:
            return names.index(chosen)
        if chosen.isdigit() and 1 <= int(chosen) <= len(names):
            return int(chosen) - 1
        raise UnknownName(f"column of {source}", chosen, names)
    finite = np.isfinite(sample).all(axis=0)
    plain = np.where(finite, sample, 0.0)
    rising = (np.diff(plain, axis=0) >= 0).all(axis=0) & (plain[-1] > plain[0])
    for k, head in enumerate(layout.headings):
        named = (
            head.name.lower().split()[0].rstrip(":") in _TIME_NAMES if head.name.split() else False
        )
        if named or (head.unit == "s" and rising[k]):
            return k
    # A first column that only rises, beside others, is the time.
    if "interval" in choices or layout.interval > 0 or len(names) < 2:
        return -1
    return 0 if rising[0] and (len(sample) > 2 or not np.isin(sample[:, 0], (0, 1)).all()) else -1


def _digital_columns(
    names: list[str], sample: NDArray[np.float64], choices: Mapping[str, str]
) -> frozenset[int]:
    """Columns of nothing but 0, 1, x and z, unless chosen otherwise."""
    if "digital" in choices:
        wanted = {name.strip() for name in choices["digital"].split(",")} - {"", _NONE}
        for name in wanted - set(names):
            raise UnknownName("column", name, names)
        return frozenset(k for k, name in enumerate(names) if name in wanted)
    two = np.isin(sample, (0.0, 1.0)) | np.isnan(sample) | np.isinf(sample)
    some = np.isin(sample, (0.0, 1.0)).any(axis=0)
    return frozenset(np.flatnonzero(two.all(axis=0) & some).tolist())


def _levels(values: NDArray[np.float64]) -> NDArray[np.int64]:
    """0 and 1 as they are (above a half is 1), z from infinite, else unknown."""
    levels = (values > 0.5).astype(np.int64)
    odd = ~np.isfinite(values)
    if odd.any():
        levels[odd] = np.where(np.isnan(values[odd]), UNKNOWN, Z)
    return levels


def _unique(headings: tuple[Heading, ...]) -> tuple[Heading, ...]:
    taken: dict[str, int] = {}
    for head in headings:
        taken[head.name] = taken.get(head.name, 0) + 1
    return tuple(
        replace(head, name=f"{head.name}~{k}") if taken[head.name] > 1 else head
        for k, head in enumerate(headings, 1)
    )


def _findings(reading: _Reading) -> Iterator[Finding]:
    layout, shown = reading.layout, reading.shown
    names = [head.name for head in layout.headings]
    delimiter = DELIMITERS[layout.delimiter]
    yield Finding(name="delimiter", value=delimiter, words=f"{delimiter} between fields")
    mark = "a point" if layout.decimal == "." else "a comma"
    yield Finding(name="decimal", value=layout.decimal, words=f"{mark} marks decimals")
    yield Finding(name="first", value=str(layout.first), words=f"rows begin in line {layout.first}")
    if reading.time >= 0:
        head = layout.headings[reading.time]
        unit = format_quantity(head.scale, "s")
        yield Finding(name="time", value=head.name, words=f"{head.name} is the time, 1 is {unit}")
    else:
        apart = format_quantity(reading.interval, "s", 6)
        yield Finding(name="time", value=_NONE, words="no column is the time")
        yield Finding(
            name="interval", value=f"{reading.interval:.12g}s", words=f"samples are {apart} apart"
        )
    digital = [names[k] for k in shown if k in reading.digital]
    words = f"{len(digital)} of {len(shown)} columns have two levels"
    yield Finding(name="digital", value=",".join(digital) or _NONE, words=words)


def _decode(head: bytes) -> str:
    try:
        return head.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError:
        return head.decode("latin-1")


def _lines(file: FileIO, skip: int) -> Iterator[tuple[int, bytes]]:
    """Byte and text of blocks of whole lines, without the first ``skip`` lines."""
    rest, more, at = b"", True, 0
    while more:
        piece = file.read(_BLOCK)
        more, text = bool(piece), rest + (piece or b"")
        cut = text.rfind(b"\n") + 1 if more and len(text) < _MOST_LINE else len(text)
        rest, text = text[cut:], text[:cut]
        begin = 0
        while skip and begin < cut:
            skip, begin = skip - 1, text.find(b"\n", begin) + 1 or cut
        if begin < cut:
            whole = text[begin:] if begin else text
            yield at + begin, whole if whole.endswith(b"\n") else whole + b"\n"
        at += cut


def _line_of_row(text: bytes, row: int, comment: str) -> int:
    """How many lines of a block stand before its row number ``row`` (from 0)."""
    for number, line in enumerate(text.split(b"\n")):
        if line.strip() and not line.lstrip().startswith(comment.encode() or b"\n"):
            if not row:
                return number
            row -= 1
    return 0


KIND = Format(
    name="text",
    title="delimited text (CSV)",
    suffixes=(".csv", ".txt", ".tsv", ".dat", ".prn"),
    help="Rows of numbers, one column for each channel, as oscilloscopes, analysers, loggers and "
    "spreadsheets write them. Columns of 0 and 1 are digital.",
    choices={
        "delimiter": "comma, semicolon, tab, bar or blanks",
        "decimal": "the mark between whole and part: . or ,",
        "first": "number of the line where the rows begin",
        "time": "name or number of the column with the time, or none",
        "time-unit": "unit of that column: s, ms, us, ns",
        "interval": "time between two samples, when there is no column with it",
        "digital": "names of the columns that have two levels, with commas, or none",
    },
    suits=suits,
    look=look,
)
