"""A board without its faults, for those who only ask what a good one reads: quick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.board.model import Board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.errors import UnknownName

__all__ = ["compile_few", "compile_healthy"]


def compile_healthy(board: Board) -> Compiled:
    """The world of a board whose only fault is row 0, nothing wrong. Errors as `compile_board`."""
    return compile_few(board, ())


def compile_few(board: Board, faults: Sequence[str]) -> Compiled:
    """The world of a board with these faults alone (ids), after row 0, nothing wrong. Raises
    UnknownName, and as `compile_board`."""
    whole = compile_board(board)
    known = {fault.id: row for row, fault in enumerate(whole.faults)}
    for name in faults:
        if name not in known:
            raise UnknownName("fault", name, known)
    rows = [0, *(known[name] for name in faults)]
    kept = sorted({int(whole.listed.suspect_of[row]) for row in rows[1:]})
    place = {-1: -1} | {number: at for at, number in enumerate(kept)}
    prior = whole.listed.prior[[*rows, -1]]
    prior[-1] = 1.0 - prior[:-1].sum()
    listed = replace(
        whole.listed,
        faults=tuple(whole.faults[row] for row in rows),
        suspects=(*(whole.suspects[number] for number in kept), whole.suspects[-1]),
        suspect_of=np.array([place[int(whole.listed.suspect_of[r])] for r in rows], dtype=np.int64),
        prior=prior,
    )
    overlays = [whole.overlays[row] for row in rows]
    return replace(
        whole,
        listed=listed,
        overlays=overlays,
        unsure={what: how for what, how in whole.unsure.items() if what in overlays},
    )
