"""A controller and its phase lines, played for the tests: sequences typed out, one fault of a line,
and what a cheap instrument makes of it. Independent of the code under test."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

ONE_ON = ["1000", "0100", "0010", "0001"]
TWO_ON = ["1100", "0110", "0011", "1001"]
HALF = ["1000", "1100", "0100", "0110", "0010", "0011", "0001", "1001"]
"""Published sequences, see tests/truth/step_sequences.csv."""

LINE_FAULTS = (
    "none", "stuck on", "stuck off", "missing", "late", "swapped", "inverted", "shorted, on wins",
    "shorted, off wins", "glitching", "reset",
)  # fmt: skip


@dataclass
class Played:
    """``times`` [K] (s) at which the codes ``levels`` [K, n] begin; up to ``stop``."""

    times: list[float] = field(default_factory=list)
    levels: list[list[int]] = field(default_factory=list)
    stop: float = 0.0


def seek(
    cycle: list[str],
    moves: list[int],
    rng: np.random.Generator,
    *,
    step: float = 4e-3,
    ramp: int = 4,
    jitter: float = 0.02,
    reset_every: int = 0,
    reset_code: str = "",
) -> Played:
    """Step through ``cycle`` by each of ``moves``, slower at both ends, with a pause between.

    ``reset_every`` steps the controller starts over: ``reset_code`` for half a step, then the
    cycle's first code."""
    now, at, done = 0.03, 0, 0
    played = Played([0.0], [[int(c) for c in cycle[0]]])
    for move in moves:
        way = 1 if move > 0 else -1
        for i in range(abs(move)):
            edge = min(i, abs(move) - 1 - i)
            slow = 1.0 + max(0.0, 1.0 - edge / ramp) if ramp else 1.0
            now += step * slow * (1.0 + jitter * rng.standard_normal())
            done += 1
            at = (at + way) % len(cycle)
            if reset_every and done % reset_every == 0:
                played.times.append(now)
                played.levels.append([int(c) for c in reset_code])
                now += 0.5 * step
                at = 0
            played.times.append(now)
            played.levels.append([int(c) for c in cycle[at]])
        now += 0.04
    played.stop = now
    return played


def edges_of(played: Played) -> list[tuple[Array, npt.NDArray[np.int64]]]:
    """For each line its times and levels."""
    times = np.array(played.times)
    levels = np.array(played.levels)
    return [(times, levels[:, i]) for i in range(levels.shape[1])]


def square(times: Array, levels: npt.NDArray[np.int64], at: Array) -> npt.NDArray[np.int64]:
    """The level at each of the times."""
    found: npt.NDArray[np.int64] = levels[
        np.clip(np.searchsorted(times, at, side="right") - 1, 0, None)
    ]
    return found


def with_fault(
    played: Played, fault: str, which: tuple[int, ...], rng: np.random.Generator, grid: float = 2e-5
) -> tuple[Array, npt.NDArray[np.int64]]:
    """[K] times and [n, K] levels on a fine grid, with one line's fault."""
    at = np.arange(0.0, played.stop, grid)
    rows = np.array([square(t, v, at) for t, v in edges_of(played)])
    i = which[0] if which else 0
    if fault == "stuck on":
        rows[i] = 1
    elif fault == "stuck off":
        rows[i] = 0
    elif fault == "inverted":
        rows[i] = 1 - rows[i]
    elif fault == "swapped":
        rows[list(which)] = rows[list(which[::-1])]
    elif fault.startswith("shorted"):
        both = rows[list(which)]
        rows[list(which)] = both.max(axis=0) if "on wins" in fault else both.min(axis=0)
    elif fault == "late":
        by = int(rng.uniform(0.25, 0.6) * 4e-3 / grid)
        late = rows[i].copy()
        for shift in range(1, by + 1):
            late[shift:] |= rows[i][:-shift]
        rows[i] = late
    elif fault == "missing":
        rises = np.flatnonzero(np.diff(rows[i]) > 0)
        falls = np.flatnonzero(np.diff(rows[i]) < 0)
        gone = rng.random(len(rises)) < 0.4
        gone[: min(2, len(gone))] = [True, False][: len(gone)]
        for rise, drop in zip(rises, gone, strict=True):
            if drop:
                later = falls[falls > rise]
                rows[i, rise + 1 : later[0] + 1 if len(later) else None] = 0
    elif fault == "glitching":
        for start in rng.integers(0, len(at) - 20, 25):
            rows[i, start : start + rng.integers(3, 8)] ^= 1
    return at, rows


def as_changes(
    at: Array, row: npt.NDArray[np.int64], rng: np.random.Generator, skew: float = 1e-5
) -> tuple[Array, Array]:
    """Times and levels of one line's changes, each edge a little off."""
    where = np.flatnonzero(np.diff(row)) + 1
    times = np.concatenate(([at[0]], at[where] + skew * rng.random(len(where))))
    return times, row[np.concatenate(([0], where))].astype(float)


def as_scope(
    at: Array,
    row: npt.NDArray[np.int64],
    rng: np.random.Generator,
    *,
    low: float = 0.2,
    high: float = 3.6,
    noise: float = 0.08,
    interval: float = 2e-4,
) -> Array:
    """Volts by an 8-bit scope over 8 divisions of 1 V, sampled every ``interval`` s."""
    every = max(1, round(interval / (at[1] - at[0])))
    clean = np.where(row[::every] > 0, high, low)
    volts = clean + noise * rng.standard_normal(len(clean))
    step = 8.0 / 256
    result: Array = np.round(volts / step) * step
    return result
