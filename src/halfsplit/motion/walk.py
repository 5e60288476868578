"""The motion itself: B columns of currents pull one mechanism through K moments at once.

Half a drift, a kick by the torque at the middle, half a drift: order two, and no energy comes in
from nowhere. Dry friction takes from the speed what it can and stops where it would turn it round,
so that sticking needs no threshold. What motion induces in a phase that conducts drives a current
of its own through resistance and inductance, beside the current given: that is the damping of a
real motor.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.motion.mechanism import Array, Mechanism

__all__ = ["Columns", "Grid", "Walk", "walk"]

Single: TypeAlias = npt.NDArray[np.float32]

_CONDUCTS = 0.02
"""Share of the rated current below which a phase is taken as cut off."""
_PER_SWING, _PER_STEP = 24.0, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """``span`` [K] seconds of the intervals; ``ends`` [M] index of the last interval of each of M
    motor steps; ``begin`` seconds of the first."""

    span: Array
    ends: npt.NDArray[np.intp]
    begin: float = 0.0

    @classmethod
    def make(cls, mechanism: Mechanism, seconds: Sequence[float], pull: float = 1.5) -> Grid:
        """Intervals fine enough for steps that last ``seconds`` [M] and for the swings under
        ``pull`` times one phase's torque."""
        most = 1.0 / (mechanism.hertz(pull) * _PER_SWING)
        counts = np.maximum(np.ceil(np.asarray(seconds) / most), _PER_STEP).astype(np.intp)
        span = np.repeat(np.asarray(seconds) / counts, counts)
        return cls(span=span, ends=np.cumsum(counts) - 1)

    @property
    def time(self) -> Array:
        """Seconds [K] of the ends of the intervals."""
        return self.begin + np.cumsum(self.span)

    @property
    def middles(self) -> Array:
        """Seconds [K] of their middles, where currents are asked for."""
        return self.time - 0.5 * self.span


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """What differs from column to column, one number or [B]: factors on the mechanism's own."""

    holding: Array | float = 1.0
    inertia: Array | float = 1.0
    friction: Array | float = 1.0
    viscous: Array | float = 1.0
    load: Array | float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """``position`` [K, B] full steps and ``speed`` [K, B] steps a second at the grid's times;
    ``start`` [B] where it began."""

    grid: Grid
    position: Array
    speed: Array
    start: Array

    @property
    def landings(self) -> Array:
        """Position [M, B] at the end of each motor step."""
        found: Array = self.position[self.grid.ends]
        return found


def walk(
    mechanism: Mechanism,
    grid: Grid,
    currents: Array,
    *,
    start: Array | float = 0.0,
    speed: Array | float = 0.0,
    columns: Columns | None = None,
    winding: tuple[float, float] | None = None,
) -> Walk:
    """Move under ``currents`` [K, P, B] A (at ``grid.middles``) from ``start`` at ``speed``.

    ``winding``: ohms and henries of the path that a conducting phase closes; ``None`` for currents
    that motion cannot change. Position 0 is where phase 0 alone pulls to.
    """
    count, phases, width = currents.shape
    x = np.array(np.broadcast_to(start, width), dtype=float)
    v = np.array(np.broadcast_to(speed, width), dtype=float)
    position, speeds = np.empty((count, width)), np.empty((count, width))
    first = x.copy()
    pace = _Pace.make(mechanism, columns or Columns(), width)
    induced = _Induced.make(mechanism, winding, phases, width)
    half = 0.5 * grid.span
    drift = np.empty(width)
    for k, span in enumerate(grid.span.tolist()):
        np.multiply(v, half[k], out=drift)
        x += drift
        pace.look(x)
        now = induced.add(currents[k], pace.slope, v, span) if induced else currents[k]
        pace.kick(now, v, span)
        np.multiply(v, half[k], out=drift)
        x += drift
        if mechanism.stops is not None:
            _stop(mechanism, x, v)
        position[k], speeds[k] = x, v
    return Walk(grid=grid, position=position, speed=speeds, start=first)


def _stop(mechanism: Mechanism, x: Array, v: Array) -> None:
    assert mechanism.stops is not None
    low, high = mechanism.stops
    beyond = ((x < low) & (v < 0.0)) | ((x > high) & (v > 0.0))
    if beyond.any():
        v[beyond] *= -mechanism.rebound
    np.clip(x, low, high, out=x)


