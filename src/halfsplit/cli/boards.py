"""Boards on the command line: found, read, compiled. Imported by commands when they run."""

from __future__ import annotations

import argparse

from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.board.source import Source, find_source
from halfsplit.build.compiled import Compiled
from halfsplit.parts.vocabulary import PartsVocabulary

__all__ = ["board_of", "world_of"]


def board_of(args: argparse.Namespace) -> tuple[Source, Board]:
    """The board that the argument ``board`` names. Raises :class:`BoardError`."""
    source = find_source(args.board)
    return source, read_board(source.text, PartsVocabulary(), source=source.where)


def world_of(args: argparse.Namespace) -> Compiled:
    """The same, compiled, with predictions kept from earlier runs where there are some."""
    from halfsplit.bench import compiled

    return compiled(board_of(args)[1])
