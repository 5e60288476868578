"""Like channels typed once."""

from __future__ import annotations

import pytest
from tests.board.small import SMALL

from halfsplit.board.brackets import BracketError, expand
from halfsplit.board.reader import read_board


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("R1", ["R1"]),
        ("R[1-4]", ["R1", "R2", "R3", "R4"]),
        ("PH[A-C]", ["PHA", "PHB", "PHC"]),
        ("[1,4,10,13]", ["1", "4", "10", "13"]),
        ("D[08-11]", ["D08", "D09", "D10", "D11"]),
        ("A[3-1]", ["A3", "A2", "A1"]),
        ("[1-2,7]x", ["1x", "2x", "7x"]),
        ("J[1-2]/[5,6]", ["J1/5", "J2/6"]),
        ("[+5,+12]", ["+5", "+12"]),
    ],
)
def test_expand(text: str, words: list[str]) -> None:
    assert expand(text) == words


@pytest.mark.parametrize("text", ["R[1-4", "R1]", "R[]", "R[a-4]", "R[1-999]", "[1-2][1-3]", "[-]"])
def test_refused(text: str) -> None:
    with pytest.raises(BracketError):
        expand(text)


def test_line_expands_in_lockstep_when_its_designator_has_brackets() -> None:
    board = read_board(
        "rail +5 5V\nR[1-4] resistor 1k 5% +5 PH[A-D] ; spare\nQ[1-4] TIP120 b=PH[A-D] c=C e=GND\n",
        SMALL,
    )
    assert [(p.designator, *p.pins.values()) for p in board.parts[:4]] == [
        ("R1", "+5", "PHA"),
        ("R2", "+5", "PHB"),
        ("R3", "+5", "PHC"),
        ("R4", "+5", "PHD"),
    ]
    assert all(part.remarks.spare for part in board.parts[:4])
    assert board.parts[7].pins == {"b": "PHD", "c": "C", "e": "GND"}


def test_tokens_expand_on_their_own_when_the_designator_has_none() -> None:
    board = read_board(
        "rail +5 5V\nU3 74LS38 [1,4,10,13]=PH[A-D] [2,5,9,12]=EN [3,6,8,11]=DR[A-D]\n", SMALL
    )
    pins = board.parts[0].pins
    assert [pins[p] for p in ("1", "4", "10", "13")] == ["PHA", "PHB", "PHC", "PHD"]
    assert {pins[p] for p in ("2", "5", "9", "12")} == {"EN"}
    assert [pins[p] for p in ("3", "6", "8", "11")] == ["DRA", "DRB", "DRC", "DRD"]


def test_other_lines_expand_too() -> None:
    board = read_board(
        "R[1-4] 1k PH[A-D] GND\n"
        "testpoint TP[1-4] PH[A-D]\noffsheet PH[A-D] drive 74LS\n"
        'output "phase [A-D]" current R[1-4] above 1mA\n'
        "state rest PH[A-D]=low\nstate hold-[A-D] like rest PH[A-D]=high\n",
        SMALL,
    )
    assert board.testpoints == {"TP1": "PHA", "TP2": "PHB", "TP3": "PHC", "TP4": "PHD"}
    assert [o.net for o in board.offsheet] == ["PHA", "PHB", "PHC", "PHD"]
    assert [(o.name, o.target) for o in board.outputs] == [
        ("phase A", "R1"),
        ("phase B", "R2"),
        ("phase C", "R3"),
        ("phase D", "R4"),
    ]
    assert [state.name for state in board.states] == [
        "rest",
        "hold-A",
        "hold-B",
        "hold-C",
        "hold-D",
    ]
    assert [d.value for d in board.states[2].steps[0].drives] == ["low", "high", "low", "low"]
