"""Remarks: what follows ``;`` on a part's line, and the note of a state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.board.lexer import Piece, Statement
from halfsplit.board.model import Remarks
from halfsplit.board.problems import Problems
from halfsplit.errors import UnitError
from halfsplit.units import parse

__all__ = ["FLAGS", "WORDS", "no_remarks", "read_note", "read_remarks"]

FLAGS = ("spare", "irreplaceable", "socketed", "verified")
"""Remarks that are one word."""

WORDS = (*FLAGS, "price", "note")
"""All words that open a remark."""


def read_remarks(statement: Statement, problems: Problems) -> Remarks:
    """The remarks of a part's line."""
    remarks, seen = Remarks(), set[str]()
    for segment in statement.remarks:
        rest = list(segment)
        while rest:
            piece = rest.pop(0)
            word = piece.raw.casefold()
            if word in seen:
                problems.error(piece.spot, f"{word} is typed twice on this line")
            seen.add(word)
            if word in FLAGS:
                remarks = replace(remarks, **{word: True})  # type: ignore[arg-type]  # FLAGS are its bool fields
            elif word == "price":
                remarks = replace(remarks, price=_price(piece, rest, problems))
            elif word == "note":
                remarks = replace(remarks, note=_text(rest))
                rest = []
            else:
                message = f"expected a remark ({', '.join(WORDS)}), got {piece.raw!r}"
                problems.error(piece.spot, message, name=piece.raw, known=WORDS)
                rest = []
    return remarks


def read_note(statement: Statement, problems: Problems) -> str:
    """The note of a line that takes no other remark."""
    note = ""
    for segment in statement.remarks:
        if segment and segment[0].raw.casefold() == "note":
            note = _text(segment[1:])
        elif segment:
            message = f"expected note and its text after ;, got {segment[0].raw!r}"
            problems.error(segment[0].spot, message, name=segment[0].raw, known=("note",))
    return note


def no_remarks(statement: Statement, problems: Problems) -> None:
    """Refuse remarks on a line that takes none."""
    for segment in statement.remarks:
        if segment:
            message = "remarks after ; go on the line of a part or a state; begin a comment with #"
            problems.error(segment[0].spot, message)
            return


def _price(piece: Piece, rest: list[Piece], problems: Problems) -> float | None:
    if not rest:
        problems.error(piece.spot, "expected an amount after price, such as price 1.20")
        return None
    amount = rest.pop(0)
    try:
        price = parse(amount.raw.strip("£$€"))
    except UnitError:
        price = -1.0
    if price < 0:
        problems.error(amount.spot, f"expected an amount such as 1.20, got {amount.raw!r}")
        return None
    return price


def _text(pieces: Sequence[Piece]) -> str:
    """The pieces as typed, blanks run together; a text quoted as a whole without its quotes."""
    if len(pieces) == 1 and pieces[0].what == "quote":
        return pieces[0].raw[1:-1].replace('""', '"')
    return "".join((" " if piece.gap else "") + piece.raw for piece in pieces).strip()
