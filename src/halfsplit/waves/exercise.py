"""Playing the controller's part: a stimulus for phase lines, within safe limits."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfsplit.errors import UnknownName, WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.line import Array, Codes, Line
from halfsplit.waves.sequences import Sequence as Excitation
from halfsplit.waves.sequences import sequences

__all__ = ["CAUTIONS", "Limits", "Move", "Plan", "Stimulus", "excitation_named", "stimulus"]

USUAL_LONGEST = 1.0
"""s for which one phase may stay on where its coil is driven at its rating (judgement: long enough
to feel it hold, short enough for a coil to stay cool)."""

CAUTIONS = (
    "Lift or unplug the controller first: two outputs must never drive one line.",
    "Use a supply with its current limited; keep fingers, hair and cloth away from what moves.",
    "Heads, carriages and belts have an end stop: start from the middle, with few steps.",
    "Watch the temperature of coils and drivers; stop when one is too hot to touch.",
    "Put the board's ground and the pattern source's ground together before any other wire.",
    "A pattern source of 3.3 V drives TTL inputs (high from 2.0 V up), but its pins may not stand "
    "5 V: where a line has a pull-up to 5 V, go through an open-collector buffer or pins that are "
    "5 V tolerant.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """``steps`` (negative: backwards) at ``rate`` per s, reached over ``ramp`` steps from a third
    of it, then ``hold`` s (at least a step) with the coils on and ``pause`` s with them off."""

    steps: int
    rate: float
    ramp: int = 0
    hold: float = 0.05
    pause: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """``volts`` the coils are driven with, their ``ohms``, the ``rated`` volts they may have all
    the time, ``longest`` s that one phase may stay on (else by the rating)."""

    volts: float
    ohms: float
    rated: float | None = None
    longest: float | None = None

    @property
    def longest_on(self) -> float:
        """s; above the rating heat grows with the square of the voltage, and the time shrinks."""
        if self.longest is not None:
            return self.longest
        over = max(1.0, self.volts / (self.rated or self.volts))
        return USUAL_LONGEST / over**2

    def amperes(self, phases_on: int) -> float:
        """Current of so many phases together."""
        return phases_on * self.volts / self.ohms


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What to play: ``excitation`` on the lines called ``names``, on when high unless
    ``active_low``."""

    excitation: Excitation
    names: tuple[str, ...]
    moves: tuple[Move, ...]
    active_low: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stimulus:
    """``codes`` [K] hold from ``times`` [K] (whole microseconds) on, bit i is line i, to ``stop``
    (µs). ``on`` (s) is the longest time for which one phase is on, ``amperes`` what the supply
    should be limited to, None without limits."""

    names: tuple[str, ...]
    times: Codes
    codes: Codes
    stop: int
    on: float
    amperes: float | None

    def lines(self) -> list[Line]:
        """The same as lines; times in s."""
        at: Array = 1e-6 * self.times.astype(float)
        result = []
        for i, name in enumerate(self.names):
            bits = (self.codes >> i & 1).astype(bool)
            change = np.flatnonzero(np.diff(bits)) + 1
            result.append(
                Line(
                    name=name, start=0.0, stop=1e-6 * self.stop, first=bool(bits[0]),
                    edges=at[change], resolution=1e-6,
                )
            )  # fmt: skip
        return result


def excitation_named(name: str, phases: int) -> Excitation:
    """The sequence of that name. Raises UnknownName, :class:`WaveError`."""
    if phases not in (3, 4, 5):
        raise WaveError(f"expected 3, 4 or 5 phases, got {phases}")
    known = {one.name: one for one in sequences(phases)}
    if name not in known:
        raise UnknownName("sequence", name, known)
    return known[name]


def stimulus(plan: Plan, limits: Limits | None = None) -> Stimulus:
    """Lay a plan out in time, coils off before and after.

    Raises :class:`WaveError` for moves that make no sense and for a phase that would be on for
    longer than the limits allow.
    """
    phases = plan.excitation.phases
    if len(plan.names) != phases:
        raise WaveError(f"expected {phases} lines, got {len(plan.names)}: {', '.join(plan.names)}")
    if not plan.moves:
        raise WaveError("expected at least one move, got none")
    cycle = plan.excitation.codes
    times, codes = [0.0], [0]
    now, at = 0.01, 0
    times.append(now)
    codes.append(cycle[at])
    for move in plan.moves:
        for wait in _waits(move):
            now += wait
            at = (at + (1 if move.steps > 0 else -1)) % len(cycle)
            times.append(now)
            codes.append(cycle[at])
        now += max(move.hold, 1.0 / move.rate)
        if move.pause:
            times += [now, now + move.pause]
            codes += [0, cycle[at]]
            now += move.pause
    times.append(now)
    codes.append(0)
    whole = np.round(1e6 * np.array(times)).astype(np.int64)
    plain = np.array(codes, np.int64)
    stop = int(whole[-1]) + 10_000
    on = _longest_on(whole, plain, phases)
    if limits is not None and on > limits.longest_on:
        raise WaveError(
            f"a phase would be on for {on:.3g} s, and {limits.longest_on:.3g} s is the longest it "
            "may: use a shorter hold or a higher rate, or give the coil's rating"
        )
    every = (1 << phases) - 1
    return Stimulus(
        names=plan.names, times=whole, codes=plain ^ every if plan.active_low else plain,
        stop=stop, on=on,
        amperes=None if limits is None else 1.2 * limits.amperes(max(plan.excitation.on)),
    )  # fmt: skip


def _waits(move: Move) -> Sequence[float]:
    """s before each step; even acceleration between a third of the rate and the rate."""
    if not move.steps or not (math.isfinite(move.rate) and 0 < move.rate <= 1e5):
        raise WaveError(
            f"expected a move of some steps at up to 100000 steps per s, got {move.steps} at "
            f"{move.rate:g}"
        )
    if move.ramp < 0 or move.hold < 0 or move.pause < 0:
        raise WaveError("expected ramp, hold and pause of 0 or more")
    count = abs(move.steps)
    slow, fast = (move.rate / 3.0) ** 2, move.rate**2
    waits = []
    for i in range(count):
        edge = min(i, count - 1 - i)
        share = min(1.0, edge / move.ramp) if move.ramp else 1.0
        waits.append(1.0 / math.sqrt(slow + (fast - slow) * share))
    return waits


def _longest_on(times: Codes, codes: Codes, phases: int) -> float:
    longest = 0.0
    for phase in range(phases):
        on = np.concatenate(([0], codes >> phase & 1, [0]))
        edges = np.flatnonzero(np.diff(on))
        ends = np.append(times, times[-1])[edges]
        longest = max([longest, *(1e-6 * (ends[1::2] - ends[::2])).tolist()])
    return longest
