"""Which sequence drives the lines, in which order they are wired, and which line fault is simplest.

Every assumption predicts codes; the likeliest walk through the recorded ones prices it, its faults
cost extra, and the cheapest wins.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby

import numpy as np

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.assumption import (
    FAULT,
    UNRECORDED,
    Assumption,
    assumptions,
    ring_sizes,
    tables,
)
from halfsplit.waves.follow import STEP, Walk, costs, walk
from halfsplit.waves.line import Array, Line, States
from halfsplit.waves.tidy import Tidy, tidy

__all__ = ["Recognised", "recognise"]

MOST_CODES = 100_000
"""More codes than this are refused; a window of the record is read instead."""

WINDOW = 240
"""Codes on which all assumptions are weighed; those that stay likely are weighed on all."""

FINALISTS = 24
AS_GOOD = 0.5
"""Assumptions whose price lies this near to the best are told as well."""

LATEST = 1.6
EARLIEST = 0.08
"""Steps by which a line may be late to release and be taken for that (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recognised:
    """``best`` with its ``walk`` through ``tidy.states``; ``recorded`` are the lines without their
    glitches; ``late`` (s) by which the best's line releases too late when that is its fault: in
    ``tidy`` its releases are moved earlier; ``others`` fit as well; ``margin`` is the price by
    which the best assumption of another kind lies behind."""

    recorded: tuple[Line, ...]
    tidy: Tidy
    best: Assumption
    walk: Walk
    late: float
    others: tuple[Assumption, ...]
    margin: float

    @property
    def states(self) -> States:
        return self.tidy.states


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Priced:
    price: float
    assumption: Assumption
    tidy: Tidy
    late: float


def recognise(
    lines: Sequence[Line],
    *,
    phases: int | None = None,
    active_low: bool | None = None,
    order_known: bool = False,
) -> Recognised:
    """Find sequence, order of wires and the simplest line fault of 2 to 5 phase lines.

    ``order_known``: the lines are listed in the motor's own order, so that another order is a
    fault. ``phases`` and ``active_low`` None: found. Raises :class:`WaveError` when there is
    nothing to recognise, see :func:`halfsplit.waves.tidy.tidy`.
    """
    if not 2 <= len(lines) <= 5:
        raise WaveError(f"expected 2 to 5 phase lines, got {len(lines)}; choose the phases")
    if phases is not None and not max(3, len(lines)) <= phases <= 5:
        raise WaveError(
            f"expected 3 to 5 phases and no fewer than the {len(lines)} lines, got {phases}"
        )
    clean = tidy(lines)
    if len(clean.states.codes) > MOST_CODES:
        raise WaveError(
            f"expected at most {MOST_CODES} codes, got {len(clean.states.codes)}; "
            "read a part of the record"
        )
    earlier = _released_earlier(lines, active_low)
    first: list[_Priced] = []
    for count in ring_sizes(len(lines)) if phases is None else (phases,):
        assumed = partial(
            assumptions, len(lines), phases=count, active_low=active_low, order_known=order_known
        )
        first += _price(assumed(faults=True), clean, WINDOW)
        for i, (early, by) in earlier.items():
            plain = assumed(faults=False)
            late = (replace(a, fault="late", lines=(i,), price=a.price + FAULT) for a in plain)
            first += _price(late, early, WINDOW, by)
        first.sort(key=lambda p: p.price)
        if first[0].price < UNRECORDED + STEP * len(clean.states.codes[:WINDOW]) + AS_GOOD:
            break  # no ring with a line missing from the record can do better
    final = _again(first[:FINALISTS])
    best = final[0]
    states = best.tidy.states
    found = walk(tables([best.assumption]), states.codes, states.spans / best.tidy.step)
    alike = [p for p in final[1:] if p.price < best.price + AS_GOOD]
    behind = [p for p in final[1:] if _kind(p) != _kind(best)]
    return Recognised(
        recorded=clean.lines,
        tidy=best.tidy,
        best=best.assumption,
        walk=found,
        late=best.late,
        others=tuple(p.assumption for p in alike if _kind(p) != _kind(best)),
        margin=behind[0].price - best.price if behind else float("inf"),
    )


def _kind(one: _Priced) -> tuple[str, tuple[int, ...]]:
    return one.assumption.fault, one.assumption.lines


def _price(which: Iterable[Assumption], clean: Tidy, most: int, late: float = 0.0) -> list[_Priced]:
    """Price assumptions on the first ``most`` codes."""
    codes = clean.states.codes[:most]
    steps: Array = clean.states.spans[:most] / clean.step
    priced = []
    ordered = sorted(which, key=lambda a: len(a.sequence.codes))
    for _, group in groupby(ordered, key=lambda a: len(a.sequence.codes)):
        members = list(group)
        found = costs(tables(members), codes, steps)
        priced += [
            _Priced(price=float(cost) + a.price, assumption=a, tidy=clean, late=late)
            for a, cost in zip(members, found, strict=True)
        ]
    return priced


def _again(some: list[_Priced]) -> list[_Priced]:
    """The same priced on all codes, cheapest first."""
    if all(len(p.tidy.states.codes) <= WINDOW for p in some):
        return some
    result: list[_Priced] = []
    for record in {id(p.tidy): p.tidy for p in some}.values():
        members = [p for p in some if p.tidy is record]
        result += _price(
            [p.assumption for p in members], record, len(record.states.codes), members[0].late
        )
    return sorted(result, key=lambda p: p.price)


def _released_earlier(
    lines: Sequence[Line], active_low: bool | None
) -> dict[int, tuple[Tidy, float]]:
    """For each line that is on for longer than its sisters: all lines with that one's releases
    moved earlier by the difference, and the difference (s)."""
    result = {}
    for on in (True, False) if active_low is None else (not active_low,):
        widths = [_usual_width(line, on) for line in lines]
        for i, line in enumerate(lines):
            others = [w for j, w in enumerate(widths) if j != i and np.isfinite(w)]
            if not others or not np.isfinite(widths[i]) or i in result:
                continue
            by = widths[i] - float(np.median(others))
            moved = [_earlier(line, on, by) if j == i else other for j, other in enumerate(lines)]
            if by <= 0:
                continue
            try:
                clean = tidy(moved)
            except WaveError:
                continue
            if EARLIEST < by / clean.step < LATEST:
                result[i] = clean, by
    return result


def _usual_width(line: Line, on: bool) -> float:
    pulses = line.pulses(on)
    return float(np.median(pulses[:, 1] - pulses[:, 0])) if len(pulses) else float("nan")


def _earlier(line: Line, on: bool, by: float) -> Line:
    """The line with every end of an ``on`` pulse moved earlier, never before its beginning."""
    edges = line.edges.copy()
    first_end = 0 if line.first == on else 1
    ends = np.arange(first_end, len(edges), 2)
    earliest = np.concatenate(([line.start], edges))[ends]
    edges[ends] = np.maximum(edges[ends] - by, earliest + 1e-3 * by)
    return replace(line, edges=edges)
