"""What the recorded end of a coil does when it is switched off, as readings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from halfsplit.build.world import World
from halfsplit.checks._recorded import Stage
from halfsplit.checks._switched import AFTER, carries, coil_at, shape
from halfsplit.checks.kind import Check
from halfsplit.diagnose.laid_over import LaidOver, Trace
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.units import format_quantity

__all__ = ["Measured", "coils_switched"]

FINE, TOP = 8.0, 4
"""Samples while it settles, and near its top, at the least, for its time and its peak to be
believed (judgement)."""
EARLY = 0.05
"""Of a state: so much before it is over the line may already leave it."""
SAME = 0.8
"""Of samples near the top that are the same when the instrument's range ends there (judgement)."""
SEEN = 0.02
"""Of the swing above where it rests: a kick that is seen (judgement)."""
MISSED = 0.9
"""Of the peak that a coarse record shows: the true one is above (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """``text`` answers ``check`` on ``net``."""

    check: Check
    net: str
    text: str


def coils_switched(
    seen: Mapping[str, Trace], known: Sequence[Stage], laid: LaidOver, world: World
) -> Iterator[Measured]:
    """Peak and time to rest of every coil's end that was recorded in volts."""
    for stage in known:
        for net, place in zip(stage.nets, stage.places, strict=True):
            trace = seen.get(net)
            coil = coil_at(net, world)
            if coil and trace is not None and trace.volts.size:
                on = dict(zip(stage.states, carries(stage, coil, world).tolist(), strict=True))
                yield from _measured(trace, on, place, laid)


def _measured(
    trace: Trace, on: Mapping[str, bool], place: str, laid: LaidOver
) -> Iterator[Measured]:
    windows = list(_windows(trace.seconds, on, laid))
    if not windows:
        return
    found = [
        shape(trace.seconds[window], trace.volts[None, window], off) for window, off in windows
    ]
    peak = float(np.median([one.peak[0] for one in found]))
    settles = [float(one.settle[0]) for one in found]
    each = float(trace.seconds[1] - trace.seconds[0])
    settle = float(np.median(settles))
    if np.isnan(settle):  # it does not switch, which its stage's finding says
        return
    if peak > 0.0:
        tops = [_near_top(trace.volts[window]) for window, _ in windows]
        caught = np.median([top.size for top in tops]) >= TOP and not _clipped(tops)
        text = f"{peak:.3g} V" if caught else f"over {MISSED * peak:.3g} V"
        yield Measured(check=Check(kind="peak", places=(place,)), net=trace.net, text=text)
    if settle >= FINE * each:
        text = format_quantity(settle, "s", 3)
        yield Measured(check=Check(kind="settle", places=(place,)), net=trace.net, text=text)


def _near_top(volts: Array) -> Array:
    """Samples above where it rests that are within a tenth of the highest of these."""
    above = volts - volts[-1]
    least = SEEN * float(np.ptp(volts))
    near: Array = volts[(above > least) & (above > 0.9 * above.max())]
    return near


def _clipped(tops: Sequence[Array]) -> bool:
    """Whether nearly all of them are the very same value: the instrument's range ended there."""
    every = np.concatenate(tops)
    return bool((every == every.max()).mean() > SAME)


def _windows(
    seconds: Array, on: Mapping[str, bool], laid: LaidOver
) -> Iterator[tuple[slice, float]]:
    """The samples around each time at which the exercise switches the coil off, and that time."""
    visits = laid.visits
    for k, (one, after) in enumerate(pairwise(visits)):
        if not on.get(one.state, False) or on.get(after.state, True):
            continue
        step = one.end - one.begin
        later = [visit.begin for visit in visits[k + 1 :] if on.get(visit.state, False)]
        end = min([one.end + AFTER * step, visits[-1].end, *later])
        begin = one.begin + 0.5 * step
        first, last = np.searchsorted(seconds, (begin, end - EARLY * step))
        off = one.end - EARLY * step
        if last - first > 2 * FINE and seconds[first] < off:
            yield slice(int(first), int(last)), off
