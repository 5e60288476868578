"""Where on its line a net of a part was typed."""

from __future__ import annotations

from halfsplit.board.brackets import BracketError, expand
from halfsplit.board.document import Document
from halfsplit.board.lexer import Statement
from halfsplit.board.model import Board, Part, Spot

__all__ = ["Where"]


class Where:
    """Looks places up in the text that a board came from."""

    def __init__(self, board: Board) -> None:
        self._lines: dict[int, Statement] = {}
        if board.text:
            for statement in Document.of(board.text).statements:
                for row in range(statement.count):
                    self._lines[statement.first + 1 + row] = statement

    def net(self, part: Part, net: str) -> Spot:
        """The word that put ``part`` on ``net``; the designator when none can be told."""
        statement = self._lines.get(part.spot.line)
        for token in statement.tokens[1:] if statement is not None else ():
            word = token.value or token.word
            try:
                if net in expand(word.text):
                    return word.spot
            except BracketError:
                continue
        return part.spot
