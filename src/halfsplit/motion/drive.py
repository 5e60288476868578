"""Currents without a board: a switch, a winding, a clamp and perhaps a limit, by exponentials.

L di/dt = V - R i while on, -(R i + Vc) through the clamp while off; both cut at 0 and at the limit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfsplit.errors import MotionError
from halfsplit.frozen import dataclass
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.walk import Grid

__all__ = ["Drive", "ring", "there_and_back"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """``ohms`` and ``henries`` of one winding; ``clamp`` volts against which it is cut off;
    ``limit`` A at which a regulated drive holds its current."""

    ohms: float
    henries: float
    clamp: float = 0.8
    limit: float = math.inf

    @property
    def tau(self) -> float:
        """Time constant, s."""
        return self.henries / self.ohms

    def fastest(self, volts: float, amps: float) -> float:
        """Most full steps a second for which the supply can bring one winding's current up and down
        again: V / (2 L I), the usual bound of motor calculators."""
        return volts / (2.0 * self.henries * amps)

    def currents(self, grid: Grid, finals: Array) -> Array:
        """[K, P, B] at the middles of the grid for ``finals`` [M, P, B]: the ampere each phase
        would come to in each motor step (0: cut off, so that the clamp acts). It begins settled.

        A drop to a smaller current that is not 0 goes without the clamp.
        """
        finals = np.asarray(finals, float)
        found = np.empty((grid.span.size, *finals.shape[1:]))
        now = np.clip(finals[0], -self.limit, self.limit)
        first = 0
        for level, end in zip(finals, grid.ends.tolist(), strict=True):
            span = grid.span[first : end + 1]
            after = np.cumsum(span)
            times = np.append(after - 0.5 * span, after[-1])
            course = self.course(now, level, times)
            found[first : end + 1] = course[:-1]
            now, first = course[-1], end + 1
        return found

    def course(self, now: Array, level: Array, times: Array) -> Array:
        """Currents [J, P, B] at ``times`` [J] s after ``now`` [P, B] was switched to ``level``."""
        off = np.where(level == 0.0, -np.sign(now) * self.clamp / self.ohms, level)
        found = off + (now - off) * np.exp(-times / self.tau)[:, None, None]
        crossed = (level == 0.0) & (found * np.sign(now) <= 0.0)
        kept: Array = np.where(crossed, 0.0, np.clip(found, -self.limit, self.limit))
        return kept


def ring(mechanism: Mechanism, amps: float, on: int = 1) -> Array:
    """Currents [cycle, P] of one cycle of full steps: ``on`` neighbours at a time; windings in
    bipolar drive are reversed for the second half. Raises :class:`MotionError`."""
    phases, cycle = mechanism.phases, mechanism.cycle
    if not 1 <= on < phases + (2 if mechanism.bipolar else 0):
        raise MotionError(f"expected fewer phases on at once than {phases}, got {on}")
    targets = (np.arange(cycle) + 0.5 * (on - 1)) * 2.0 * np.pi / cycle
    if mechanism.bipolar:
        along = np.cos(mechanism.angles[None, :] - targets[:, None])
        strongest = np.argsort(-np.abs(along), axis=1, kind="stable")[:, :on]
        found = np.zeros((cycle, phases))
        rows = np.arange(cycle)[:, None]
        found[rows, strongest] = np.sign(along[rows, strongest])
        return found * amps
    near = (np.arange(cycle)[:, None] + np.arange(on)[None, :]) % phases
    found = np.zeros((cycle, phases))
    found[np.arange(cycle)[:, None], near] = 1.0
    return found * amps


def there_and_back(count: int, cycle: int) -> tuple[Sequence[int], int, int]:
    """Index into a ring of ``cycle`` for a rest, ``count`` steps up, a rest, as many down, a rest;
    and the two motor steps that are the rests at the far end and at home again."""
    up = list(range(1, count + 1))
    down = list(range(count - 1, -1, -1))
    path = [0, *up, count, *down, 0]
    return [k % cycle for k in path], count + 1, len(path) - 1
