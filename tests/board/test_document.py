"""Editing one line leaves every other byte alone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.board.small import SMALL

from halfsplit.board.document import Document
from halfsplit.board.reader import examine, read_board
from halfsplit.errors import BoardError, UnknownName

TEXT = (
    "# head\r\nrail +5   5V\r\nR1 1k  A B   # first\r\n\r\nR[2-4] 1k [A-C] B ; spare # group\r\n"
    "U1 controller out 1=A \\\r\n  2=B\r\nstate rest A=low"
)


@given(st.text())
def test_no_line_is_lost(text: str) -> None:
    assert Document.of(text).text == text
    assert examine(text, SMALL).lines.text == text


@given(st.text(alphabet='R1k[-4],=;#"\\ \t\r\nAGND\ufeff\0%?', max_size=80))
def test_nothing_is_raised_but_a_board_error(text: str) -> None:
    assert Document.of(text).text == text
    examination = examine(text, SMALL)
    rows = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    assert all(0 <= problem.line <= len(rows) for problem in examination.problems)
    if examination.good:
        assert read_board(text, SMALL).text == text
    else:
        with pytest.raises(BoardError):
            read_board(text, SMALL)


def test_heads() -> None:
    assert Document.of(TEXT).heads() == ("rail +5", "R1", "R[2-4]", "U1", "state rest")
    assert Document.of(TEXT).line("R1") == "R1 1k  A B   # first"
    assert Document.of(TEXT).line_number("R[2-4]") == 5


def test_replace_changes_that_line_only() -> None:
    text = Document.of(TEXT).replace("R1", "R1 2k A B").text
    assert text == TEXT.replace("R1 1k  A B   # first", "R1 2k A B")
    assert Document.of(text).line("R1") == "R1 2k A B"


def test_replace_takes_all_lines_of_a_continued_one() -> None:
    text = Document.of(TEXT).replace("U1", "U1 controller 1=A").text
    assert text == TEXT.replace("U1 controller out 1=A \\\r\n  2=B", "U1 controller 1=A")


def test_remove() -> None:
    assert Document.of(TEXT).remove("rail +5").text == TEXT.replace("rail +5   5V\r\n", "")
    assert Document.of(TEXT).remove("state rest").text == TEXT.replace("state rest A=low", "")


def test_insert_takes_the_line_ending_of_the_file() -> None:
    after = Document.of(TEXT).insert("R9 1k A B", after="R1").text
    assert after == TEXT.replace("# first\r\n", "# first\r\nR9 1k A B\r\n")
    assert Document.of(TEXT).insert("R9 1k A B").text == TEXT + "\r\nR9 1k A B\r\n"
    assert Document.of("").insert("R9 1k A B").text == "R9 1k A B\n"


def test_byte_order_mark_stays_first() -> None:
    document = Document.of("\ufeffR1 1k A B\nR2 1k A B\n")
    assert document.replace("R1", "R1 2k A B").text == "\ufeffR1 2k A B\nR2 1k A B\n"
    assert document.remove("R1").text == "\ufeffR2 1k A B\n"


def test_one_of_a_group_is_refused_until_the_group_is_spread() -> None:
    document = Document.of(TEXT)
    with pytest.raises(BoardError, match=r"R3 is typed together with others as R\[2-4\]"):
        document.replace("R3", "R3 2k B B")
    spread = document.spread("R3")
    group = "R[2-4] 1k [A-C] B ; spare # group"
    single = "R2 1k A B ; spare  # group\r\nR3 1k B B ; spare\r\nR4 1k C B ; spare"
    assert spread.text == TEXT.replace(group, single)
    assert read_board(spread.text, SMALL) == read_board(TEXT, SMALL)


def test_unknown_heads_and_line_breaks_are_refused() -> None:
    with pytest.raises(UnknownName, match="did you mean R1"):
        Document.of(TEXT).remove("R11")
    with pytest.raises(BoardError, match="expected one line, got 2"):
        Document.of(TEXT).replace("R1", "R1 1k A B\nR5 1k A B")
