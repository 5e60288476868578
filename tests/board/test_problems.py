"""Each error at its exact line and column, with what was expected and the nearest word."""

from __future__ import annotations

import pytest
from tests.board.small import SMALL

from halfsplit.board.reader import examine, read_board
from halfsplit.errors import BoardError

RAIL = "rail +5 5V\n"

CASES = [
    # the file as a whole
    ("", 0, 0, "the file says nothing", None),
    ("# only a comment\n\n", 0, 0, "the file says nothing", None),
    ("\x7fELF\0\0", 0, 0, "expected a board file (text), got binary data", None),
    ("R1 1k A \x07", 1, 9, "expected text, got the character U+0007", None),
    ("R1 " + "x" * 20000, 1, 1, "line of 20003 characters; expected 10000 at most", None),
    # cutting a line up
    ('board "Drive', 1, 7, "this quote is not closed", None),
    ("R1 1k = A", 1, 4, "or ?, got '1k=A'", None),
    ("R1 = A", 1, 1, "expected a designator such as R1", None),
    ("R1 1k A b=", 1, 10, "expected a net or a value after b=", None),
    ("= A", 1, 1, "expected a name before =", None),
    ("; spare", 1, 1, "expected a designator or a line word before ;", None),
    ("R1 1k A \\", 1, 9, "the file ends after \\", None),
    # the head of a line
    ("stat rest", 1, 1, "expected a designator such as R1, or a line word, got 'stat'", "state"),
    ("R1 1k A B\nR1 1k C D", 2, 1, "R1 is already on line 1", None),
    # brackets
    ("R[1-4 1k A B", 1, 1, "brackets of 'R[1-4' do not pair up", None),
    ("R[1-4] 1k A B[A-C]", 1, 13, "'B[A-C]' has 3 items; expected 4", None),
    ("J1 [1-3]=A[1-2]", 1, 4, "has 3 before = and 2 after it", None),
    ("J1 [1-x]=A", 1, 4, "cannot count [1-x]", None),
    # kind and value
    ("U1 74LS0 1=A", 1, 4, "expected a kind of part or a type number after U1", "74LS00"),
    ("U1", 1, 1, "expected a kind of part or a type number after U1", None),
    ("R1 4k7x A B", 1, 4, "expected a value in Ω, a kind of part or a type number", None),
    ("R1 10kk A B", 1, 4, "a type number after R1, got '10kk'", None),
    ("Z1 BZQ17 A B", 1, 4, "not known goes behind its kind, as type=BZQ17", None),
    ("R1 resistr 1k A B", 1, 4, "got 'resistr'", "resistor"),
    ("D1 1N4005 A K", 1, 4, "expected a kind of part or a type number, got '1N4005'", "1N4004"),
    ("R1 resistor A B", 1, 13, "expected a value in Ω such as 4k7, or ?, got 'A'", None),
    ("R1 resistor", 1, 1, "got nothing after resistor", None),
    ("R1 -5 A B", 1, 4, "got '-5', which no resistor has", None),
    ("R1 0 A B", 1, 4, "got '0', which no resistor has", None),
    ("R1 4k7 5x% A B", 1, 8, "expected a percentage such as 5%", None),
    ("R1 4k7 5% 1% A B", 1, 11, "the tolerance is typed twice", None),
    ("SW1 5% A B", 1, 5, "a switch has no value, so no tolerance", None),
    # nets and pins
    ("R1 1k A", 1, 7, "expected a net (or -) for pin 2 of resistor", None),
    ("R1 1k A B C", 1, 11, "expected 2 nets for the pins of resistor, got 3", None),
    ("C1 100 nF A B", 1, 8, "expected the value in one piece, such as 100nF", None),
    ("R1 1k A, B", 1, 7, "a net's name has no ','", None),
    ("R1 1k A 0", 1, 9, "expected a net, got '0'", None),
    (RAIL + "U1 74LS00 15=A", 2, 11, "74LS00 has no pin '15'; its pins are 1 to 14", None),
    (RAIL + "U1 74LS00 1=A 1=B", 2, 15, "pin 1 is typed twice", None),
    (RAIL + "U1 74LS00 A B C", 2, 15, "to leave pins out, type the others as pin=net", None),
    ("U1 controller 21", 1, 15, "expected pin=net or in, out", None),
    ("U1 controller 1,2=A", 1, 15, "several go in brackets: [1,2]=NET", None),
    ("R1 1k A B wats=1", 1, 11, "resistor has no pin or field 'wats'", "watts"),
    ("R1 1k A B watts=x", 1, 17, "watts: expected a quantity in W", None),
    ("R1 1k A B watts=1 watts=2", 1, 19, "watts is typed twice", None),
    ("D1 A K type=TIP120", 1, 13, "TIP120 is a darlington", None),
    ("Q1 TIP120 C B E type=TIP120", 1, 22, "the type number is typed twice", None),
    # power
    ("U1 74LS00 1=A", 1, 1, "type a line such as rail +5 5V, or 14=NET", None),
    (RAIL + "rail VCC 5V\nU1 74LS00 1=A", 3, 1, "got +5, VCC; type e.g. 14=+5", None),
    # remarks
    ("R1 1k A B ; spair", 1, 13, "expected a remark", "spare"),
    ("R1 1k A B ; price", 1, 13, "expected an amount after price", None),
    ("R1 1k A B ; price x", 1, 19, "expected an amount such as 1.20, got 'x'", None),
    ("R1 1k A B ; spare ; spare", 1, 21, "spare is typed twice", None),
    ("rail +5 5V ; spare", 1, 14, "remarks after ; go on the line of a part or a state", None),
    # other lines
    ("board", 1, 1, "expected a title", None),
    ('board "A"\nboard "B"', 2, 1, "board is already on line 1", None),
    ('board "A" rev', 1, 11, "expected a revision after rev", None),
    ("ground A\nground B", 2, 1, "ground is already on line 1", None),
    ("ground A B", 1, 10, "expected the end of the line, got 'B'", None),
    ("rail", 1, 1, "expected a net (rail)", None),
    ("rail +5", 1, 6, "expected the rail's voltage such as 5V", None),
    ("rail +5 5x", 1, 9, "expected the rail's voltage such as 5V or -12V, got '5x'", None),
    ("rail +5 0V", 1, 9, "expected a voltage that is not 0", None),
    ("rail GND 5V", 1, 6, "GND is ground", None),
    (RAIL + "rail +5 6V", 2, 6, "rail +5 is already on line 1", None),
    ("rail +5 5V ohms=-1", 1, 17, "expected more than 0 Ω", None),
    ("rail +5 5V ohms=x", 1, 17, "expected a quantity in Ω", None),
    ("rail +5 5V x", 1, 12, "expected a tolerance (5%) or ohms=0.05, got 'x'", None),
    ("R1 1k ABC B\noffsheet ABD unknown", 2, 10, "expected a net of this board", "ABC"),
    ("R1 1k A B\noffsheet A driv 74LS", 2, 12, "expected drive or load or unknown", "drive"),
    ("R1 1k A B\noffsheet A drive 74LSX", 2, 18, "expected a logic family", "74LS"),
    ("R1 1k A B\noffsheet A load 74LS 0", 2, 22, "expected at least one input", None),
    ("R1 1k A B\noffsheet A load 74LS x", 2, 22, "expected how many inputs", None),
    ("R1 1k A B\noffsheet A load -1k B", 2, 17, "expected more than 0 Ω", None),
    ("R1 1k A B\noffsheet A load zz B", 2, 17, "expected a logic family or a resistance", None),
    ("R1 1k A B\ntestpoint TP1", 2, 11, "expected a net (testpoint) after 'TP1'", None),
    ("R1 1k A B\ntestpoint T A\ntestpoint T B", 3, 11, "test point T is already on line 2", None),
    ("R1 1k A HOME\ntestpoint T HOM", 2, 13, "expected a net of this board", "HOME"),
    ("R10 1k A B\noutput x current R20 above 1A", 2, 18, "expected a part of this board", "R10"),
    ("R1 1k A B\noutput x curent R1 above 1A", 2, 10, "expected current or volts", "current"),
    ("R1 1k A B\noutput x volts A over 1", 2, 18, "expected above, got 'over'", "above"),
    ("R1 1k A B\noutput x volts A above z", 2, 24, "expected a threshold such as 11.4", None),
    ("R1 1k A B\noutput x level A\noutput x level B", 3, 8, "output 'x' is already on", None),
    ("J2 connector 1=A\nR1 1k A J2/7", 2, 1, "J2 has no pin 7 typed", None),
    # states
    ("R1 1k A B\nstate", 2, 1, "expected a name after state", None),
    ("R1 1k A B\nstate s A=low\nstate s A=low", 3, 7, "state s is already on line 2", None),
    ("R1 1k HOME B\nstate s HOM=low", 2, 9, "expected a net, rail or part", "HOME"),
    ("R1 1k A B\nstate s A=hi", 2, 11, "expected A=low, high, open or a voltage", "high"),
    ("R1 1k A B\nstate s A=1", 2, 11, "a voltage such as 2.4V; got '1'", None),
    ("R1 1k A B\nstate s R1=open", 2, 9, "a state cannot set R1, a resistor", None),
    ("R1 1k A GND\nstate s GND=low", 2, 9, "a state cannot set GND, which is ground", None),
    ("SW1 A B\nstate s SW1=close", 2, 13, "expected SW1=closed, open; got 'close'", "closed"),
    ("R1 1k A B\nstate s A=low like t", 2, 15, "like comes first", None),
    ("R1 1k A B\nstate rest A=low\nstate t like res", 3, 14, "expected a state typed", "rest"),
    ("R1 1k A B\nstate s like", 2, 9, "expected a state after like", None),
    ("R1 1k A B\nstate s pulse", 2, 9, "expected a net after pulse", None),
    ("R1 1k CLK B\nstate s pulse CLX", 2, 15, "expected a net, rail or part", "CLK"),
    ("R1 1k A B\nstate s pulse A 0", 2, 17, "expected 1 to 1364 pulses", None),
    ("R1 1k A B\nstate s A=low then", 2, 15, "expected something to set after then", None),
    ("R1 1k A B\nstate s A=low then then A=high", 2, 20, "between then and then", None),
    ("R1 1k A B\nstate s A=low pulze A", 2, 15, "expected NET=low or the like", "pulse"),
    ("R1 1k A B\nstate s rails=of", 2, 15, "expected rails=on or rails=off", "off"),
    ("R1 1k A B\nstate s A=low ; spare", 2, 17, "expected note and its text after ;", None),
]


