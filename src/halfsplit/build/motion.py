"""The stepping motors of a board: which windings, which states step them, what currents flow.

Nothing about it need be typed: windings that share a net are one motor, and states in which the
healthy board pulls to evenly spaced angles are its steps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import Board, Part
from halfsplit.build.mechanics import motors
from halfsplit.build.transient_schedule import Phase, Schedule
from halfsplit.build.world import Flags, World
from halfsplit.errors import MotionError
from halfsplit.frozen import dataclass
from halfsplit.motion.judge import Errand
from halfsplit.motion.mechanism import Array, Mechanism

__all__ = ["Stepper", "follows_home", "schedule_of", "steady", "stepper_of", "steppers", "turns"]

_LEAST_PULL = 0.5
"""A state that pulls less than this share of the strongest is none of the steps."""
_STRONG = 0.2
"""Share of the largest current that is meant; when some go either way, the drive is bipolar."""
_UNEVEN = 0.15
"""Steps between neighbouring states may differ by so much of a full step."""
_SIZES = (0.5, 1.0)
_HENRIES = 20e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Stepper:
    """``windings`` [P] in the order of their angles, ``states`` [C] in the order of their places in
    one cycle; ``size`` full steps from one state to the next; ``first`` full steps: where the first
    state pulls to; ``amps`` the largest healthy current; ``ohms`` and ``henries`` of a winding."""

    windings: tuple[str, ...]
    states: tuple[str, ...]
    bipolar: bool
    size: float
    first: float
    amps: float
    sign: float
    ohms: float
    henries: float

    def fit(self, mechanism: Mechanism) -> Mechanism:
        """The mechanism with this board's phases. Raises :class:`MotionError`."""
        return replace(mechanism, phases=len(self.windings), bipolar=self.bipolar)


def steppers(world: World) -> Iterator[Stepper]:
    """Every stepping motor of the board whose steps are among its states."""
    for parts in motors(world.board):
        found = stepper_of(world, [part.designator for part in parts])
        if found is not None:
            yield found


def stepper_of(
    world: World, windings: Sequence[str], *, order: Sequence[str] = ()
) -> Stepper | None:
    """The motor of these windings, in the order in which their phases follow one another (as they
    stand on the board, unless ``order`` names them); None when no states step it."""
    names = tuple(order) or tuple(windings)
    if set(names) != set(windings):
        raise MotionError(f"expected the windings {', '.join(windings)}, got {', '.join(names)}")
    powered = [state.name for state in world.board.states if state.powered]
    if not 2 <= len(names) <= 5 or not powered:
        return None
    amps = np.array([world.current(state, names).mean[0] for state in powered])
    most = float(np.nanmax(np.abs(amps), initial=0.0))
    if not most > 0.0:
        return None
    strong = np.abs(amps) > _STRONG * most
    bipolar = bool((strong & (amps > 0.0)).any() and (strong & (amps < 0.0)).any())
    sign = -1.0 if not bipolar and (strong & (amps < 0.0)).any() else 1.0
    amps = sign * amps
    if len(names) == 2 and not bipolar:
        return None
    model = Mechanism(phases=len(names), bipolar=bipolar, rated=most)
    for number in (None, *range(1, len(names) + 1)):
        on = strong.sum(axis=1)
        usable = np.isfinite(amps).all(axis=1) & (on > 0 if number is None else on == number)
        cycle = _cycle(model, amps, usable)
        if cycle:
            rows, size, first = cycle
            ohms, henries = _values(world.board, names)
            return Stepper(
                windings=names, states=tuple(powered[row] for row in rows), bipolar=bipolar,
                size=size, first=first, amps=most, sign=sign, ohms=ohms, henries=henries,
            )  # fmt: skip
    return None


def steady(world: World, stepper: Stepper) -> Array:
    """[F, C, P] A that pull, in each state of the cycle; not-a-number where unresolved.

    A winding pulls by its ampere-turns: with part of its turns its current counts for so much less.
    """
    found = [world.current(state, stepper.windings).mean for state in stepper.states]
    return turns(world, stepper)[:, None, :] * stepper.sign * np.stack(found, axis=1)


