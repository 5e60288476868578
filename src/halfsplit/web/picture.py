"""The drawing of a board, made once for each text of it."""

from __future__ import annotations

from markupsafe import Markup

from halfsplit.board.model import Board
from halfsplit.draw.layout import lay_out
from halfsplit.draw.svg import svg_text
from halfsplit.web.sheet import sheet_of

__all__ = ["drawn", "picture"]

_kept: dict[str, Markup] = {}


def picture(board: Board) -> Markup:
    """SVG of the whole board; every word in it has been escaped by the writer."""
    if board.text not in _kept:
        _kept.clear()
        _kept[board.text] = drawn(board)
    return _kept[board.text]


def drawn(board: Board) -> Markup:
    """The same, made anew."""
    return Markup(svg_text(lay_out(sheet_of(board)), board.title))
