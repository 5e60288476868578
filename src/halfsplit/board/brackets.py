"""Like channels typed once: ``R[1-4]``, ``[1,4,10,13]=PH[A-D]``.

When the head of a line (a designator, a net, a state's name) has brackets, the line stands for
as many lines, and all its brackets count along together. When it has none, each word with
brackets stands for several words, its own brackets counting along together.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from halfsplit.board.lexer import Token, Word
from halfsplit.board.model import Spot

__all__ = ["MAX_ITEMS", "BracketError", "copies", "expand"]

MAX_ITEMS = 256
"""Most items that one pair of brackets may stand for."""

_BRACKET = re.compile(r"\[([^\[\]]*)\]")
_RANGE = re.compile(r"([0-9]{1,6})-([0-9]{1,6})|([A-Z])-([A-Z])|([a-z])-([a-z])")
_ITEM = re.compile(r"[^\s,\[\]=;\"-]+")


class BracketError(Exception):
    """Brackets that cannot be counted; ``spot`` says where, the text what was expected."""

    def __init__(self, message: str, spot: Spot | None = None) -> None:
        super().__init__(message)
        self.spot = spot or Spot()


def expand(text: str) -> list[str]:
    """The words that ``text`` stands for: itself alone when it has no brackets.

    Raises :class:`BracketError`.
    """
    plain = _BRACKET.split(text)
    if any("[" in part or "]" in part for part in plain[::2]):
        raise BracketError(f"brackets of {text!r} do not pair up; expected e.g. R[1-4]")
    lists = [_items(inside) for inside in plain[1::2]]
    sizes = {len(items) for items in lists}
    if len(sizes) > 1:
        shown = " and ".join(str(len(items)) for items in lists)
        raise BracketError(f"brackets of {text!r} hold {shown} items; expected as many in each")
    words = []
    for index in range(sizes.pop() if sizes else 1):
        parts = list(plain)
        parts[1::2] = [items[index] for items in lists]
        words.append("".join(parts))
    return words


def copies(tokens: Sequence[Token], head: int) -> list[tuple[Token, ...]]:
    """The lines that a line stands for; ``tokens[head]`` is what names it.

    Raises :class:`BracketError` with the spot of the word at fault.
    """
    names = _expand_word(tokens[head].word, is_head=True)
    if len(names) == 1 and names[0] == tokens[head].word.text:
        return [tuple(copy for token in tokens for copy in _spread(token))]
    count = len(names)
    columns = [_lockstep(token, count, is_head=i == head) for i, token in enumerate(tokens)]
    return [tuple(column[index] for column in columns) for index in range(count)]


def _items(inside: str) -> list[str]:
    items: list[str] = []
    for item in inside.split(","):
        item = item.strip()
        counted = _RANGE.fullmatch(item)
        if counted:
            items += _count(*(end for end in counted.groups() if end is not None))
        elif _ITEM.fullmatch(item):
            items.append(item)
        else:
            raise BracketError(
                f"cannot count [{inside[:40]}]; expected a range such as [1-4] or [A-D], "
                "or a list such as [1,4,10]"
            )
        if len(items) > MAX_ITEMS:
            raise BracketError(f"[{inside[:40]}] is more than {MAX_ITEMS} items")
    return items


def _count(first: str, last: str) -> list[str]:
    if first.isdigit():
        low, high = int(first), int(last)
        width = len(first) if first.startswith("0") else 0
    else:
        low, high, width = ord(first), ord(last), -1
    if abs(high - low) >= MAX_ITEMS:
        raise BracketError(f"[{first}-{last}] is more than {MAX_ITEMS} items")
    step = 1 if high >= low else -1
    numbers = range(low, high + step, step)
    return [chr(number) if width < 0 else f"{number:0{width}d}" for number in numbers]


def _expand_word(word: Word, *, is_head: bool = False) -> list[str]:
    if word.quoted and not is_head:
        return [word.text]
    try:
        return expand(word.text)
    except BracketError as error:
        raise BracketError(str(error), word.spot) from None


def _spread(token: Token) -> list[Token]:
    """The tokens that one token stands for on a line whose head has no brackets."""
    names = _expand_word(token.word)
    values = _expand_word(token.value) if token.value else [""]
    count = max(len(names), len(values))
    if {len(names), len(values)} - {1, count}:
        raise BracketError(
            f"{token.text!r} has {len(names)} before = and {len(values)} after it; "
            "expected as many on both sides",
            token.spot,
        )
    return [_copy(token, names, values, index) for index in range(count)]


def _lockstep(token: Token, count: int, *, is_head: bool) -> list[Token]:
    """``count`` copies of a token on a line whose head has brackets."""
    sides = [(token.word, _expand_word(token.word, is_head=is_head))]
    sides.append((token.value, _expand_word(token.value)) if token.value else (token.word, [""]))
    for word, items in sides:
        if len(items) not in (1, count):
            raise BracketError(
                f"{word.text!r} has {len(items)} items; "
                f"expected {count}, as many as the name at the start of the line",
                word.spot,
            )
    return [_copy(token, sides[0][1], sides[1][1], index) for index in range(count)]


def _copy(token: Token, names: list[str], values: list[str], index: int) -> Token:
    def pick(word: Word, items: list[str]) -> Word:
        return Word(text=items[index % len(items)], spot=word.spot, quoted=word.quoted)

    value = pick(token.value, values) if token.value else None
    return Token(word=pick(token.word, names), value=value)
