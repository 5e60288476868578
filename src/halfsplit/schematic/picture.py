"""Drawings of boards, each made once; that of an edited board begins with the one before."""

from __future__ import annotations

from markupsafe import Markup

from halfsplit.board.model import Board
from halfsplit.draw.layout import Drawing, lay_out
from halfsplit.draw.svg import svg_text
from halfsplit.schematic.sheet import sheet_of

__all__ = ["picture"]

_MOST_KEPT = 6
_kept: list[tuple[Board, Drawing, Markup]] = []
"""The latest first."""


def picture(board: Board) -> Markup:
    """SVG of the whole board; every word in it has been escaped by the writer."""
    for known, _, made in _kept:
        if known.text == board.text:
            return made
    before = next((drawing for known, drawing, _ in _kept if known.title == board.title), None)
    drawing = lay_out(sheet_of(board), before)
    made = Markup(svg_text(drawing, board.title))
    _kept.insert(0, (board, drawing, made))
    del _kept[_MOST_KEPT:]
    return made
