"""Equations and truth tables of described parts: checked word by word, written in one way.

Operators ``!`` not, ``&`` and, ``^`` exclusive or, ``|`` or, in falling strength; parentheses;
constants ``0`` and ``1``; the names of inputs.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from halfsplit.board.lexer import Word
from halfsplit.board.model import Spot
from halfsplit.frozen import dataclass

__all__ = ["NAME", "EquationError", "read_equation", "table_equation"]

NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
"""What may stand in an equation as an input."""

_SYMBOL = re.compile(r"[A-Za-z_][A-Za-z0-9_]*|[01!&^|()]")
_MOST_INPUTS = 8


class EquationError(Exception):
    """``spot``: where; ``name``: an unknown input's name, else empty."""

    def __init__(self, message: str, spot: Spot, name: str = "") -> None:
        super().__init__(message)
        self.spot, self.name = spot, name


@dataclass(frozen=True, slots=True)
class _Symbol:
    text: str
    spot: Spot


def read_equation(words: Sequence[Word], inputs: Sequence[str], after: Spot) -> str:
    """The equation in ``words`` as text. ``after``: where to point when nothing is there.

    Raises :class:`EquationError`.
    """
    symbols = [symbol for word in words for symbol in _symbols(word)]
    if not symbols:
        raise EquationError("expected an equation such as !(A & B)", after)
    open_at: list[_Symbol] = []
    operand_next = True
    for symbol in symbols:
        text = symbol.text
        if (text in "&^|)") == operand_next:
            wanted = "an input" if operand_next else "&, | or ^"
            raise EquationError(f"expected {wanted}, got {text!r}", symbol.spot)
        if text == "(":
            open_at.append(symbol)
        elif text == ")":
            if not open_at:
                raise EquationError("expected ( before this )", symbol.spot)
            open_at.pop()
        elif text in "&^|":
            operand_next = True
        elif text != "!":
            operand_next = False
            if NAME.fullmatch(text) and text not in inputs:
                message = f"expected an input of the part, got {text!r}"
                raise EquationError(message, symbol.spot, text)
    if operand_next:
        raise EquationError("expected an input after this", symbols[-1].spot)
    if open_at:
        raise EquationError("expected ) for this (", open_at[-1].spot)
    return "".join(f" {s.text} " if s.text in "&^|" else s.text for s in symbols)


def table_equation(words: Sequence[Word], inputs: Sequence[str], after: Spot) -> str:
    """The equation of ``A B 0111``: inputs, then the output for 00, 01, 10, 11 (blanks between
    the figures as one likes). Raises :class:`EquationError`."""
    names = [word for word in words if not set(word.text) <= {"0", "1"}]
    bits = "".join(word.text for word in words[len(names) :])
    for word in names:
        if word.text not in inputs:
            message = f"expected an input of the part, got {word.text!r}"
            raise EquationError(message, word.spot, word.text)
    if not 1 <= len(names) <= _MOST_INPUTS:
        raise EquationError(
            f"expected 1 to {_MOST_INPUTS} inputs of the table, got {len(names)}", after
        )
    if list(words[: len(names)]) != names:
        raise EquationError("expected the inputs first, then the figures 0 and 1", names[-1].spot)
    if len(bits) != 2 ** len(names):
        spot = words[len(names)].spot if bits else names[-1].spot
        raise EquationError(
            f"expected {2 ** len(names)} figures for {len(names)} inputs, got {len(bits)}", spot
        )
    return _chosen([word.text for word in names], bits)


def _symbols(word: Word) -> list[_Symbol]:
    found, place = [], 0
    while place < len(word.text):
        spot = Spot(line=word.spot.line, column=word.spot.column + place)
        match = _SYMBOL.match(word.text, place)
        if match is None:
            raise EquationError(
                f"expected an input, !, &, |, ^, ( or ), got {word.text[place:]!r}", spot
            )
        found.append(_Symbol(match[0], spot))
        place = match.end()
    return found


def _chosen(names: Sequence[str], bits: str) -> str:
    """The first input chooses between the two halves of the table."""
    if len(set(bits)) == 1:
        return bits[0]
    name, half = names[0], len(bits) // 2
    low, high = _chosen(names[1:], bits[:half]), _chosen(names[1:], bits[half:])
    if low == high:
        return low
    if (low, high) == ("0", "1"):
        return name
    if (low, high) == ("1", "0"):
        return f"!{name}"
    sides = [side for side, other in ((f"!{name}", low), (name, high)) if other == "1"]
    sides += [
        f"{side} & ({other})" if " " in other else f"{side} & {other}"
        for side, other in ((f"!{name}", low), (name, high))
        if other not in ("0", "1")
    ]
    return " | ".join(sides)
