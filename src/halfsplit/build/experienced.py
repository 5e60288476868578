"""The prior of a board's faults with what proven cases have taught."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from halfsplit.belief.learn import learned_shares
from halfsplit.board.model import Board
from halfsplit.build.fault import Fault
from halfsplit.build.faultlist import FaultList

__all__ = ["class_of", "experienced"]

_PIN = re.compile(r"^(?:\d+(?:-\d+)?|[a-z])\s+(?=\S)")


def class_of(fault: Fault, board: Board) -> tuple[str, str]:
    """What a fault counts as: the kind of its part, or that it is no part's, and the way of
    failing without the pin."""
    mode = _PIN.sub("", fault.mode)
    if fault.where != "part":
        return fault.where, mode
    part = board.part(fault.designator)
    return (part.kind if part else fault.where), mode


def experienced(
    listed: FaultList, board: Board, counts: Mapping[tuple[str, str], int]
) -> FaultList:
    """The fault list with its prior moved by counts of proven cases; something else keeps its
    share."""
    classes = [class_of(fault, board) for fault in listed.faults]
    names = list(dict.fromkeys(classes))
    seen = np.array([float(counts.get(name, 0)) for name in names])
    if not seen.any():
        return listed
    of = np.array([names.index(name) for name in classes])
    prior = listed.prior[:-1]
    whole = float(prior.sum())
    shares = np.bincount(of, weights=prior, minlength=len(names)) / whole
    learned = learned_shares(shares, np.where(shares > 0.0, seen, 0.0))
    factor = np.divide(learned, shares, out=np.ones_like(shares), where=shares > 0.0)
    moved = prior * factor[of]
    return replace(listed, prior=np.append(moved * whole / moved.sum(), listed.prior[-1]))
