"""The parts of the example boards stand what the boards ask of them."""

import pytest

from halfsplit.board.model import Part
from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.replacement.advice import Replacer
from halfsplit.replacement.operating import operate


class ByTables(Replacer):
    """Judges by ratings alone; nothing is tried on the board."""

    def _tryout(self, part: Part) -> tuple[str, ...]:
        return ()


@pytest.mark.parametrize("name", ["line-card", "panel-display", "tension-card"])
def test_no_part_is_overloaded(name: str) -> None:
    board = read_board(find_source(name).text, PartsVocabulary())
    replacer = ByTables(operate(compile_board(board)))
    shares = {
        f"{part.designator} {stress.name}": stress.share
        for part in board.parts
        for stress in replacer.of(part.designator).stress
        if stress.share is not None
    }
    assert len(shares) > 20
    assert max(shares.values()) <= 1.0, max(shares, key=shares.__getitem__)
