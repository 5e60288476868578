"""Each warning at its exact line and column."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.board.small import SMALL

from halfsplit.board.lint import warnings
from halfsplit.board.model import Board, Part
from halfsplit.board.reader import read_board

TAIL = '\nboard "T"\nstate s\noutput o current R99 above 1A\nR99 1k Z GND\nR98 1k Z GND\n'
"""Lines that leave nothing to ask about."""

CASES = [
    ("R1 1k Z N1", 1, 9, "net N1 has one pin only, R1.2"),
    ("rail +5 5V", 1, 6, "rail +5 feeds nothing"),
    (
        "rail +5 5V\nU1 74LS00 [1,2,4,5,9,10,12,13]=Z [8,11]=Z",
        2,
        41,
        "outputs tied together on net Z: U1.8, U1.11",
    ),
    (
        "rail +5 5V\nR1 1k X Z\nU1 74LS00 [1,2,4,5,9,10,12,13]=Z 3=X\n"
        "U2 74LS38 [1,2,4,5,9,10,12,13]=Z 3=X",
        3,
        36,
        "outputs tied together on net X: U1.3, U2.3",
    ),
    (
        "rail +5 5V\nR1 1k X Z\noffsheet X drive 74LS\nU1 74LS00 [1,2,4,5,9,10,12,13]=Z 3=X",
        4,
        36,
        "U1.3, an off-sheet drive",
    ),
    (
        "rail +5 5V\nU1 74LS00 [1,2,4,5,9,10,12,13]=Z 3=+5",
        2,
        36,
        "output U1.3 is tied to +5, a supply",
    ),
    ("rail +5 5V\nU1 74LS00 [1,2]=X [4,5,9,10,12,13]=Z", 2, 17, "nothing drives net X"),
    (
        "rail +5 5V\nU1 74LS00 [1,2]=X [4,5,9,10,12,13]=Z\noffsheet X load 74LS 1",
        2,
        17,
        "nothing drives net X",
    ),
    (
        "rail +5 5V\nU1 74LS38 [1,2,4,5,9,10]=Z 3=X [12,13]=X",
        2,
        30,
        "nothing pulls net X up, which open-collector output U1.3",
    ),
    ("rail +5 5V\nU1 74LS00 1=Z [4,5,9,10,12,13]=Z", 2, 1, "input U1.2 is not connected"),
    ("rail +5 5V\nU1 74LS00 [1,2,4,5,9,10]=Z", 2, 1, "unit d of U1 (pins 11, 12, 13) is not typed"),
    (
        "rail +5 5V\nR1 1k +5 Z\nU1 74LS00 [1,2,4,5,9,10,12,13]=Z 14=-",
        3,
        1,
        "supply pin 14 of U1 is not connected",
    ),
    ("R1 1k Z Z", 1, 7, "R1 has all its pins on one net, Z"),
    (
        "rail +5 5V\nW1 wire +5 M\nW2 wire M GND",
        3,
        11,
        "W2 joins +5 to GND: a short circuit",
    ),
    ("R1 1k X GND\nR2 1k X GND\nstate t X=low", 3, 9, "a state sets net X, which no output"),
    ("R1 1k Home GND\nR2 1k HOME GND\nR3 1k Home HOME", 2, 7, "nets Home and HOME differ only"),
    ("r99 1k Z GND", 1, 1, "R99 and r99 differ only in capitals"),
    ("R1 1k J9/1 GND\nR2 1k J9/1 GND", 1, 7, "there is no J9 on this board"),
]


@pytest.mark.parametrize(("text", "line", "column", "message"), CASES)
def test_warning(text: str, line: int, column: int, message: str) -> None:
    found = warnings(read_board(text + TAIL, SMALL), SMALL)
    if "r99" in text:
        line, column = 5, 1
    shown = "\n".join(str(problem) for problem in found)
    assert len(found) == 1, shown
    assert (found[0].line, found[0].column) == (line, column), shown
    assert message in found[0].message or "r99 and R99" in found[0].message, shown
    assert found[0].severity == "warning"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "rail +5 5V\nR1 1k +5 X\nU1 74LS38 [1,2,4,5,9,10,12,13]=Z [3,6]=X",
        "rail +5 5V\nU1 74LS125 [1,2,4,5,9,10,12,13]=Z [3,6]=X 8=X",
        "rail +5 5V\nR1 1k +5 X\noffsheet X drive 74LS\nstate t X=low",
        "R1 1k X Z\noffsheet X unknown",
        "R1 1k X Z\ntestpoint TP1 X",
        "R1 1k X Z\noutput p volts X above 1",
        "J1 1=Z\nR1 1k J1/1 Z",
        "J1 1=GND 2=GND",
        "U1 controller out 1=X in 2=Z\nR1 1k X Z\nstate t X=high",
        "rail +5 5V\nU1 74LS00 [1,2]=X [4,5,9,10,12,13]=Z\noffsheet X drive 74LS",
    ],
)
def test_nothing_to_ask(text: str) -> None:
    found = warnings(read_board(text + TAIL, SMALL), SMALL)
    assert found == (), "\n".join(str(problem) for problem in found)


def test_a_board_hardly_begun() -> None:
    found = warnings(read_board("note hello", SMALL), SMALL)
    assert [problem.message.split(";")[0] for problem in found] == [
        "no title",
        "no parts",
        "no states",
        "no outputs",
    ]
    assert {(problem.line, problem.column) for problem in found} == {(0, 0)}


def test_ground_under_another_name() -> None:
    found = warnings(read_board(TAIL.replace("GND", "0V"), SMALL), SMALL)
    assert any("nothing is on ground (GND)" in problem.message for problem in found)


def test_boards_made_by_a_program_are_held_to_the_same() -> None:
    part = Part(designator="U1", kind="74LS00", pins={"15": "A"})
    found = warnings(Board(title="T", parts=(part, part)), SMALL)
    errors = [problem.message for problem in found if problem.severity == "error"]
    assert errors[0].startswith("U1 is on this board twice")
    assert errors[1].startswith("74LS00 has no pin 15; its pins are 1, 2, 3")


def test_the_sample_raises_no_question() -> None:
    text = Path(__file__).with_name("carriage.board").read_text(encoding="utf-8")
    found = warnings(read_board(text, SMALL), SMALL)
    assert found == (), "\n".join(str(problem) for problem in found)
