"""One errand of a motor with single faults, driven by the true waveforms of the board."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build import transient
from halfsplit.build.compiled import Compiled
from halfsplit.build.motion import Stepper, follows_home, schedule_of, steady, turns
from halfsplit.frozen import dataclass
from halfsplit.motion.drive import Drive
from halfsplit.motion.judge import RUNS, Errand, Judged, judge
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.powerup import power_up
from halfsplit.motion.sound import Heard, predict
from halfsplit.motion.walk import Columns, Grid, Walk, walk

__all__ = ["Played", "commanded", "play", "play_steady", "powered_up", "rates_run"]


_TRAVEL = 40.0
"""Full steps of a travel that nobody gave."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """Of B ``faults``: the motion, its words, and what would be heard on the way up.
    ``unresolved`` [B]: currents could not be computed, and the motion means nothing."""

    faults: tuple[str, ...]
    errand: Errand
    done: Walk
    judged: Judged
    heard: tuple[Heard, ...]
    unresolved: npt.NDArray[np.bool_]


def play(
    world: Compiled, stepper: Stepper, mechanism: Mechanism, errand: Errand, faults: Sequence[str]
) -> Played:
    """Currents by :func:`halfsplit.build.transient.run`. Raises UnknownName for a fault that is
    not there."""
    waves = transient.run(
        world, schedule_of(stepper, errand), faults=faults, currents=stepper.windings
    )
    grid = Grid.make(mechanism, errand.seconds.tolist())
    rows = [[fault.id for fault in world.faults].index(name) for name in faults]
    left = turns(world, stepper)[rows]
    given = [waves.at(grid.middles, waves.currents[name]).T for name in stepper.windings]
    currents = stepper.sign * np.stack(given, axis=1) * left.T
    lost = waves.unresolved | np.asarray(np.isnan(currents).any(axis=(0, 1)), dtype=np.bool_)
    return _played(stepper, mechanism, errand, grid, currents, tuple(faults), lost)


def play_steady(
    stepper: Stepper, mechanism: Mechanism, errand: Errand, amps: Array, names: Sequence[str]
) -> Played:
    """The quick way: ``amps`` [B, C, P] that the board settles to, by exponentials."""
    grid = Grid.make(mechanism, errand.seconds.tolist())
    settled = np.moveaxis(amps[:, errand.path], 0, -1)
    currents = _drive(stepper).currents(grid, _cut(stepper, settled))
    lost = np.asarray(np.isnan(amps).any(axis=(1, 2)), dtype=np.bool_)
    return _played(stepper, mechanism, errand, grid, currents, tuple(names), lost)


def rates_run(
    world: Compiled,
    stepper: Stepper,
    mechanism: Mechanism,
    faults: Sequence[str],
    rates: Sequence[float],
    count: int = 24,
) -> npt.NDArray[np.bool_]:
    """[B, R] whether each fault still runs there and back when stepped at each of ``rates`` from
    standstill, by the quick way."""
    rows = [[fault.id for fault in world.faults].index(name) for name in faults]
    amps = steady(world, stepper)[rows]
    found = []
    for rate in rates:
        errand = Errand.make(count, len(stepper.states), rate)
        found.append(play_steady(stepper, mechanism, errand, amps, faults).judged.word == RUNS)
    return np.stack(found, axis=1)


def powered_up(
    world: Compiled, stepper: Stepper, mechanism: Mechanism, faults: Sequence[str], rate: float
) -> tuple[str, ...]:
    """What a unit with each fault does at power-up, by the quick way: from a quarter of its travel
    it seeks home, runs to the far end and back, and should report ready."""
    rows = [[fault.id for fault in world.faults].index(name) for name in faults]
    home = follows_home(world)
    sensed = np.ones(len(rows), dtype=bool) if home is None else home[1][rows]
    travel = _TRAVEL if mechanism.stops is None else mechanism.stops[1] - mechanism.home
    start = np.rint(0.25 * travel / mechanism.cycle) * mechanism.cycle
    states = _cut(stepper, np.moveaxis(steady(world, stepper)[rows], 0, -1))
    found = power_up(
        mechanism, _drive(stepper), states, start=np.full(len(rows), start), sensed=sensed,
        count=max(1, int(travel / stepper.size)), rate=rate, first=stepper.first,
    )  # fmt: skip
    return tuple(
        "ready" if ready else "does not come back to home" if seen else "never finds home"
        for seen, ready in zip(found.found.tolist(), found.ready.tolist(), strict=True)
    )


def commanded(played: Played, stepper: Stepper) -> Array:
    """[K] full steps asked for, from where it was at rest."""
    up = np.minimum(np.arange(len(played.errand.path)), played.errand.count)
    back = np.maximum(np.arange(len(played.errand.path)) - played.errand.far, 0)
    steps = (up - np.minimum(back, played.errand.count)) * stepper.size
    ends = played.done.grid.ends
    found: Array = np.repeat(steps.astype(float), np.diff(ends, prepend=-1))
    return found


def _drive(stepper: Stepper) -> Drive:
    """Its windings, clamped at their own supply above it."""
    return Drive(ohms=stepper.ohms, henries=stepper.henries, clamp=stepper.amps * stepper.ohms)


def _cut(stepper: Stepper, amps: Array) -> Array:
    """Leaks, and what is unresolved, are no current."""
    small = ~(np.abs(amps) >= 1e-3 * stepper.amps)
    found: Array = np.where(small, 0.0, amps)
    return found


def _played(
    stepper: Stepper, mechanism: Mechanism, errand: Errand, grid: Grid, currents: Array,
    faults: tuple[str, ...], lost: npt.NDArray[np.bool_],
) -> Played:  # fmt: skip
    done = walk(
        mechanism, grid, np.nan_to_num(currents), start=stepper.first, columns=Columns(),
        winding=(stepper.ohms, stepper.henries),
    )  # fmt: skip
    times = np.cumsum(errand.seconds)
    heard = predict(done, float(times[0]), float(times[errand.far - 1]))
    return Played(
        faults=faults, errand=errand, done=done, judged=judge(errand, done, size=stepper.size),
        heard=tuple(heard), unresolved=lost,
    )  # fmt: skip
