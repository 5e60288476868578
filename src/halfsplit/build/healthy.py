"""A board without its faults, for those who only ask what a good one reads: quick."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from halfsplit.board.model import Board
from halfsplit.build.compiled import Compiled, compile_board

__all__ = ["compile_healthy"]


def compile_healthy(board: Board) -> Compiled:
    """The world of a board whose only fault is row 0, nothing wrong. Errors as `compile_board`."""
    whole = compile_board(board)
    listed = replace(
        whole.listed,
        faults=whole.listed.faults[:1],
        suspects=whole.listed.suspects[-1:],
        suspect_of=np.array([-1], dtype=np.int64),
        prior=np.array([0.0, 1.0]),
    )
    overlays = whole.overlays[:1]
    return replace(
        whole,
        listed=listed,
        overlays=overlays,
        unsure={what: whole.unsure[what] for what in overlays},
    )
