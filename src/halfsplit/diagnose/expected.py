"""What a good board reads at a place, and which faults would read otherwise there."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfsplit.build.world import Numbers, World
from halfsplit.checks.kind import Meter
from halfsplit.frozen import dataclass

__all__ = ["Differs", "Expected", "expected_volts"]

APART = 3.0
"""Means further apart than this many standard deviations count as reading otherwise (a normal
deviate goes beyond 3 once in 370: common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Differs:
    """A fault that reads otherwise: ``mean`` in volt, not-a-number when unresolved."""

    fault: str
    mean: float
    floating: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """DC volts to ground at a place in a state on a good board, in volt.

    ``spread`` is one standard deviation, tolerance and meter together; ``other`` a second value
    that is just as good (a latch), else not-a-number. ``differs`` lists faults that would be told
    from a good board here, likeliest first.
    """

    place: str
    net: str
    state: str
    mean: float
    spread: float
    other: float
    floating: bool
    unresolved: bool
    differs: tuple[Differs, ...]

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON; ``null`` stands for unresolved."""
        return {
            "place": self.place,
            "net": self.net,
            "state": self.state,
            "mean": _number(self.mean),
            "spread": _number(self.spread),
            "other": _number(self.other),
            "floating": self.floating,
            "unresolved": self.unresolved,
            "differs": [
                {"id": d.fault, "mean": _number(d.mean), "floating": d.floating}
                for d in self.differs
            ],
        }


def expected_volts(
    world: World, places: Sequence[str], states: Sequence[str], meter: Meter | None = None
) -> tuple[Expected, ...]:
    """What is expected at each place in each state, place by place.

    Raises :class:`PlaceError` and :class:`UnknownName` for what is not on the board.
    """
    meter = Meter() if meter is None else meter
    found = [world.place(place) for place in places]
    names = [place.name for place in found]
    order = np.argsort(-world.prior[: len(world.faults)], kind="stable")
    by_state = {state: world.volts(state, names) for state in states}
    return tuple(
        _at(world, by_state[state], column, place.name, place.net, state, order, meter)
        for column, place in enumerate(found)
        for state in states
    )


def _at(
    world: World,
    numbers: Numbers,
    column: int,
    name: str,
    net: str,
    state: str,
    order: np.typing.NDArray[np.int64],
    meter: Meter,
) -> Expected:
    mean, floating = numbers.mean[:, column], numbers.floating[:, column]
    unresolved = numbers.unresolved[:, column]
    shown = numbers.widened(meter.volts_error)
    spread = np.nan_to_num(shown.spread[:, column])
    other = float(numbers.other[0, column])
    apart = np.abs(mean - mean[0]) > APART * np.hypot(spread, spread[0])
    if not math.isnan(other):
        apart &= np.abs(mean - other) > APART * np.hypot(spread, shown.other_spread[0, column])
    told = (apart | (floating != floating[0])) & ~unresolved & ~unresolved[0]
    return Expected(
        place=name,
        net=net,
        state=state,
        mean=float(mean[0]),
        spread=float(spread[0]) if not unresolved[0] else math.nan,
        other=other,
        floating=bool(floating[0]),
        unresolved=bool(unresolved[0]),
        differs=tuple(
            Differs(fault=world.faults[f].id, mean=float(mean[f]), floating=bool(floating[f]))
            for f in order
            if told[f] and f > 0
        ),
    )


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
