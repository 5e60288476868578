"""A capture entered into a case: the readings it gives, and a picture of what it shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from halfsplit.bench import Bench
from halfsplit.build.transient_schedule import Schedule
from halfsplit.capture.record import Record
from halfsplit.diagnose.captured import Captured, StageFinding, read_capture
from halfsplit.diagnose.overlay import Overlay, overlay
from halfsplit.draw.traces import Strip
from halfsplit.finding import lines_picture, traces_picture
from halfsplit.frozen import dataclass

__all__ = ["Entered", "enter_capture", "overlay_strips"]

POINTS = 500
"""Of a trace in a picture that is kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """What was read, the name of the kept record, the numbers of the readings' events, and that of
    the picture's, if any."""

    captured: Captured
    kept: str
    readings: tuple[int, ...]
    picture: int | None


def enter_capture(
    bench: Bench,
    record: Record,
    nets: Mapping[str, str],
    schedule: Schedule | None,
    *,
    keep: Callable[[], str],
) -> Entered:
    """One reading for every stage of which a line was recorded, of coils also how they are switched
    off, and a picture of the first bad one
    (of the last where none is bad). ``keep`` keeps the record and gives its name. Raises as
    :func:`halfsplit.diagnose.captured.read_capture`, and then keeps and enters nothing."""
    found = read_capture(record, nets, bench.world, schedule)
    shown = found.first_bad or found.stages[-1]
    picture = _picture(bench, record, nets, schedule, shown)
    name = keep()
    told = [(one.check, one.text) for one in found.stages]
    told += [(one.check, one.text) for one in found.measured]
    source = f"capture {name}" if name else "capture"
    readings = tuple(bench.write(check, text, source=source) for check, text in told)
    words = (
        f"The first bad stage is {' '.join(shown.nets)}. {shown.words}"
        if found.first_bad
        else f"Every stage that was recorded is right, the last {' '.join(shown.nets)}."
    )
    number = None if picture is None else bench.add_finding(words, picture, capture=name)
    return Entered(captured=found, kept=name, readings=readings, picture=number)


def overlay_strips(found: Overlay, every: int = 1) -> tuple[tuple[str, ...], list[Strip]]:
    """Names of the cases, and a strip for each line, of one point in ``every``."""
    faulty = any(pair.faulty is not None for pair in found.pairs)
    names = ("good board", *(["the fault"] if faulty else []), "recorded")
    strips = [
        Strip(
            title=pair.net,
            unit="V",
            values=np.stack(
                [row for row in (pair.predicted, pair.faulty, pair.measured) if row is not None]
            )[:, ::every],
        )
        for pair in found.pairs
    ]
    return names, strips


def _picture(
    bench: Bench,
    record: Record,
    nets: Mapping[str, str],
    schedule: Schedule | None,
    shown: StageFinding,
) -> dict[str, object] | None:
    if schedule is None:
        return None if shown.picture is None else lines_picture(shown.picture)
    laid = overlay(record, nets, bench.world, schedule, only=shown.nets)
    every = max(laid.time.size // POINTS, 1)
    names, strips = overlay_strips(laid, every)
    return traces_picture(shown.words, laid.time[::every].tolist(), names, strips)
