"""Small boards compiled, and readings by fault and place."""

from __future__ import annotations

from functools import lru_cache

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.parts.vocabulary import PartsVocabulary

__all__ = ["number", "volts", "world"]


@lru_cache(maxsize=64)
def world(text: str) -> Compiled:
    """The board of that text, compiled once in a run."""
    return compile_board(read_board(text, PartsVocabulary()))


def number(compiled: Compiled, fault: str) -> int:
    """Row of a fault by its id."""
    return [known.id for known in compiled.faults].index(fault)


def volts(text: str, state: str, place: str, fault: str = "healthy") -> float:
    """The predicted reading at a place."""
    compiled = world(text)
    return float(compiled.volts(state, [place]).mean[number(compiled, fault), 0])
