"""Lines that are recorded together, and the level of each in every state of an exercise.

A stage is one net of each of several like channels, or a net by itself. Its exercise is the powered
states in which a good board shows different codes on it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.channels import channels
from halfsplit.build.world import Numbers, World
from halfsplit.checks._places import legs_by_net, powered_states
from halfsplit.checks._three import three_way
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["MOST_LINES", "Bits", "Stage", "levels", "stage_at", "stages"]

Bits = npt.NDArray[np.bool_]

MOST_LINES = 8
"""Lines of one stage at most: what a usual instrument has channels for."""
SMALLEST_SWING = 0.3
"""V between the two levels of a line; less is lost in noise (judgement)."""
CLEAR = 0.2
"""V by which the levels of a good line must clear the thresholds of the inputs on it; else its own
two levels tell on from off (judgement)."""
OWN_LOW, OWN_HIGH = 0.4, 0.6
"""Of the swing: the thresholds in that case."""
SCOPE_ERROR, SCOPE_SHARE = 0.01, 0.03
"""V, and share of the swing: 3 % of full scale is what data sheets of 8-bit scopes promise (from
memory)."""
NOTHING_HELD = np.array([0.4, 0.2, 0.4])
"""What a line that nothing holds is recorded as: it follows its neighbours (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stage:
    """n lines: ``places`` and their ``nets``; S ``states``; ``healthy`` [S, n] high on a good
    board; ``on`` [n] the level that each line has in fewer states than the other (high if in as
    many); ``below`` and ``above`` [n] volts: surely low, surely high; ``swings``
    [2, n] volts, the lowest and the highest level of a good board."""

    places: tuple[str, ...]
    nets: tuple[str, ...]
    states: tuple[str, ...]
    healthy: Bits
    on: Bits
    below: Array
    above: Array
    swings: Array

    @property
    def active(self) -> Bits:
        """[S, n] on, on a good board."""
        active: Bits = self.healthy == self.on
        return active


def stages(world: World) -> list[Stage]:
    """Every stage on which a good board shows something; where that is not known, all."""
    legs = legs_by_net(world)
    rows: list[Sequence[str]] = [row for row in _sisters(world) if set(row) <= set(legs)]
    alone = set(legs) - {net for row in rows for net in row} - world.supply_pin_nets
    rows += [(net,) for net in legs if net in alone]
    found = [_stage([legs[net][0] for net in row], world) for row in rows]
    return [stage for stage in found if len(stage.states) > 1]


def stage_at(name: str, world: World) -> Stage:
    """The stage that a place is on: it, and the first places of its sisters. Raises PlaceError."""
    place = world.place(name)
    legs = legs_by_net(world)
    for row in _sisters(world):
        if place.net in row and set(row) <= set(legs):
            places = [name if net == place.net else legs[net][0] for net in row]
            return _stage(places, world)
    return _stage([name], world)


def levels(stage: Stage, world: World) -> Array:
    """[F, S, n, 3] chances that each line is on, between, and off."""
    p = np.empty((len(world.faults), len(stage.states), len(stage.nets), 3))
    error = SCOPE_ERROR + SCOPE_SHARE * np.nan_to_num(np.ptp(stage.swings, axis=0))
    for s, state in enumerate(stage.states):
        numbers = world.volts(state, stage.places).widened(lambda _: error)
        rows = three_way(numbers, stage.below, stage.above, NOTHING_HELD)
        p[:, s] = np.moveaxis(rows, 0, 1)
    return np.where(stage.on[:, None], p[..., ::-1], p)


def _sisters(world: World) -> list[tuple[str, ...]]:
    """Rows of like nets, one of each channel, of groups that fit on an instrument."""
    found: list[tuple[str, ...]] = []
    for group in channels(world.board):
        if len(group) <= MOST_LINES:
            rows = zip(*(channel.nets for channel in group), strict=True)
            found += [row for row in rows if len(set(row)) == len(row)]
    return found


def _stage(places: Sequence[str], world: World) -> Stage:
    states = powered_states(world)
    numbers = [world.volts(state, places) for state in states]
    volts = np.array([_healthy(one) for one in numbers]).reshape(len(states), len(places))
    nets = [world.place(place).net for place in places]
    below, above = np.array([_limits(net, volts[:, i], world) for i, net in enumerate(nets)]).T
    high = volts > 0.5 * (below + above)
    codes = [tuple(row) for row in high.tolist()]
    unknown = np.isnan(volts).any()
    kept = [k for k, code in enumerate(codes) if unknown or code not in codes[:k]]
    healthy = high[kept]
    return Stage(
        places=tuple(places),
        nets=tuple(nets),
        states=tuple(states[k] for k in kept),
        healthy=healthy,
        on=2 * healthy.sum(axis=0) <= len(kept),
        below=below,
        above=above,
        swings=np.array([volts.min(axis=0), volts.max(axis=0)]),
    )


def _healthy(numbers: Numbers) -> Array:
    mean: Array = np.where(numbers.unresolved[0], np.nan, numbers.mean[0])
    return mean


def _limits(net: str, volts: Array, world: World) -> tuple[float, float]:
    """Of the inputs on the net, or from the line's own two levels."""
    low, high = world.thresholds(net)
    if np.isnan(volts).any():
        return low, high
    bottom, top = float(volts.min()), float(volts.max())
    swing = top - bottom
    if swing < SMALLEST_SWING or (bottom <= low - CLEAR and top >= high + CLEAR):
        return low, high
    return bottom + OWN_LOW * swing, bottom + OWN_HIGH * swing
