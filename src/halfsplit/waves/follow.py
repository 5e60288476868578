"""The likeliest walk of a motor's position through recorded codes, by dynamic programming.

Many assumptions (which sequence, which order of wires, which fault of a line) are weighed in one
pass; each is a table of the codes that its positions would show. Viterbi, IEEE Trans. IT-13, 1967.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.waves.line import Array, Codes

__all__ = ["NO_HOME", "Tables", "Walk", "costs", "hidden", "walk"]

STEP = 0.01
STAY = 0.3
TURN = 0.4
SKIP = 1.5
JUMP = 2.0
REST = 0.08
RESUME_ELSEWHERE = 1.2
SHORT_REST = 1.0
ALL_ON = 0.3
"""Costs, in codes that do not fit (judgement, tuned on synthetic captures): a step, another code
without a step, turning round without a pause, a position left out, any other place, coils off or
on again, on again elsewhere, coils off for less than two steps, and all lines on where coils off
was meant (as outputs of a controller in reset are)."""

ABSENT = 0.15
RESTART = 0.8
RESTART_RESTED = 0.02
"""Costs where such a fault is assumed (judgement): a pulse that does not come, starting over, and
starting over after a rest."""

BRIEF_ABSENCE = 2.0
"""Cost of each step by which a pulse that does not come was due for less than three quarters of
one (judgement)."""

UP, DOWN, IDLE = range(3)
"""Rows of the costs: going up the ring, down, and resting."""

NO_HOME = -1
"""No reset is assumed."""

HIDDEN = 0.05
"""Cost of each position passed while one code held for about as many steps: a line fault can make
neighbours look alike (judgement)."""

SLOWER = 1.9
"""Times the usual step that a step of a ramp may last (judgement)."""

FARTHEST = 4
"""Positions that one code may hide."""

PAUSED = 3.0
"""Steps that one code must hold for a motor to turn round without surprise."""

SHORTEST, LONGEST = 0.6, 1.5
"""Steps that one code counts for at least and at most: a long hold is one observation."""

_NO_BITS = np.array([bin(i).count("1") for i in range(256)], float)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tables:
    """What H assumptions show. ``shown`` [H, S] is the code at each position, ``lacking`` [H, S]
    the code without a pulse that may fail to come (the same where none may), ``off`` and ``on``
    [H] the codes with all coils off and all on, ``home`` [H] the position at which the controller
    starts over when it is reset, :data:`NO_HOME` where that is not assumed."""

    shown: Codes
    lacking: Codes
    off: Codes
    on: Codes
    home: Codes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walk:
    """``positions`` [K] in the ring and ``resting`` [K] (coils off) for each code, ``cost`` in
    codes that do not fit."""

    positions: Codes
    resting: npt.NDArray[np.bool_]
    cost: float


def costs(tables: Tables, codes: Codes, steps: Array) -> Array:
    """[H] cost of the best walk for each assumption; ``codes`` [K] is what was recorded and
    ``steps`` [K] for how many steps each held."""
    total = None
    for held, run, rest in _emissions(tables, codes, steps):
        total = _begin(run, rest) if total is None else _advance(total, held, run, rest, tables)[0]
    assert total is not None
    best: Array = total.min(axis=(0, 2))
    return best


def walk(tables: Tables, codes: Codes, steps: Array) -> Walk:
    """The best walk for the only assumption in ``tables``."""
    back: list[Codes] = []
    total = None
    for held, run, rest in _emissions(tables, codes, steps):
        if total is None:
            total = _begin(run, rest)
            continue
        total, came = _advance(total, held, run, rest, tables)
        back.append(came[:, 0].ravel())
    assert total is not None
    size = tables.shown.shape[1]
    ends = total[:, 0].ravel()
    at = int(ends.argmin())
    cost = float(ends[at])
    path = [at]
    for came_from in reversed(back):
        at = int(came_from[at])
        path.append(at)
    found = np.array(path[::-1], np.int64)
    return Walk(positions=found % size, resting=found >= IDLE * size, cost=cost)


def _emissions(tables: Tables, codes: Codes, steps: Array) -> Iterator[tuple[float, Array, Array]]:
    """For each code: steps for which the one before held, cost [H, S] of running and of resting
    at each position."""
    weight = np.clip(steps, SHORTEST, LONGEST)
    restarts = tables.home != NO_HOME
    before = np.concatenate(([1.0], steps[:-1]))
    known = steps.copy()
    known[[0, -1]] = np.inf  # cut off by the record: who knows how long they held
    for code, w, long, held in zip(
        codes.tolist(), weight.tolist(), known.tolist(), before.tolist(), strict=True
    ):
        run = np.minimum(
            w * _NO_BITS[tables.shown ^ code],
            w * _NO_BITS[tables.lacking ^ code] + ABSENT + max(0.0, 0.75 - w) * BRIEF_ABSENCE,
        )
        all_on = np.where(restarts, 0.0, ALL_ON)
        brief = np.where(restarts | (long >= 2.0), 0.0, SHORT_REST)
        rest = brief + np.minimum(
            w * _NO_BITS[tables.off ^ code], w * _NO_BITS[tables.on ^ code] + all_on
        )
        yield held, run, np.broadcast_to(rest[:, None], run.shape)


def _begin(run: Array, rest: Array) -> Array:
    return np.stack([run, run, rest])


def _advance(
    total: Array, held: float, run: Array, rest: Array, tables: Tables
) -> tuple[Array, Codes]:
    """One code further. ``total`` [3, H, S] is the cost of going up, going down and resting at
    each position; also, for each new state, the number of the state it came from."""
    size = total.shape[2]
    ring = np.arange(size)
    moving, came_moving = [], []
    for up, way in ((True, 1), (False, -1)):
        best, came = _moved(total, held, way, UP if up else DOWN)
        _take_jumps(best, came, total, tables.home)
        moving.append(best + run)
        came_moving.append(came)
    stay = np.stack([total[UP] + REST, total[DOWN] + REST, total[IDLE]])
    choice = stay.argmin(axis=0)
    resting = stay.min(axis=0) + rest
    return np.stack([*moving, resting]), np.stack([*came_moving, choice * size + ring])


def _moved(total: Array, held: float, way: int, own: int) -> tuple[Array, Codes]:
    """The best of staying, going on one way, turning to it, and resuming."""
    size = total.shape[2]
    ring = np.arange(size)
    other = DOWN if own == UP else UP
    turn = TURN if held < PAUSED else STEP
    sources = [(own, 0, STAY), (other, 1, turn), (IDLE, 0, REST), (IDLE, 1, REST)]
    prices = [(far, _price(far, held)) for far in range(1, min(FARTHEST, size - 1) + 1)]
    sources += [(own, far, price) for far, price in prices if price < JUMP]
    stack = np.stack([np.roll(total[s], way * far, axis=1) + price for s, far, price in sources])
    origin = np.stack([(ring - way * far) % size + s * size for s, far, _ in sources])
    choice = stack.argmin(axis=0)
    return np.take_along_axis(stack, choice[None], axis=0)[0], origin[choice, ring]


def _take_jumps(best: Array, came: Codes, total: Array, home: Codes) -> None:
    """Where it is cheaper, come from any other position instead: by a jump, resuming elsewhere, or
    a restart at home."""
    size = total.shape[2]
    rows = np.arange(total.shape[1])
    which = np.flatnonzero(home != NO_HOME)
    for s, price, restart in (
        (UP, JUMP, RESTART), (DOWN, JUMP, RESTART),
        (IDLE, RESUME_ELSEWHERE, RESTART_RESTED),
    ):  # fmt: skip
        at = total[s].argmin(axis=1)
        cheapest = total[s][rows, at]
        better = cheapest[:, None] + price < best
        best[:] = np.where(better, cheapest[:, None] + price, best)
        came[:] = np.where(better, at[:, None] + s * size, came)
        again = which[cheapest[which] + restart < best[which, home[which]]]
        best[again, home[again]] = cheapest[again] + restart
        came[again, home[again]] = at[again] + s * size


def _price(far: int, held: float) -> float:
    """Cost of going on by ``far`` positions after a code that held for so many steps."""
    if far == 1:
        return STEP
    if hidden(far, held):
        return STEP + HIDDEN * (far - 1)
    return SKIP if far == 2 else JUMP


def hidden(far: int, held: float) -> bool:
    """Whether a code that held for ``held`` steps may have hidden ``far`` positions."""
    return far - 0.45 <= held <= SLOWER * far
