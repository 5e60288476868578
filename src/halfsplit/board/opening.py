"""A block opened: the parts inside it typed in place of its line."""

from __future__ import annotations

from halfsplit.board.document import Document
from halfsplit.board.model import BLOCK, Board, Part
from halfsplit.board.reader import read_board
from halfsplit.board.vocabulary import Vocabulary
from halfsplit.errors import BoardError, Problem, UnknownName

__all__ = ["blocks_of", "opened", "spliced"]


def blocks_of(board: Board) -> tuple[Part, ...]:
    """The parts of a board that are blocks."""
    return tuple(part for part in board.parts if part.kind == BLOCK)


def spliced(board: Board, block: str, inside: str) -> tuple[str, int]:
    """The text of a board with the lines ``inside`` where the line of ``block`` was, which stays
    as a comment, and the number of the first of these lines, from 1. It may not read well.

    Raises :class:`UnknownName` for what is no block.
    """
    _block(board, block)
    document = Document.of(board.text).spread(block)
    at, old = document.line_number(block) - 1, document.line(block).splitlines()
    ending = "\r\n" if document.lines[at].endswith("\r\n") else "\n"
    new = [*(f"# opened: {line}" for line in old), *inside.splitlines(), ""]
    text = "".join([*document.lines[:at], ending.join(new), *document.lines[at + len(old) :]])
    return text, at + len(old) + 1


def opened(
    board: Board, block: str, inside: str, vocabulary: Vocabulary, *, source: str = "inside"
) -> str:
    """The text of a board with the lines ``inside`` where the line of ``block`` was, which stays
    as a comment.

    Raises :class:`UnknownName` for what is no block, :class:`BoardError` when the board cannot be
    read so, or nothing inside is on a net that the block gave.
    """
    part = _block(board, block)
    text, _ = spliced(board, block, inside)
    nets = read_board(text, vocabulary, source=source).nets()
    before = board.nets()
    lost = [
        net for pin, net in part.pins.items()
        if part.roles.get(pin) == "out" and len(nets.get(net, ())) < len(before[net])
    ]  # fmt: skip
    if lost:
        message = (
            f"expected parts inside {block} on each net that it gave, got none on "
            f"{', '.join(lost)}; call a net inside what it is called outside"
        )
        problem = Problem(line=part.spot.line, column=1, severity="error", message=message)
        raise BoardError([problem], source=source)
    return text


def _block(board: Board, block: str) -> Part:
    part = board.part(block)
    if part is None or part.kind != BLOCK:
        raise UnknownName("block", block, [one.designator for one in blocks_of(board)])
    return part
