"""A board file as typed: every character kept, one line edited at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

from halfsplit.board.brackets import BracketError, copies, expand
from halfsplit.board.lexer import Statement, Token, split_lines, statements
from halfsplit.board.names import KEYWORDS
from halfsplit.errors import BoardError, Problem, UnknownName
from halfsplit.frozen import dataclass

__all__ = ["Document", "head_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """The lines of a board file. Editing gives a new document; other lines stay byte for byte.

    A line is named by its head: a part's by its designator as typed (``R1``, or ``R[1-4]`` for
    the whole group), another by its word and name (``state rest``, ``rail +5``, ``board``).
    """

    lines: tuple[str, ...] = ()
    """Physical lines with their endings."""
    statements: tuple[Statement, ...] = field(default=(), compare=False, repr=False)

    @classmethod
    def of(cls, text: str) -> Document:
        """The document of a text; ``Document.of(text).text == text``."""
        lines = split_lines(text)
        return cls(lines=lines, statements=tuple(statements(lines)))

    @property
    def text(self) -> str:
        """The text, as it was."""
        return "".join(self.lines)

    def heads(self) -> tuple[str, ...]:
        """The heads of all lines that say something, in order."""
        return tuple(head_of(statement) for statement in self.statements if statement.tokens)

    def line_number(self, head: str) -> int:
        """Where the line is, counting from 1. Raises as :meth:`replace`."""
        return self._find(head).first + 1

    def line(self, head: str) -> str:
        """The line as typed, comment included, without its ending. Raises as :meth:`replace`."""
        statement = self._find(head)
        last = statement.first + statement.count
        return "".join(self.lines[statement.first : last]).rstrip("\r\n")

    def replace(self, head: str, line: str) -> Document:
        """Put ``line`` where the line named ``head`` was.

        Raises :class:`UnknownName` when there is none, and :class:`BoardError` when ``head`` is
        one of several parts typed on one line (see :meth:`spread`) or ``line`` has a line break.
        """
        statement = self._find(head)
        end = statement.first + statement.count
        return self._splice(statement.first, end, [_one_line(line)])

    def remove(self, head: str) -> Document:
        """Take the line named ``head`` out. Raises as :meth:`replace`."""
        statement = self._find(head)
        return self._splice(statement.first, statement.first + statement.count, [])

    def insert(self, line: str, *, after: str | None = None) -> Document:
        """Put a line after the one named ``after``, or at the end. Raises as :meth:`replace`."""
        if after is None:
            return self._splice(len(self.lines), len(self.lines), [_one_line(line)])
        statement = self._find(after)
        end = statement.first + statement.count
        return self._splice(end, end, [_one_line(line)])

    def spread(self, head: str) -> Document:
        """Type the group that ``head`` is in (``R2`` of ``R[1-4]``) as one line each.

        Remarks are repeated on each line; a comment stays on the first. Raises
        :class:`UnknownName`, and :class:`BoardError` when its brackets cannot be counted.
        """
        statement = self._find(head, members=True)
        try:
            expanded = copies(statement.tokens, _head_index(statement))
        except BracketError as error:
            raise _refusal(str(error), statement) from None
        if len(expanded) == 1:
            return self
        remarks = "".join(
            " ;" + "".join((" " if piece.gap else "") + piece.raw for piece in segment)
            for segment in statement.remarks
        )
        texts = [" ".join(_typed(token) for token in copy) + remarks for copy in expanded]
        texts[0] += f"  {statement.comment}" if statement.comment else ""
        return self._splice(statement.first, statement.first + statement.count, texts)

    def _find(self, head: str, *, members: bool = False) -> Statement:
        groups: list[tuple[Statement, list[str]]] = []
        for statement in self.statements:
            if not statement.tokens:
                continue
            typed = head_of(statement)
            if typed == head:
                return statement
            if "[" in typed:
                try:
                    groups.append((statement, expand(typed)))
                except BracketError:
                    continue
        for statement, names in groups:
            if head in names:
                if members:
                    return statement
                typed = head_of(statement)
                raise _refusal(
                    f"{head} is typed together with others as {typed}; "
                    f"edit {typed}, or spread the line first",
                    statement,
                )
        known = [*self.heads(), *(name for _, names in groups for name in names)]
        raise UnknownName("line", head, known)

    def _splice(self, first: int, end: int, texts: Sequence[str]) -> Document:
        before, after = list(self.lines[:first]), list(self.lines[end:])
        ending = self._ending()
        if before and texts and not before[-1].endswith(("\r", "\n")):
            before[-1] += ending
        new = [text + ending for text in texts]
        if new and end and end <= len(self.lines) and first < end:
            last = self.lines[end - 1]
            new[-1] = texts[-1] + last[len(last.rstrip("\r\n")) :]
        mark = "\ufeff" if first == 0 and self.lines and self.lines[0].startswith("\ufeff") else ""
        text = "".join([*before, *new, *after])
        return Document.of(text if text.startswith(mark) else mark + text)

    def _ending(self) -> str:
        for line in self.lines:
            ending = line[len(line.rstrip("\r\n")) :]
            if ending:
                return ending
        return "\n"


def head_of(statement: Statement) -> str:
    """What names a statement's line."""
    first = statement.tokens[0]
    index = _head_index(statement)
    return first.text if index == 0 else f"{first.text.casefold()} {statement.tokens[1].word.text}"


def _head_index(statement: Statement) -> int:
    word = statement.tokens[0].text.casefold()
    named = word in KEYWORDS and word not in ("board", "note", "ground")
    return 1 if named and len(statement.tokens) > 1 else 0


def _typed(token: Token) -> str:
    sides = (token.word, token.value) if token.value else (token.word,)
    texts = [
        '"' + word.text.replace('"', '""') + '"' if word.quoted else word.text for word in sides
    ]
    return "=".join(texts)


def _one_line(line: str) -> str:
    bare = line.rstrip("\r\n")
    if "\n" in bare or "\r" in bare:
        message = f"expected one line, got {len(bare.splitlines())}: {bare.splitlines()[0]!r} ..."
        raise BoardError([Problem(line=0, column=0, severity="error", message=message)])
    return bare


def _refusal(message: str, statement: Statement) -> BoardError:
    line = statement.first + 1
    return BoardError([Problem(line=line, column=1, severity="error", message=message)])