@dataclass(slots=True)
class _Pace:
    """Torque over inertia, in steps a second squared; buffers are written again each interval.

    ``slope`` [P, B] is -sin(phi - psi), the share of a phase's torque at rated current."""

    scale: float
    cosines: Array
    sines: Array
    magnets: bool
    gain: Array
    detent: Array | None
    detents: int
    load: Array | None
    friction: Array
    viscous: Array | None
    angle: Single
    sine: Single
    cosine: Single
    slope: Array
    spare: Array
    pull: Array
    left: Array

    @classmethod
    def make(cls, mechanism: Mechanism, columns: Columns, width: int) -> _Pace:
        inertia = mechanism.inertia * np.broadcast_to(columns.inertia, width)
        steps = 1.0 / (inertia * mechanism.step_angle)
        rated = mechanism.rated if mechanism.magnets else mechanism.rated**2
        has_detent = mechanism.magnets and mechanism.detent > 0.0
        viscous = 0.5 * mechanism.viscous * columns.viscous / inertia
        phases = mechanism.phases
        return cls(
            scale=2.0 * np.pi / mechanism.cycle,
            cosines=np.cos(mechanism.angles)[:, None],
            sines=np.sin(mechanism.angles)[:, None],
            magnets=mechanism.magnets,
            gain=mechanism.holding * columns.holding * steps / rated,
            detent=mechanism.detent * steps if has_detent else None,
            detents=mechanism.cycle,
            load=mechanism.load * columns.load * steps if mechanism.load else None,
            friction=mechanism.friction * columns.friction * steps,
            viscous=viscous if np.any(viscous) else None,
            angle=np.empty(width, np.float32), sine=np.empty(width, np.float32),
            cosine=np.empty(width, np.float32),
            slope=np.empty((phases, width)), spare=np.empty((phases, width)),
            pull=np.empty(width), left=np.empty(width),
        )  # fmt: skip

    def look(self, x: Array) -> None:
        """Turn to positions ``x`` [B]. Single precision keeps 1e-5 of a step."""
        np.multiply(x, self.scale, out=self.angle, casting="same_kind")
        np.sin(self.angle, out=self.sine)
        np.cos(self.angle, out=self.cosine)
        np.multiply(self.sines, self.cosine, out=self.slope)
        np.multiply(self.cosines, self.sine, out=self.spare)
        self.slope -= self.spare

    def kick(self, currents: Array, v: Array, span: float) -> None:
        """Change the speeds ``v`` [B] by ``span`` seconds of torque."""
        np.multiply(self.slope, currents, out=self.spare)
        if not self.magnets:
            self.spare *= np.abs(currents)
        np.add.reduce(self.spare, axis=0, out=self.pull)
        self.pull *= self.gain
        if self.detent is not None:
            self.pull -= self.detent * np.sin(self.detents * self.angle)
        if self.load is not None:
            self.pull -= self.load
        self.pull *= span
        if self.viscous is not None:
            drag = self.viscous * span
            v *= 1.0 - drag
            v += self.pull
            v /= 1.0 + drag
        else:
            v += self.pull
        np.abs(v, out=self.left)
        self.left -= self.friction * span
        np.maximum(self.left, 0.0, out=self.left)
        np.copysign(self.left, v, out=v)


@dataclass(slots=True)
class _Induced:
    """Currents [P, B] that motion drives through conducting phases."""

    amps: Array
    total: Array
    last: Array
    gain: float
    magnets: bool
    threshold: float
    ohms: float
    henries: float

    @classmethod
    def make(
        cls, mechanism: Mechanism, winding: tuple[float, float] | None, phases: int, width: int
    ) -> _Induced | None:
        if winding is None:
            return None
        rated = mechanism.rated if mechanism.magnets else 0.5 * mechanism.rated**2
        return cls(
            np.zeros((phases, width)), np.empty((phases, width)), np.zeros((phases, width)),
            mechanism.holding * mechanism.step_angle / rated, mechanism.magnets,
            _CONDUCTS * mechanism.rated, *winding,
        )  # fmt: skip

    def add(self, given: Array, slope: Array, v: Array, span: float) -> Array:
        """All the current [P, B] with what is induced, from the last middle to this one: ``v`` is
        the speed half way between."""
        leak = 0.5 * span * self.ohms / self.henries
        np.add(slope, self.last, out=self.total)
        self.last[:] = slope
        self.total *= 0.5 * v
        if not self.magnets:
            self.total *= given
        self.total *= self.gain * span / self.henries
        self.amps *= 1.0 - leak
        self.amps -= self.total
        self.amps *= 1.0 / (1.0 + leak)
        self.amps *= np.abs(given) > self.threshold
        np.add(given, self.amps, out=self.total)
        return self.total
