"""What was recorded, laid over what a good board shows for the same exercise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from halfsplit.build.compiled import Compiled
from halfsplit.build.transient import run
from halfsplit.build.transient_schedule import Schedule
from halfsplit.capture.record import Record
from halfsplit.checks._recorded import Bits, stages
from halfsplit.diagnose.laid_over import LaidOver, Trace, lay_over, traces
from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["Overlay", "Pair", "overlay"]

POINTS = 2000
SKEW = 0.08
"""Of the shortest state: edges may lie so far apart and still be the same (judgement)."""
APART, SHARE = 0.05, 0.22
"""V, and share of the swing, by which they may differ: tolerances of parts and the instrument; a
totem pole stands at 3.4 V or at 4.2 V when high, by its load and make
(judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pair:
    """One net at K times: ``measured`` and ``predicted`` [K] V (not-a-number where not recorded);
    they differ for the part ``differs`` of the time, for the longest ``span`` s from ``at`` s on
    (not-a-number when never). ``faulty`` [K] V is the same net under the fault that was chosen,
    if any, and ``differs_faulty`` the part for which that differs from what was measured."""

    net: str
    measured: Array
    predicted: Array
    differs: float
    at: float
    span: float
    faulty: Array | None = None
    differs_faulty: float = float("nan")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Overlay:
    """``time`` [K] s from the beginning of the exercise; ``laid`` where that is in the record."""

    time: Array
    pairs: tuple[Pair, ...]
    laid: LaidOver
    left_out: tuple[str, ...]
    assumed: tuple[str, ...]

    def to_json(self) -> dict[str, object]:
        """For programs; None where nothing was recorded."""
        return {
            "time": self.time.tolist(),
            "shift": self.laid.shift,
            "pace": self.laid.pace,
            "agreement": self.laid.agreement,
            "lines": [
                {
                    "net": pair.net,
                    "measured": _plain(pair.measured),
                    "predicted": _plain(pair.predicted),
                    "differs": pair.differs,
                    "differs_at": None if np.isnan(pair.at) else pair.at,
                    "differs_for": pair.span,
                    "faulty": None if pair.faulty is None else _plain(pair.faulty),
                    "differs_faulty": None if pair.faulty is None else pair.differs_faulty,
                }
                for pair in self.pairs
            ],
            "left_out": list(self.left_out),
            "assumed": list(self.assumed),
        }


def overlay(
    record: Record,
    nets: Mapping[str, str],
    world: Compiled,
    schedule: Schedule,
    *,
    fault: str | None = None,
    only: Sequence[str] | None = None,
) -> Overlay:
    """Lay the channels (channel -> net) over the waveforms of the good board, and of a ``fault``
    (its id). ``only`` these nets are predicted, else all; all of them find the place in time.

    Levels of a digital channel are drawn at the two levels that a good board has. Raises WaveError
    when no channel is on a net that changes in the exercise, and what
    :func:`halfsplit.build.transient.run` raises.
    """
    by_net = {net: channel for channel, net in nets.items()}
    known = [stage for stage in stages(world) if set(stage.nets) & set(by_net)]
    seen, left_out = traces(record, by_net, known)
    if not seen:
        raise WaveError(
            f"expected channels on nets that change, got {', '.join(record.names)}"
            + "".join(f"; {one}" for one in left_out)
        )
    laid = lay_over(seen, known, schedule)
    shown = {net: trace for net, trace in seen.items() if only is None or net in only}
    cases = [world.faults[0].id, *([] if fault is None else [fault])]
    played = run(world, schedule, faults=cases, places=[f"net {net}" for net in shown])
    time = np.linspace(0.0, schedule.seconds, POINTS)
    swings = {net: stage.swings[:, i] for stage in known for i, net in enumerate(stage.nets)}
    reach = SKEW * min(phase.seconds for phase in schedule.phases)
    pairs = [
        _pair(
            trace, swings[net], time, laid, played.at(time, played.volts[f"net {net}"]), reach
        )
        for net, trace in shown.items()
    ]  # fmt: skip
    return Overlay(
        time=time, pairs=tuple(pairs), laid=laid, left_out=tuple(left_out), assumed=played.assumed
    )


def _pair(
    trace: Trace, swing: Array, time: Array, laid: LaidOver, predicted: Array, reach: float
) -> Pair:
    """``predicted`` [1 or 2, K]: the good board, and the fault."""
    at = laid.shift + laid.pace * time
    if trace.volts.size:
        measured = np.interp(at, trace.seconds, trace.volts, left=np.nan, right=np.nan)
    elif trace.line is not None:
        outside = (at < trace.line.start) | (at > trace.line.stop)
        measured = np.where(outside, np.nan, np.where(trace.line.at(at), swing[1], swing[0]))
    else:
        measured = np.full_like(time, np.nan)
    width = max(int(reach / (time[1] - time[0])), 1)
    allowed = APART + SHARE * float(swing[1] - swing[0])
    apart, *faulty = (_apart(measured, row, width, allowed) for row in predicted)
    first, count = _longest(apart)
    each = float(time[1] - time[0])
    return Pair(
        net=trace.net,
        measured=measured,
        predicted=predicted[0],
        differs=float(apart.mean()),
        at=float(time[first]) if count else float("nan"),
        span=count * each,
        faulty=predicted[1] if faulty else None,
        differs_faulty=float(faulty[0].mean()) if faulty else float("nan"),
    )


def _apart(measured: Array, predicted: Array, width: int, allowed: float) -> Bits:
    """[K] whether nothing that is predicted within ``width`` points is near what was measured."""
    padded = np.pad(predicted, width, mode="edge")
    near = np.lib.stride_tricks.sliding_window_view(padded, 2 * width + 1)
    apart: Bits = (measured < near.min(axis=1) - allowed) | (measured > near.max(axis=1) + allowed)
    return apart


def _longest(flags: Bits) -> tuple[int, int]:
    """Where the longest run of true begins, and its length."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(int), [0]))))
    if not edges.size:
        return 0, 0
    begins, lengths = edges[::2], edges[1::2] - edges[::2]
    best = int(lengths.argmax())
    return int(begins[best]), int(lengths[best])


def _plain(row: Array) -> list[float | None]:
    return [None if np.isnan(value) else value for value in row.tolist()]