def turns(world: World, stepper: Stepper) -> Array:
    """[F, P] share of each winding's turns that a fault leaves: inductance goes with its square."""
    found = np.ones((len(world.faults), len(stepper.windings)))
    for row, fault in enumerate(world.faults):
        for designator, change in fault.stored:
            if designator in stepper.windings and change.param == "value" and change.scale:
                found[row, stepper.windings.index(designator)] *= np.sqrt(change.value)
    return found


def schedule_of(stepper: Stepper, errand: Errand) -> Schedule:
    """The errand as states of the board, for :func:`halfsplit.build.transient.run`."""
    pairs = zip(errand.path.tolist(), errand.seconds.tolist(), strict=True)
    return Schedule(
        phases=tuple(Phase(state=stepper.states[at], seconds=seconds) for at, seconds in pairs)
    )


def follows_home(world: World) -> tuple[str, Flags] | None:
    """The output that tells a home sensor, and whether it still does [F]; None without a sensor
    that two states set differently and nothing else."""
    for seen, clear in _pairs_by_one_part(world.board):
        for output in world.board.outputs:
            if output.measure != "level":
                continue
            place = [f"net {output.target}"]
            volts = np.stack([world.volts(state, place).mean[:, 0] for state in (seen, clear)])
            low, high = world.thresholds(output.target)
            levels = np.where(volts < low, 0, np.where(volts > high, 1, -1))
            healthy = levels[:, 0]
            if healthy.min() == 0 and healthy.max() == 1:
                return output.name, (levels == healthy[:, None]).all(axis=0)
    return None


def _cycle(
    model: Mechanism, amps: Array, usable: npt.NDArray[np.bool_]
) -> tuple[list[int], float, float] | None:
    """Rows of ``amps`` [states, P] that make one cycle, full steps between them, and where the
    first pulls to."""
    where, pull = model.pull(amps.T)
    rows = np.flatnonzero(usable & (pull > _LEAST_PULL * pull.max()))
    spots: dict[float, int] = {}
    for row in rows.tolist():
        spots.setdefault(round(float(where[row]) / _UNEVEN) * _UNEVEN % model.cycle, row)
    ordered = sorted(spots.values(), key=lambda row: float(where[row]))
    if len(ordered) < 3:
        return None
    first = min(ordered)
    ordered = ordered[ordered.index(first) :] + ordered[: ordered.index(first)]
    places = where[ordered]
    gaps = np.diff(places, append=places[0]) % model.cycle
    for size in _SIZES:
        if len(ordered) * size == model.cycle and (np.abs(gaps - size) < _UNEVEN).all():
            return ordered, size, float(places[0])
    return None


def _values(board: Board, names: Sequence[str]) -> tuple[float, float]:
    from halfsplit.units import parse

    parts = [part for part in board.parts if part.designator in names]
    ohms = [part.value for part in parts if part.value] or [50.0]
    henries = [parse(p.fields["inductance"], "H") for p in parts if "inductance" in p.fields]
    return float(np.mean(ohms)), float(np.mean(henries or [_HENRIES]))


def _pairs_by_one_part(board: Board) -> Iterator[tuple[str, str]]:
    """Powered states that differ in what they set one sensor to, and in nothing else."""
    sensors = {part.designator for part in board.parts if _senses(part)}
    drives = {
        state.name: {drive.target: drive.value for step in state.steps for drive in step.drives}
        for state in board.states
        if state.powered
    }
    for one, first in drives.items():
        for other, second in drives.items():
            apart = {k for k in first.keys() | second.keys() if first.get(k) != second.get(k)}
            if len(apart) == 1 and apart <= sensors:
                yield one, other


def _senses(part: Part) -> bool:
    return part.kind in ("slotted-sensor", "hall-switch", "switch")
