"""A small board, solved: what its nets read when nothing is wrong, or with one named fault."""

from __future__ import annotations

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary

__all__ = ["Bench"]


class Bench:
    """``Bench(text)("on", "OUT")`` is the voltage of net OUT in the state ``on``."""

    def __init__(self, text: str) -> None:
        head = 'board "bench"\n'
        self.world = compile_board(read_board(head + text, PartsVocabulary()))
        self.row = {fault.id: k for k, fault in enumerate(self.world.faults)}

    def __call__(self, state: str, net: str, fault: str = "healthy") -> float:
        return float(self.world.volts(state, [f"net {net}"]).mean[self.row[fault], 0])

    def other(self, state: str, net: str) -> float:
        """The second reading, where there is one."""
        return float(self.world.volts(state, [f"net {net}"]).other[0, 0])

    def unresolved(self, state: str) -> int:
        """How many faults could not be computed."""
        return int((~self.world.result(state).resolved).sum())
