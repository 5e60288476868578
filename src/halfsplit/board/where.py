"""Where on its line a net of a part was typed."""

from __future__ import annotations

from halfsplit.board.brackets import BracketError, expand
from halfsplit.board.document import Document
from halfsplit.board.lexer import Statement
from halfsplit.board.model import Board, Part, Spot
from halfsplit.board.netlist import Pin

__all__ = ["Where"]


class Where:
    """Looks places up in the text that a board came from."""

    def __init__(self, board: Board) -> None:
        self._lines: dict[int, Statement] = {}
        if board.text:
            for statement in Document.of(board.text).statements:
                for row in range(statement.count):
                    self._lines[statement.first + 1 + row] = statement

    def pin(self, pin: Pin) -> Spot:
        """The word that put a pin on its net."""
        return self.net(pin.part, pin.part.pins[pin.name], pin.name)

    def net(self, part: Part, net: str, pin: str = "") -> Spot:
        """The word that put ``pin`` of ``part`` on ``net``; failing that, the designator."""
        statement = self._lines.get(part.spot.line)
        found: Spot | None = None
        for token in statement.tokens[1:] if statement is not None else ():
            word = token.value or token.word
            try:
                if net not in expand(word.text):
                    continue
                if token.value is not None and pin in expand(token.word.text):
                    return word.spot
            except BracketError:
                continue
            found = found or word.spot
        return found or part.spot