@pytest.mark.parametrize(("text", "line", "column", "message", "hint"), CASES)
def test_error(text: str, line: int, column: int, message: str, hint: str | None) -> None:
    problems = examine(text, SMALL).problems
    shown = "\n".join(str(problem) for problem in problems)
    assert len(problems) == 1, shown
    assert (problems[0].line, problems[0].column) == (line, column), shown
    assert message in problems[0].message, shown
    assert problems[0].severity == "error"
    assert problems[0].nearest == hint, shown
    with pytest.raises(BoardError):
        read_board(text, SMALL)


def test_all_errors_come_at_once_in_order() -> None:
    with pytest.raises(BoardError) as caught:
        read_board("state s X=low\nR1 1k A\nrail +5\nU1 nothing\n", SMALL, source="x.board")
    assert [problem.line for problem in caught.value.problems] == [1, 2, 3, 4]
    assert str(caught.value).startswith("x.board:1:9: error: ")


def test_an_error_in_a_group_is_told_once() -> None:
    assert len(examine("R[1-4] 4x A[A-D] B", SMALL).problems) == 1


def test_a_pin_that_looks_like_a_field_is_asked_about() -> None:
    examination = examine("U1 controller 1=A famly=NMOS", SMALL)
    assert examination.good
    (problem,) = examination.problems
    assert (problem.severity, problem.column, problem.nearest) == ("warning", 19, "family")


def test_junk_of_many_lines_is_quick() -> None:
    text = "".join(f"zz{i}zz yy xx ww\n" for i in range(3000))
    assert len(examine(text, SMALL).problems) == 3000
