"""The folder where predictions are kept between runs, and boards compiled with what is there."""

from __future__ import annotations

import contextlib
import os
import sys
import tempfile
from pathlib import Path

from halfsplit.board.model import Board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.build.keep import load, save

__all__ = ["amount", "compile_kept", "keep", "kept_folder"]

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


def kept_folder() -> Path:
    """Where this user's programs keep what can be made again: ``XDG_CACHE_HOME`` (XDG Base
    Directory Specification) when it is set, else the folder that the system has for it."""
    chosen = os.environ.get("XDG_CACHE_HOME", "")
    if os.path.isabs(chosen):
        base = Path(chosen)
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or tempfile.gettempdir())
    else:
        home = Path(os.path.expanduser("~"))
        base = home / "Library" / "Caches" if sys.platform == "darwin" else home / ".cache"
    return base / "halfsplit"
