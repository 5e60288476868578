"""Whether a net is as it should be: as on a good board in the same state."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from halfsplit.board.model import Board
from halfsplit.build.blocks import by_volts, driver, values
from halfsplit.build.world import World
from halfsplit.checks._normal import cdf
from halfsplit.checks._three import three_way
from halfsplit.solve.law import Array
from halfsplit.solve.laws.stage import WRONG

__all__ = ["known_values", "right", "tolerance"]

_SHARE, _LEAST, _SIGMAS = 0.1, 0.3, 3.0
"""A voltage is right within this share of what a good board reads, at least so many volts, and so
many standard deviations of good boards."""
_FLOATING = np.array([0.25, 0.5, 0.25])
_EDGE = 0.01
"""Least standard deviation of trouble."""


def known_values(board: Board, state: str) -> Mapping[str, str]:
    """What a state says its nets are, and what follows."""
    found = board.state(state)
    return values(board, found.steps[-1].drives) if found else {}


def tolerance(volts: float) -> float:
    """How far a reading may be out and still be called right, V."""
    return max(_SHARE * abs(volts), _LEAST)


def right(world: World, state: str, net: str) -> Array:
    """[F] chance that a net is right in a state under each fault."""
    if driver(world.board, net) and not by_volts(
        world.board, net, known_values(world.board, state)
    ):
        trouble = world.volts(state, [f"trouble {net}"])
        sigma = np.maximum(np.nan_to_num(trouble.spread[:, 0]), _EDGE)
        found = cdf((WRONG - trouble.mean[:, 0]) / sigma)
        return np.where(trouble.unresolved[:, 0], 0.5, found)
    numbers = world.volts(state, [f"net {net}"])
    good, spread = float(numbers.mean[0, 0]), float(numbers.spread[0, 0])
    if not np.isfinite(good):
        return np.full(len(numbers.mean), 0.5)
    width = max(tolerance(good), _SIGMAS * spread)
    ends = np.array([good - width]), np.array([good + width])
    within: Array = three_way(numbers, *ends, _FLOATING)[0, :, 1]
    return within
