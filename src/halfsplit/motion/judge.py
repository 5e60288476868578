"""What a motion looks like to somebody who watches: a word for each column, from a run there and
back."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.motion.drive import Drive, ring, there_and_back
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.walk import Columns, Grid, Walk, walk

__all__ = ["BUZZES", "DEAD", "ONE_WAY", "RUNS", "WORDS", "WRONG_PLACE", "Errand", "Judged", "judge",
           "ladder"]  # fmt: skip

WORDS = ("runs", "dead", "buzzes", "one way", "wrong place")
RUNS, DEAD, BUZZES, ONE_WAY, WRONG_PLACE = range(len(WORDS))

_OFF = 0.75
"""Steps beside its place that still count as there (a half step of a missing phase does)."""
_STIRS = 0.3
"""Steps of movement nobody notices."""
_WENT, _STAYED = 0.7, 0.3
"""Share of the way that counts as gone, or as not gone. All judgement, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Errand:
    """``count`` steps up and down again through a ring of ``cycle`` states, ``seconds`` [M] each:
    ``path`` [M] indexes the ring, ``far`` and ``home`` are the motor steps of the rests."""

    path: npt.NDArray[np.intp]
    seconds: Array
    count: int
    far: int
    home: int

    @classmethod
    def make(cls, count: int, cycle: int, rate: float, rest: float = 0.05) -> Errand:
        """At ``rate`` steps a second, with ``rest`` seconds before, between and after."""
        path, far, home = there_and_back(count, cycle)
        seconds = np.full(len(path), 1.0 / rate)
        seconds[[0, far, home]] = rest
        return cls(path=np.asarray(path), seconds=seconds, count=count, far=far, home=home)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """``word`` [B] index into :data:`WORDS`; ``up`` and ``down`` [B] steps gone in the direction
    asked; ``off`` [B] steps beside home in the end; ``stir`` [B] steps between its extremes."""

    word: npt.NDArray[np.intp]
    up: Array
    down: Array
    off: Array
    stir: Array


def judge(errand: Errand, done: Walk, *, size: float = 1.0) -> Judged:
    """Say what the errand looked like. ``size``: full steps of one of its steps (0.5: half steps).

    The place it came to rest in the first state is where it counts from.
    """
    at = done.landings / size
    begin, far, home = at[0], at[errand.far], at[errand.home]
    up, down, off = far - begin, far - home, home - begin
    stir = (done.position.max(axis=0) - done.position.min(axis=0)) / size
    limit = _OFF / size
    gone, back = up / errand.count, down / errand.count
    most, least = np.maximum(gone, back), np.minimum(gone, back)
    word = np.select(
        [
            (np.abs(up - errand.count) < limit) & (np.abs(off) < limit),
            stir < _STIRS,
            (most > _WENT) & (least < _STAYED),
            (np.abs(gone) < _STAYED) & (np.abs(back) < _STAYED),
        ],
        [RUNS, DEAD, ONE_WAY, BUZZES],
        default=WRONG_PLACE,
    )
    return Judged(word=word, up=up, down=down, off=off, stir=stir)


def ladder(
    mechanism: Mechanism,
    drive: Drive,
    amps: float,
    rates: Array,
    *,
    count: int = 24,
    on: int = 1,
    columns: Columns | None = None,
) -> npt.NDArray[np.bool_]:
    """Whether a healthy unit runs [R] when started at once at each of ``rates`` [R] a second.

    ``amps``: what a phase would come to, V/R; the drive's limit cuts it. ``columns``: of one."""
    states = ring(mechanism, amps, on)
    done = []
    for rate in np.asarray(rates, float).tolist():
        errand = Errand.make(count, mechanism.cycle, rate)
        grid = Grid.make(mechanism, errand.seconds.tolist(), max(1.5, amps / mechanism.rated))
        currents = drive.currents(grid, states[errand.path][:, :, None])
        winding = (drive.ohms, drive.henries)
        gone = walk(mechanism, grid, currents, columns=columns, winding=winding,
                    start=0.5 * (on - 1))  # fmt: skip
        done.append(judge(errand, gone).word[0] == RUNS)
    return np.asarray(done)
