"""A person at a board with one known fault, who reads what that fault gives."""

import math

import numpy as np

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.checks.catalogue import parse_check
from halfsplit.checks.kind import Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.parts.vocabulary import PartsVocabulary

__all__ = ["Oracle"]


class Oracle:
    """``fault`` is the id of the fault that the board has."""

    def __init__(self, board: str, fault: str) -> None:
        self._world = compile_board(read_board(board, PartsVocabulary()))
        ids = [one.id for one in self._world.faults]
        self._row = ids.index(fault)

    def reads(self, check_id: str) -> str:
        """What the person types."""
        check = parse_check(check_id, self._world)
        (outcomes,) = CHECKS.get(check.kind).outcomes([check], self._world, Meter())
        at = int(np.argmax(outcomes.p[self._row]))
        if not outcomes.edges or outcomes.labels[at] == "OL":
            return outcomes.labels[at]
        ends = [edge for edge in outcomes.edges[at : at + 2] if math.isfinite(edge)]
        return f"{sum(ends) / len(ends):.4g}"
