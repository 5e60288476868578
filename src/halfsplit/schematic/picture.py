"""Drawings of boards, each made once. That of an edited board begins with those of the boards
before it, in turn, so that a case's drawing is the same again when the program is started anew."""

from __future__ import annotations

from collections.abc import Sequence
from threading import RLock
from typing import TypeVar

from markupsafe import Markup

from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.draw.layout import Drawing, lay_out
from halfsplit.draw.svg import svg_text
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.schematic.sheet import sheet_of

__all__ = ["picture"]

MOST_EARLIER = 30
"""Boards before this one that its drawing remembers."""
_MOST_KEPT = 12

T = TypeVar("T")

_Texts = tuple[str, ...]
_drawn: dict[_Texts, Drawing] = {}
_pictures: dict[_Texts, Markup] = {}
"""By the texts of a case's boards in order, the latest used last."""
_lock = RLock()


def picture(board: Board, earlier: Sequence[str] = ()) -> Markup:
    """SVG of the whole board; every word in it has been escaped by the writer. ``earlier``: texts
    of the boards that the case had before, in order; without them a drawing is taken that was made
    of this text before."""
    with _lock:
        texts = (*(text for text in earlier[-MOST_EARLIER:] if text != board.text), board.text)
        if len(texts) == 1:
            texts = next((known for known in reversed(_pictures) if known[-1] == board.text), texts)
        made = _pictures.pop(texts, None)
        if made is None:
            made = Markup(svg_text(_drawing(texts, board), board.title))
        _keep(_pictures, texts, made)
        return made


def _drawing(texts: _Texts, board: Board) -> Drawing:
    """Of a board, whose text is the last; begun with the longest row of texts that was drawn."""
    count = next((n for n in range(len(texts), 0, -1) if texts[:n] in _drawn), 0)
    before = _drawn.pop(texts[:count]) if count else None
    for at in range(count, len(texts)):
        last = at + 1 == len(texts)
        one = board if last else read_board(texts[at], PartsVocabulary())
        before = lay_out(sheet_of(one), before)
    assert before is not None  # there is one text at least
    _keep(_drawn, texts, before)
    return before


def _keep(kept: dict[_Texts, T], texts: _Texts, made: T) -> None:
    kept[texts] = made
    while len(kept) > _MOST_KEPT:
        del kept[next(iter(kept))]
