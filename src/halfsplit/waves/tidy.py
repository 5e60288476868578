"""Lines made fit for reading as steps: glitches set aside, edges of one step brought together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.line import Array, Line, States, merge

__all__ = ["SKEW", "Tidy", "gather", "tidy"]

GLITCH = 0.08
"""Of the usual pulse of the lines: what is shorter is set aside (judgement)."""

SKEW = 0.1
"""Of the usual step: codes that hold for less lie inside one step (judgement)."""

USUAL = 0.35
"""Quantile of the spans of codes that is taken for a step: neighbours made alike by a fault, ramps
and pauses make others longer (judgement)."""

RESOLVED = 2.0
"""Sample intervals that a step must last to be seen (judgement; the sampling theorem asks for two
per period)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tidy:
    """``lines`` without their glitches, ``glitches`` [P, 2] of each line (start and end, s),
    ``states`` with codes inside one step left out, ``step`` the usual time of a step (s)."""

    lines: tuple[Line, ...]
    glitches: tuple[Array, ...]
    states: States
    step: float


def tidy(lines: Sequence[Line]) -> Tidy:
    """Set glitches aside and bring edges of one step together.

    Raises :class:`WaveError` for fewer than two lines, no edges at all, lines that are all alike,
    and steps shorter than twice the resolution.
    """
    if len(lines) < 2:
        raise WaveError(f"expected at least two phase lines, got {len(lines)}")
    start, stop = max(line.start for line in lines), min(line.stop for line in lines)
    moving = [line for line in lines if len(line.edges)]
    if not moving:
        raise WaveError(
            f"expected lines that change, but none of {_names(lines)} has an edge from {start:g} "
            f"to {stop:g} s: nothing was exercised, or the thresholds do not fit"
        )
    _not_all_alike(lines)
    usual = float(np.median([np.median(_widths(line)) for line in moving]))
    cleaned = [line.without_short(GLITCH * usual) for line in lines]
    whole = tuple(line for line, _ in cleaned)
    raw = merge(whole)
    rough = gather(raw, GLITCH * usual)
    step = _usual_span(rough)
    resolution = raw.resolution
    if resolution and step < RESOLVED * resolution:
        raise WaveError(
            f"the record is too slow to resolve a step: it was sampled every {resolution:.3g} s "
            f"and the lines change about every {step:.3g} s; sample at least ten times a step"
        )
    skew = max(SKEW * step, 1.01 * resolution if step > 4 * resolution else 0.0)
    states = gather(raw, skew)
    return Tidy(
        lines=whole,
        glitches=tuple(glitches for _, glitches in cleaned),
        states=states,
        step=_usual_span(states),
    )


def gather(states: States, skew: float) -> States:
    """Leave out codes that hold for less than ``skew`` (s); the code after them begins where they
    began."""
    times: list[float] = []
    codes: list[int] = []
    pending: float | None = None
    last = len(states.codes) - 1
    for i, (time, code, span) in enumerate(
        zip(states.times.tolist(), states.codes.tolist(), states.spans.tolist(), strict=True)
    ):
        begin = time if pending is None else pending
        if span < skew and i != last:
            pending = begin
            continue
        pending = None
        if codes and codes[-1] == code:
            continue
        times.append(begin)
        codes.append(code)
    return replace(states, times=np.array(times), codes=np.array(codes, np.int64))


def _usual_span(states: States) -> float:
    inner = states.spans[1:-1]
    return float(np.quantile(inner if len(inner) else states.spans, USUAL))


def _widths(line: Line) -> Array:
    inner = np.diff(line.edges)
    return inner if len(inner) else np.array([line.stop - line.start])


def _not_all_alike(lines: Sequence[Line]) -> None:
    first = lines[0]
    if all(
        line.first == first.first and np.array_equal(line.edges, first.edges) for line in lines[1:]
    ):
        raise WaveError(
            f"all channels are identical ({_names(lines)}): one signal was recorded several times; "
            "look at the probes and at the columns chosen"
        )


def _names(lines: Sequence[Line]) -> str:
    return ", ".join(line.name for line in lines)
