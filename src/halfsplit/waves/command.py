"""What a controller does when it is told: STEP edges and the DIR level, and the steps they bring.

A STEP/DIR controller moves one step at each edge of one kind on STEP, the way that DIR says then.
What is learnt is which edge, how long it takes, how it takes DIR, and how close DIR came before an
edge and was still obeyed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.account import Account
from halfsplit.waves.line import Array, Line

__all__ = ["Commanded", "Commands", "Obeyed", "learn_commands", "obeyed"]

ANSWERED = 0.9
"""Of edges that must bring a step for the line to be a STEP line (judgement)."""
STEADIER = 0.7
"""Spread of a delay that is clearly smaller than another (judgement)."""
EARLY = 0.05
"""Of the time between commands: a step may be timed so much before its edge (two channels'
skew)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Commanded:
    """A capture of phases with what told them: the ``step`` line, and ``way``, the DIR line."""

    account: Account
    step: Line
    way: Line | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Commands:
    """``edge`` of STEP ("rising" or "falling") brings a step after ``delay`` s, give or take
    ``spread`` (one standard deviation), by ``seen`` examples, ``longest`` at most. DIR ``high``
    is "up" or "down" the ring, "" where it was not watched or never changed; it was obeyed when it
    came as little as ``ahead`` s before the edge (None: never changed)."""

    edge: str
    delay: float
    spread: float
    longest: float
    seen: int
    high: str
    ahead: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Obeyed:
    """One capture against an ``edge``: ``delays`` [K] s of steps that followed an edge, at
    ``times`` [K]; ``missed`` [M] edges that brought none, ``unasked`` [U] steps without an edge;
    ``ups`` [K] whether each went up, ``highs`` [K] DIR then, ``ahead`` [K] s since DIR changed
    (infinite: it had not)."""

    delays: Array
    times: Array
    missed: Array
    unasked: Array
    ups: Array
    highs: Array
    ahead: Array


def learn_commands(captures: Sequence[Commanded]) -> Commands:
    """Which edge brings a step, and how soon, from captures of a good unit.

    Raises :class:`WaveError` when neither edge does, or DIR is taken both ways.
    """
    tried = {edge: [obeyed(one, edge) for one in captures] for edge in ("rising", "falling")}
    edge = _edge(tried, captures[0].step)
    found = tried[edge]
    delays = np.concatenate([one.delays for one in found])
    asked = delays.size + sum(one.missed.size for one in found)
    if not delays.size or delays.size < ANSWERED * asked:
        name = captures[0].step.name
        raise WaveError(
            f"expected a step for each edge of {name}, but {asked - delays.size} of {asked} "
            "brought none; is it the STEP line?"
        )
    ups, highs = (
        np.concatenate([getattr(one, what) for one in found]) for what in ("ups", "highs")
    )
    ahead = np.concatenate([one.ahead for one in found])
    return Commands(
        edge=edge,
        delay=float(np.median(delays)),
        spread=float(delays.std()),
        longest=float(delays.max()),
        seen=int(delays.size),
        high=_high_means(ups, highs, captures[0].way),
        ahead=float(ahead.min()) if np.isfinite(ahead).any() else None,
    )


def obeyed(capture: Commanded, edge: str) -> Obeyed:
    """Give every step to the edge before it, and every edge at most one step."""
    line, way = capture.step, capture.way
    rises = line.edges[int(line.first) :: 2]
    edges = rises if edge == "rising" else line.edges[1 - int(line.first) :: 2]
    steps = [step for step in capture.account.ledger.steps if step.moved]
    at = np.array([step.time for step in steps])
    apart = float(np.median(np.diff(edges))) if edges.size > 1 else 0.0
    owner = np.searchsorted(edges, at + EARLY * apart, side="right") - 1
    taken: dict[int, int] = {}
    unasked = []
    for k, own in enumerate(owner.tolist()):
        if own < 0 or own in taken:
            unasked.append(at[k])
        else:
            taken[own] = k
    which, mine = np.array(list(taken), dtype=int), np.array(list(taken.values()), dtype=int)
    # The record may end between an edge and its step.
    over = edges > capture.account.found.states.stop - apart
    free = np.ones(edges.size, dtype=bool)
    free[which] = False
    told = edges[which]
    return Obeyed(
        delays=at[mine] - told,
        times=told,
        missed=edges[free & ~over],
        unasked=np.array(unasked),
        ups=np.array([float(steps[k].direction > 0) for k in mine.tolist()]),
        highs=np.full(told.size, math.nan) if way is None else way.at(told).astype(float),
        ahead=np.full(told.size, math.inf) if way is None else _since(way, told),
    )


def _edge(tried: Mapping[str, Sequence[Obeyed]], step: Line) -> str:
    """The one with fewer edges and steps left over, then the steadier delay. Pulses that are all
    of one length do not tell, and then it is the edge at which they begin (common practice, no
    source)."""
    begins, ends = ("falling", "rising") if step.share_high() > 0.5 else ("rising", "falling")
    (lost, spread), (lost_other, spread_other) = _misfit(tried[begins]), _misfit(tried[ends])
    steadier = lost_other == lost and spread_other < STEADIER * spread
    return ends if lost_other < lost or steadier else begins


def _misfit(found: Sequence[Obeyed]) -> tuple[int, float]:
    delays = np.concatenate([one.delays for one in found])
    lost = sum(one.missed.size + one.unasked.size for one in found)
    return lost, float(delays.std()) if delays.size else math.inf


def _high_means(ups: Array, highs: Array, way: Line | None) -> str:
    if way is None or np.ptp(highs) == 0.0:
        return ""
    agree = float((ups == highs).mean())
    if 1.0 - ANSWERED < agree < ANSWERED:
        raise WaveError(
            f"expected {way.name} to say which way, but high went up for {agree:.0%} of the steps; "
            "is it the DIR line?"
        )
    return "up" if agree > 0.5 else "down"


def _since(way: Line, at: Array) -> Array:
    """[K] s since the last change before each time; infinite before the first."""
    if not way.edges.size:
        return np.full(at.size, math.inf)
    found = np.searchsorted(way.edges, at, side="right") - 1
    since: Array = np.where(found >= 0, at - way.edges[np.maximum(found, 0)], math.inf)
    return since
