"""A scope: a trace with its time base and scale as the preamble tells them.

IEEE 488.2-1992, 8.7.9 for the block. The standards leave the preamble to the maker; the dialects
below, and what their numbers mean, are common practice, no source. Samples are asked for as
bytes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.record import Analog, Record
from halfsplit.errors import AnswerError
from halfsplit.frozen import dataclass
from halfsplit.instruments.answers import numbers
from halfsplit.instruments.kind import Way
from halfsplit.instruments.link import Link
from halfsplit.units import format_quantity, format_span

__all__ = ["KIND", "Preamble", "Scope", "Trace", "fetch", "record_of"]

MOST_POINTS = 50_000_000
_SAVE = "look at what the scope shows; or save the trace to a file there and use halfsplit capture"


@dataclass(frozen=True, slots=True, kw_only=True)
class Preamble:
    """What the bytes of a trace mean: sample k at ``begin + k * step`` seconds is
    ``(byte - zero) * scale + offset`` volts. ``doubt`` is empty, or says what is not sure."""

    points: int
    begin: float
    step: float
    scale: float
    zero: float
    offset: float
    doubt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """``volts`` [K] float32 of one channel, and its preamble."""

    channel: int
    preamble: Preamble
    volts: NDArray[np.float32]
    remarks: tuple[str, ...]

    @property
    def words(self) -> str:
        """In one line."""
        one = self.preamble
        return (
            f"{one.points} samples {format_quantity(one.step, 's')} apart from "
            f"{format_quantity(one.begin, 's')} on, {format_quantity(abs(one.scale), 'V')} a step, "
            f"{format_span(float(self.volts.min()), float(self.volts.max()), 'V')}"
        )

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON, SI units."""
        return {
            "channel": self.channel,
            "points": self.preamble.points,
            "begin": self.preamble.begin,
            "step": self.preamble.step,
            "volts_a_step": abs(self.preamble.scale),
            "low": float(self.volts.min()),
            "high": float(self.volts.max()),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Dialect:
    """``choose`` are settings, ``stop`` ends the sweeps, ``{n}`` is the channel's number."""

    choose: tuple[str, ...]
    stop: str
    preamble: Callable[[Link, int], Preamble]
    data: str
    signed: bool


class Scope:
    """It hands over a trace."""

    name = "scope"
    title = "scope"
    help = (
        "It hands over the traces on its screen with time base and scale; they are kept beside the "
        "case and entered as a capture is. With more than one channel it is stopped first, so that "
        "all are of one sweep."
    )
    cautions = (
        "The ground clips of all its probes are joined, and through its mains plug to earth: "
        "clip them to nothing that is not at earth, or it is a short. Never take its earth off; a "
        "board that floats on the mains wants a differential probe or an isolating transformer for "
        "the board, and those who may work on it.",
    )
    ways = (
        Way(name="waveform", probe="WAV:PRE?"),
        Way(name="curve", probe="WFMO:NR_P?"),
        Way(name="old curve", probe="WFMP:NR_P?"),
    )


KIND = Scope()


def fetch(link: Link, channels: Sequence[int], way: str) -> tuple[Trace, ...]:
    """The traces of these channels (from 1). Raises :class:`AnswerError` for a preamble that cannot
    be and a block that does not fit it, :class:`RefusedError` for a channel it does not have, and
    what `Link` raises."""
    dialect = _DIALECTS[way]
    if len(channels) > 1:
        link.tell(dialect.stop)
    return tuple(_trace(link, channel, dialect) for channel in channels)


def record_of(traces: Sequence[Trace], names: Mapping[int, str], source: str) -> Record:
    """The traces as one record; ``names`` are those of channels that have one, else CH1 and so
    on."""
    channels = tuple(
        Analog(
            name=names.get(one.channel, f"CH{one.channel}"), unit="V", samples=one.volts,
            start=one.preamble.begin, step=one.preamble.step,
        )
        for one in traces
    )  # fmt: skip
    ends = [one.preamble.begin + one.preamble.step * one.preamble.points for one in traces]
    return Record(
        source=source,
        begin=min(one.preamble.begin for one in traces),
        end=max(ends),
        channels=channels,
        remarks=tuple(remark for one in traces for remark in one.remarks),
    )


def _trace(link: Link, channel: int, dialect: _Dialect) -> Trace:
    link.tell(*(command.format(n=channel) for command in dialect.choose))
    preamble = _possible(link, dialect.preamble(link, channel))
    data = link.block(dialect.data, most=preamble.points)
    link.accepted(dialect.data)
    if len(data) != preamble.points:
        raise AnswerError(
            link.address, expected=f"{preamble.points} samples, as its preamble says",
            got=f"{len(data)}", do=_SAVE,
        )  # fmt: skip
    raw: NDArray[np.integer[Any]] = np.frombuffer(data, np.int8 if dialect.signed else np.uint8)
    volts = (raw.astype(np.float64) - preamble.zero) * preamble.scale + preamble.offset
    return Trace(
        channel=channel,
        preamble=preamble,
        volts=volts.astype(np.float32),
        remarks=tuple(_remarks(channel, raw, preamble)),
    )


def _possible(link: Link, preamble: Preamble) -> Preamble:
    """Raises :class:`AnswerError` for what no scope can mean."""
    values = {
        "from 1 to 50 million points": (1 <= preamble.points <= MOST_POINTS, preamble.points),
        "a step above 0 and below 1000 s": (0.0 < preamble.step < 1e3, preamble.step),
        "a scale other than 0, below 1 MV": (0.0 < abs(preamble.scale) < 1e6, preamble.scale),
        "a beginning within a day": (abs(preamble.begin) < 86400.0, preamble.begin),
        "an offset below 1 MV": (abs(preamble.offset) < 1e6, preamble.offset),
        "a zero line within 1 million steps": (abs(preamble.zero) < 1e6, preamble.zero),
    }
    for expected, (good, value) in values.items():
        if not good:
            raise AnswerError(
                link.address, expected=f"{expected} in the preamble", got=f"{value:g}", do=_SAVE
            )
    return preamble


def _remarks(channel: int, raw: NDArray[np.integer[Any]], preamble: Preamble) -> Sequence[str]:
    found = [preamble.doubt] if preamble.doubt else []
    ends = np.iinfo(raw.dtype)
    clipped = int(np.count_nonzero((raw == ends.min) | (raw == ends.max)))
    if clipped:
        found.append(
            f"CH{channel}: {clipped} of {raw.size} samples stand at the end of the scale: what "
            "is beyond was cut off"
        )
    return found


def _waveform(link: Link, channel: int) -> Preamble:
    """Ten numbers: format, type, points, count; step, begin and reference in time; scale, origin
    and reference in volts."""
    told = numbers(link.ask("WAV:PRE?"), link.address, count=10, what="the preamble")
    form, points, step, begin, first = told[0], told[2], told[4], told[5], told[6]
    scale, origin, reference = told[7:10]
    if form != 0.0:
        raise AnswerError(
            link.address, expected="samples as bytes (0 in the preamble)", got=f"{form:g}", do=_SAVE
        )
    zero, offset, doubt = reference, origin, ""
    if origin:
        zero, offset, doubt = _origin(link, channel, scale, origin, reference)
    return Preamble(
        points=_whole(link, points), begin=begin - first * step, step=step, scale=scale,
        zero=zero, offset=offset, doubt=doubt,
    )  # fmt: skip


def _origin(
    link: Link, channel: int, scale: float, origin: float, reference: float
) -> tuple[float, float, str]:
    """Makers differ in whether the origin is in volts or in steps of the scale. The channel's
    offset, asked for, is one of the two."""
    answer = link.knows(f"CHAN{channel}:OFFS?")
    as_volts, as_steps = (reference, origin), (reference + origin, 0.0)
    if answer is None:
        doubt = (
            f"CH{channel}: the zero line is not sure, since the scope does not tell its offset; it "
            f"may be {abs(origin * (1.0 - scale)):.3g} V off"
        )
        return *as_volts, doubt
    offset = abs(numbers(answer, link.address, count=1, what="the channel's offset")[0])
    in_steps = abs(abs(origin * scale) - offset) < abs(abs(origin) - offset)
    return *(as_steps if in_steps else as_volts), ""


def _curve(prefix: str) -> Callable[[Link, int], Preamble]:
    """Every number by a question of its own."""

    def preamble(link: Link, channel: int) -> Preamble:
        def told(name: str) -> float:
            return link.number(f"{prefix}:{name}?", "the preamble")

        step = told("XIN")
        return Preamble(
            points=_whole(link, told("NR_P")), begin=told("XZE") - told("PT_O") * step, step=step,
            scale=told("YMU"), zero=told("YOF"), offset=told("YZE"),
        )  # fmt: skip

    return preamble


def _whole(link: Link, points: float) -> int:
    if not math.isfinite(points) or points != int(points):
        raise AnswerError(
            link.address, expected="a whole number of points", got=f"{points:g}", do=_SAVE
        )
    return int(points)


_DIALECTS = {
    "waveform": _Dialect(
        choose=("WAV:SOUR CHAN{n}", "WAV:FORM BYTE"), stop="STOP", preamble=_waveform,
        data="WAV:DATA?", signed=False,
    ),
    "curve": _Dialect(
        choose=("DAT:SOU CH{n}", "DAT:ENC RIB", "WFMO:BYT_N 1"), stop="ACQ:STATE STOP",
        preamble=_curve("WFMO"), data="CURV?", signed=True,
    ),
    "old curve": _Dialect(
        choose=("DAT:SOU CH{n}", "DAT:ENC RIB", "DAT:WID 1"), stop="ACQ:STATE STOP",
        preamble=_curve("WFMP"), data="CURV?", signed=True,
    ),
}  # fmt: skip
