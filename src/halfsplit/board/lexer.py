"""Text to statements: lines, continuations, comments, quotes and ``name=value``, with places.

Nothing is thrown away: :func:`split_lines` keeps every character, and a statement only points
at its lines. What cannot be read is a fault of its statement, never an exception.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from halfsplit.board.model import Spot
from halfsplit.frozen import dataclass

__all__ = ["MAX_LINE", "Fault", "Piece", "Statement", "Token", "Word", "split_lines", "statements"]

MAX_LINE = 10_000
"""Longest line read, characters."""

_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")
_PIECE = re.compile(
    r'(?P<gap>\s+)|(?P<quote>"(?:[^"]|"")*")|(?P<stray>")|(?P<semi>;)|(?P<eq>=)'
    r'|(?P<word>[^\s;="][^\s;=]*)'
)
_NOTE = re.compile(r"\s*note(?=\s|$)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """One word as typed; ``text`` of a quoted one is without its quotes."""

    text: str
    spot: Spot
    quoted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """A word, or ``word=value``."""

    word: Word
    value: Word | None = None

    @property
    def text(self) -> str:
        """As typed, without blanks round the ``=``."""
        return self.word.text if self.value is None else f"{self.word.text}={self.value.text}"

    @property
    def spot(self) -> Spot:
        return self.word.spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece of a line.

    ``what`` is ``word``, ``quote``, ``stray`` (a quote not closed), ``semi``, ``eq``, ``comment``.
    """

    what: str
    raw: str
    spot: Spot
    gap: bool
    """A blank, or the start of a line, comes before it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What makes a statement unreadable."""

    spot: Spot
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One statement: its ``count`` lines from line ``first`` on (counting from 0)."""

    first: int
    count: int
    tokens: tuple[Token, ...] = ()
    remarks: tuple[tuple[Piece, ...], ...] = ()
    """The pieces after each ``;``."""
    comment: str = ""
    """The comment at its end, ``#`` included."""
    verbatim: str | None = None
    """The text of a ``note`` line, which is not cut up."""
    faults: tuple[Fault, ...] = ()


def split_lines(text: str) -> tuple[str, ...]:
    """The lines with their endings (LF, CRLF or CR); joined they are ``text`` again."""
    return tuple(_LINE.findall(text))


def statements(lines: Sequence[str]) -> Iterator[Statement]:
    """The statements of a file; blank lines and comments are passed over."""
    index = 0
    while index < len(lines):
        first, contents, more = index, [], True
        while more and index < len(lines):
            content = lines[index].rstrip("\r\n")
            if index == 0:
                content = content.removeprefix("\ufeff")
            if len(content) > MAX_LINE:
                contents, more = [content], False
                index += 1
                break
            content, more = _cut_continuation(content, note=_is_note(contents or [content]))
            contents.append(content)
            index += 1
        statement = _statement(first, index - first, contents, unfinished=more)
        if statement is not None:
            yield statement


def _is_note(contents: Sequence[str]) -> bool:
    return _NOTE.match(contents[0]) is not None


def _cut_continuation(content: str, *, note: bool) -> tuple[str, bool]:
    """The line without a closing backslash, and whether there was one outside a comment."""
    bare = content.rstrip()
    if not bare.endswith("\\"):
        return content, False
    if not note:
        last = next(reversed(list(_pieces(content, 0))))
        if last.what != "word" or not last.raw.endswith("\\"):
            return content, False
        if last.spot.column - 1 + len(last.raw) != len(bare):
            return content, False
    return bare[:-1], True


def _statement(
    first: int, count: int, contents: Sequence[str], *, unfinished: bool
) -> Statement | None:
    start = Spot(line=first + 1, column=1)
    if len(contents[0]) > MAX_LINE:
        message = f"line of {len(contents[0])} characters; expected {MAX_LINE} at most"
        return Statement(first=first, count=count, faults=(Fault(spot=start, message=message),))
    faults = [fault for row, content in enumerate(contents) for fault in _bad(content, first + row)]
    if unfinished:
        last = Spot(line=first + count, column=len(contents[-1]) + 1)
        faults.append(Fault(spot=last, message="the file ends after \\; expected another line"))
    note = _NOTE.match(contents[0])
    if note:
        texts = [contents[0][note.end() :], *contents[1:]]
        verbatim = " ".join(text.strip() for text in texts).strip()
        column = note.end() - 3
        word = Word(text="note", spot=Spot(line=first + 1, column=column))
        return Statement(
            first=first,
            count=count,
            tokens=(Token(word=word),),
            verbatim=verbatim,
            faults=tuple(faults),
        )
    pieces = [p for row, content in enumerate(contents) for p in _pieces(content, first + row)]
    comment = pieces.pop().raw if pieces and pieces[-1].what == "comment" else ""
    if not pieces and not faults:
        return None
    segments: list[list[Piece]] = [[]]
    for piece in pieces:
        if piece.what == "semi":
            segments.append([])
        else:
            segments[-1].append(piece)
    tokens = tuple(_tokens(segments[0], faults))
    return Statement(
        first=first,
        count=count,
        tokens=tokens,
        remarks=tuple(tuple(segment) for segment in segments[1:]),
        comment=comment,
        faults=tuple(faults),
    )


def _bad(content: str, row: int) -> Iterator[Fault]:
    """The first character of a line that cannot be printed."""
    for column, sign in enumerate(content, 1):
        if not sign.isprintable() and not sign.isspace():
            spot = Spot(line=row + 1, column=column)
            yield Fault(spot=spot, message=f"expected text, got the character U+{ord(sign):04X}")
            return


def _pieces(content: str, row: int) -> Iterator[Piece]:
    """The pieces of one line, its comment last."""
    gap, before = True, ""
    for match in _PIECE.finditer(content):
        what, raw = match.lastgroup or "", match.group()
        if what == "gap":
            gap = True
            continue
        if what == "word" and raw.startswith("#") and (gap or before == "semi"):
            spot = Spot(line=row + 1, column=match.start() + 1)
            yield Piece(what="comment", raw=content[match.start() :], spot=spot, gap=True)
            return
        spot = Spot(line=row + 1, column=match.start() + 1)
        yield Piece(what=what, raw=raw, spot=spot, gap=gap)
        gap, before = False, what


def _tokens(pieces: Sequence[Piece], faults: list[Fault]) -> Iterator[Token]:
    index = 0
    while index < len(pieces):
        piece = pieces[index]
        following = pieces[index + 1 : index + 3]
        index += 1
        if piece.what == "stray":
            faults.append(Fault(spot=piece.spot, message='this quote is not closed; expected "'))
        elif piece.what == "eq":
            faults.append(Fault(spot=piece.spot, message="expected a name before ="))
            index += 1
        elif not following or following[0].what != "eq":
            yield Token(word=_word(piece))
        elif len(following) < 2 or following[1].what not in ("word", "quote"):
            message = f"expected a net or a value after {piece.raw}="
            faults.append(Fault(spot=following[0].spot, message=message))
            index += 1
        else:
            yield Token(word=_word(piece), value=_word(following[1]))
            index += 2


def _word(piece: Piece) -> Word:
    if piece.what == "quote":
        return Word(text=piece.raw[1:-1].replace('""', '"'), spot=piece.spot, quoted=True)
    return Word(text=piece.raw, spot=piece.spot)
