"""Parts described in the board file: what is read, written back, and said of what is wrong."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.board.document import Document
from halfsplit.board.equation import table_equation
from halfsplit.board.lexer import Word
from halfsplit.board.lint import warnings
from halfsplit.board.model import DESCRIBED, Description, Gives, Spot
from halfsplit.board.reader import examine, read_board
from halfsplit.board.writer import part_line, write_board
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve.expression import evaluate

WORDS = PartsVocabulary()
TEXT = """board "Decoder"
rail +5 5V
# nobody sells it any more
describe DEC 74LS "address decoder" in 1=A 2=B 3=nG \\
  out [4-5]=Y[0-1] oc 8=INT tri 9=D supply 14=VCC ground 7=GND   # by the drawing
gives DEC.Y[0-1] A & [!B,B] & !nG
gives DEC.INT table A B 0 11 1
gives DEC.D A^B when !nG on B   # stored
U1 DEC A=X 2=Z 3=GND Y0=O0 5=O1 8=O8 9=O9 ; socketed
U2 DEC 1=X 2=Z nG=+5 9=O9
offsheet X drive 74LS
offsheet Z drive 74LS
"""


def test_what_is_described_is_read() -> None:
    board = read_board(TEXT, WORDS)
    (described,) = board.descriptions
    assert (described.name, described.family) == ("DEC", "74LS")
    assert described.title == "address decoder"
    assert [(pin.name, pin.title, pin.role) for pin in described.pins[3:6]] == [
        ("4", "Y0", "out"), ("5", "Y1", "out"), ("8", "INT", "oc"),
    ]  # fmt: skip
    assert described.gives == (
        Gives(output="Y0", level="A & !B & !nG"),
        Gives(output="Y1", level="A & B & !nG"),
        Gives(output="INT", level="A | !A & B"),
        Gives(output="D", level="A ^ B", enable="!nG", clock="B"),
    )
    first, second = board.parts
    assert (first.kind, first.type) == (DESCRIBED, "DEC")
    assert first.pins == {"1": "X", "2": "Z", "3": "GND", "4": "O0", "5": "O1", "8": "O8",
                          "9": "O9", "14": "+5", "7": "GND"}  # fmt: skip
    assert first.implied == {"14", "7"}
    assert first.roles["8"] == "oc"
    assert second.description == described


def test_it_is_written_and_read_back_equal() -> None:
    board = read_board(TEXT, WORDS)
    again = read_board(write_board(board, WORDS), WORDS)
    assert again == board
    assert part_line(board.parts[0], WORDS).startswith("U1 DEC 1=X 2=Z 3=GND")


def test_a_document_keeps_what_was_typed() -> None:
    document = Document.of(TEXT)
    assert document.text == TEXT
    assert {"describe DEC", "gives DEC.INT", "gives DEC.Y[0-1]"} <= set(document.heads())
    edited = document.replace("gives DEC.INT", "gives DEC.INT A | B")
    assert edited.text == TEXT.replace("gives DEC.INT table A B 0 11 1", "gives DEC.INT A | B")
    spread = document.spread("gives DEC.Y0").text
    assert "gives DEC.Y0 A & !B & !nG\ngives DEC.Y1 A & B & !nG\n" in spread
    assert read_board(spread, WORDS) == read_board(TEXT, WORDS)


def test_questions_about_it_are_those_of_any_chip() -> None:
    board = read_board(TEXT + "R1 1k O9 GND\nR2 1k O0 O1\n", WORDS)
    said = [problem.message for problem in warnings(board, WORDS)]
    assert any("net O8 has one pin only" in message for message in said)
    tied = read_board(TEXT + "U3 DEC A=X B=Z nG=GND 4=O0 5=O0\n", WORDS)
    assert any("outputs tied together on net O0" in p.message for p in warnings(tied, WORDS))


@pytest.mark.parametrize(
    ("old", "new", "line", "column", "message"),
    [
        ("A & [!B,B] & !nG", "A & [!B,B] & !nH", 6, 32, "got 'nH'"),
        ("A & [!B,B] & !nG", "A [!B,B]", 6, 20, "expected &, | or ^, got '!'"),
        ("A & [!B,B] & !nG", "(A & [!B,B]", 6, 18, "expected ) for this ("),
        ("A & [!B,B] & !nG", "A & [!B,B] &", 6, 29, "expected an input after this"),
        ("table A B 0 11 1", "table A B 0 11", 7, 25, "expected 4 figures for 2 inputs, got 3"),
        ("table A B 0 11 1", "table A X 0 11 1", 7, 23, "got 'X'"),
        ("gives DEC.INT table", "gives DEC.ITN table", 7, 7, "expected an output of DEC"),
        ("gives DEC.INT table", "gives DCE.INT table", 7, 7, "got 'DCE'"),
        ("gives DEC.INT table A B 0 11 1", "gives DEC.INT A when B", 7, 17, "expected when only"),
        ("gives DEC.INT table A B 0 11 1", "gives DEC.Y0 A", 7, 7, "given twice"),
        ("DEC 74LS ", "DEC 74L ", 4, 14, "expected a logic family"),
        ("describe DEC 74LS", "describe 7400 74LS", 4, 10, "expected a name"),
        ("describe DEC 74LS", "describe LM339 74LS", 4, 10, "is a part already"),
        ("3=nG ", "3=/G ", 4, 50, "an active-low one is nCS"),
        ("3=nG ", "3=A ", 4, 50, "the function A is typed twice"),
        ("supply 14=VCC ", "", 4, 10, "expected a pin with the role supply"),
        (" in 1=A", " inn 1=A", 4, 37, "got 'inn'"),
        ("U1 DEC", "U1 DCE", 9, 4, "expected a kind of part"),
        ("U1 DEC", "U1 described", 9, 1, "got described"),
        ("U1 DEC A=X", "U1 DEC C=X", 9, 8, "DEC has no pin 'C'"),
    ],
)
def test_what_is_wrong_is_said_where_it_is(
    old: str, new: str, line: int, column: int, message: str
) -> None:
    assert old in TEXT
    examination = examine(TEXT.replace(old, new), WORDS)
    errors = [problem for problem in examination.problems if problem.severity == "error"]
    assert any((e.line, e.column) == (line, column) and message in e.message for e in errors), [
        str(e) for e in errors
    ]


@pytest.mark.parametrize(("old", "new", "nearest"), [
    ("& !nG", "& !nGG", "nG"), ("gives DEC.INT table", "gives DEC.INR table", "INT"),
    ("gives DEC.INT table", "gives DEX.INT table", "DEC"), ("U1 DEC", "U1 DEX", "DEC"),
])  # fmt: skip
def test_the_nearest_word_is_offered(old: str, new: str, nearest: str) -> None:
    errors = examine(TEXT.replace(old, new, 1), WORDS).problems
    assert nearest in {problem.nearest for problem in errors if problem.severity == "error"}


@given(data=st.data())
def test_a_table_and_its_equation_agree(data: st.DataObject) -> None:
    """Row by row, with the equation worked out by the solver's own arithmetic."""
    names = "ABCD"[: data.draw(st.integers(1, 4))]
    bits = "".join(data.draw(st.lists(st.sampled_from("01"), min_size=2 ** len(names),
                                      max_size=2 ** len(names))))  # fmt: skip
    words = [Word(text=text, spot=Spot()) for text in (*names, bits)]
    text = table_equation(words, names, Spot())
    for row, wanted in zip(itertools.product((0.0, 1.0), repeat=len(names)), bits, strict=True):
        levels = {name: np.asarray(level) for name, level in zip(names, row, strict=True)}
        assert float(evaluate(text, levels)) == float(wanted)


def test_a_bad_description_is_not_told_again_at_its_parts() -> None:
    problems = examine(TEXT.replace("DEC 74LS", "DEC 74L"), WORDS).problems
    assert [problem.line for problem in problems if problem.severity == "error"] == [4]


def test_a_description_without_signals_is_a_board_of_its_own() -> None:
    text = TEXT + "describe PLUG 74LS 1=P 2=Q\nX1 PLUG 1=X 2=Z\n"
    board = read_board(text, WORDS)
    assert isinstance(board.descriptions[1], Description)
    assert read_board(write_board(board, WORDS), WORDS) == board
