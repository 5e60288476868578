"""Predictions kept between runs, and boards compiled with what is there."""

from __future__ import annotations

import contextlib

from halfsplit.board.model import Board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.build.keep import load, save
from halfsplit.kept import kept_folder

__all__ = ["amount", "compile_kept", "keep"]

MOST_KEPT = 20
"""Boards whose predictions are kept, the latest used."""


def compile_kept(board: Board) -> Compiled:
    """The world of a board, with the predictions of earlier runs where there are some."""
    world = compile_board(board)
    load(world, kept_folder())
    return world


def keep(world: Compiled) -> None:
    """Keep predictions for the next run; where that is not possible they are made again."""
    folder = kept_folder()
    if not save(world, folder):
        return
    with contextlib.suppress(OSError):
        by_age = sorted(folder.glob("*.npz"), key=lambda path: path.stat().st_mtime)
        for path in by_age[:-MOST_KEPT]:
            path.unlink(missing_ok=True)


def amount(world: Compiled) -> int:
    """How much has been predicted so far: states, and pairs of places."""
    pairs = world.predicted_pairs().values()
    return len(world.predicted_states()) + sum(len(readings) for readings in pairs)
