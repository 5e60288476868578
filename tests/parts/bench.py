"""A small board, solved: what its nets read when nothing is wrong, or with one named fault."""

from __future__ import annotations

import math
from functools import lru_cache

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.build.parameters import overlay
from halfsplit.build.settings import step_changes
from halfsplit.build.sweep import StateResult, Sweep
from halfsplit.parts.vocabulary import PartsVocabulary

__all__ = ["Bench"]


class Bench:
    """``Bench(text)("on", "OUT")`` is the voltage of net OUT in the state ``on``; only what is
    asked for is solved."""

    def __init__(self, text: str) -> None:
        head = 'board "bench"\n'
        self.world = compile_board(read_board(head + text, PartsVocabulary()))
        self.row = {fault.id: k for k, fault in enumerate(self.world.faults)}
        self._solved = lru_cache(maxsize=None)(self._solve)

    def __call__(self, state: str, net: str, fault: str = "healthy") -> float:
        return float(self._solved(state, fault).nominal[self.world.assembly.net_node[net], -1])

    def other(self, state: str, net: str) -> float:
        """The second reading, which must be there."""
        node = self.world.assembly.net_node[net]
        second = float(self._solved(state, "healthy").other[node, -1])
        assert not math.isnan(second), f"net {net} has one reading only"
        return second

    def unresolved(self, state: str) -> int:
        """How many of all faults could not be computed."""
        return int((~self.world.result(state).resolved).sum())

    def _solve(self, state: str, fault: str) -> StateResult:
        assembly, found = self.world.assembly, self.world.board.state(state)
        assert found is not None
        overlays = [self.world.overlays[self.row[each]] for each in ("healthy", fault)]
        steps = [
            overlay(assembly.circuit, step_changes(assembly, found, step)) for step in found.steps
        ]
        return Sweep(assembly, overlays, {}).state(steps)
