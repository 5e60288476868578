"""What a unit does at power-up that knows of its position by a home sensor only.

It steps home until the sensor sees it, runs to the far end and back by counting blindly, and
reports ready when the sensor agrees (common practice, no source).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from halfsplit.errors import MotionError
from halfsplit.frozen import dataclass
from halfsplit.motion.drive import Drive
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.walk import Grid, walk

__all__ = ["PowerUp", "power_up"]

Flags = npt.NDArray[np.bool_]
_HOME, _UP, _BACK, _DONE = range(4)
_NEAR = 0.5
"""Steps beside home at which the sensor still sees it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerUp:
    """For B columns: ``found`` home was seen at all; ``ready`` it came back and the sensor agreed;
    ``reached`` [B] the farthest it truly came, full steps; ``steps`` motor steps taken."""

    found: Flags
    ready: Flags
    reached: Array
    steps: int


def power_up(
    mechanism: Mechanism, drive: Drive, states: Array, *, start: Array, sensed: Flags, count: int,
    rate: float, first: float = 0.0,
) -> PowerUp:  # fmt: skip
    """Play it for ``states`` [C, P, B] A, the currents of one cycle, the first pulling to
    ``first``. ``start`` [B] full steps away from the first state's place, in
    whole cycles; ``sensed`` [B]: the sensor's report arrives. ``count`` motor steps to the far end.
    It seeks home for half as many steps again, then gives up. Raises :class:`MotionError`."""
    cycle, _, width = states.shape
    if count < 1 or rate <= 0.0:
        raise MotionError(f"expected steps and a rate above 0, got {count} and {rate:g}")
    grid = Grid.make(mechanism, [1.0 / rate])
    middles, whole = grid.middles, np.array([1.0 / rate])
    x, v = first + np.asarray(start, float), np.zeros(width)
    stage, left = np.full(width, _HOME), np.full(width, round(1.5 * count))
    at, columns = np.zeros(width, dtype=np.intp), np.arange(width)
    now, reached = states[0].astype(float), x.copy()
    found, ready = np.zeros(width, dtype=bool), np.zeros(width, dtype=bool)
    taken = 0
    while (stage < _DONE).any():
        seen = sensed & (x <= mechanism.home + _NEAR)
        home = (stage == _HOME) & seen
        found |= home
        ended = home | (left <= 0)
        ready |= ended & (stage == _BACK) & seen
        lost = ended & (stage == _HOME) & ~home
        stage = np.where(lost, _DONE, np.where(ended, np.minimum(stage + 1, _DONE), stage))
        left = np.where(ended, count, left) - 1
        at = (at + np.where(stage == _UP, 1, np.where(stage == _DONE, 0, -1))) % cycle
        level = states[at, :, columns].T
        done = walk(mechanism, grid, drive.course(now, level, middles), start=x, speed=v,
                    winding=(drive.ohms, drive.henries))  # fmt: skip
        now = drive.course(now, level, whole)[0]
        x, v = done.position[-1].copy(), done.speed[-1].copy()
        reached = np.where(found, np.maximum(reached, x), -np.inf)
        taken += 1
    return PowerUp(found=found, ready=ready, reached=reached, steps=taken)
