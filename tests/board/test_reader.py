"""What a line means."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.board.small import SMALL

from halfsplit.board.model import Board, Part, Rail, Remarks
from halfsplit.board.reader import decode, examine, read_board
from halfsplit.errors import BoardError

CARRIAGE = Path(__file__).with_name("carriage.board").read_text(encoding="utf-8")


def read(text: str) -> Board:
    return read_board(text, SMALL)


def part(text: str, designator: str = "") -> Part:
    board = read("rail +5 5V\n" + text)
    found = board.part(designator) if designator else board.parts[0]
    assert found is not None
    return found


def drives(board: Board, name: str) -> list[dict[str, str]]:
    state = board.state(name)
    assert state is not None
    return [{drive.target: drive.value for drive in step.drives} for step in state.steps]


def test_forty_parts_in_sixty_lines() -> None:
    lines = [line for line in CARRIAGE.splitlines() if line.strip()]
    board = read(CARRIAGE)
    assert len(board.parts) >= 40
    assert len(lines) <= 60
    assert len(board.states) == 8
    assert len(board.outputs) == 6
    assert board.text == CARRIAGE


def test_title_revision_notes_ground_and_rails() -> None:
    board = read(
        'board "Carriage drive" rev B\nnote one; two # three\nground 0V\n'
        "rail +5 5V 5%\nrail -12 -12V 10% ohms=0.2\nR1 1k +5 0V\n"
    )
    assert (board.title, board.revision, board.ground) == ("Carriage drive", "B", "0V")
    assert board.notes == ("one; two # three",)
    assert board.rails == (
        Rail(net="+5", volts=5.0, tolerance=0.05),
        Rail(net="-12", volts=-12.0, tolerance=0.1, ohms=0.2),
    )


def test_title_without_quotes() -> None:
    board = read("board Carriage drive rev B2\nR1 1k A B")
    assert (board.title, board.revision) == ("Carriage drive", "B2")


def test_designator_implies_kind() -> None:
    found = part("R1 4k7 5% +5 PA")
    assert (found.kind, found.value, found.tolerance) == ("resistor", 4700.0, 0.05)
    assert found.pins == {"1": "+5", "2": "PA"}
    assert (found.spot.line, found.spot.column) == (2, 1)


def test_value_comes_first_even_when_a_net_looks_like_one() -> None:
    assert part("R1 10 +5 12").pins == {"1": "+5", "2": "12"}
    assert part("R1 ? +5 A").value is None


def test_kind_and_type_fold_case_nets_do_not() -> None:
    found = part("Q1 tip120 B=Ba c=cA e=GND")
    assert (found.kind, found.type) == ("darlington", "TIP120")
    assert found.fields == {"gain": "1000"}
    assert found.pins == {"b": "Ba", "c": "cA", "e": "GND"}


def test_type_number_ways() -> None:
    assert part("Q1 darlington TIP120 C B E").type == "TIP120"
    assert part("Q1 darlington C B E type=TIP120").fields == {"gain": "1000"}
    assert part("Q1 TIP120 C B E gain=500").fields == {"gain": "500"}
    other = part("Q1 darlington C B E type=2SD560")
    assert (other.kind, other.type, other.fields) == ("darlington", "2SD560", {})
    assert part("D1 1N4733 A K").value == 5.1


def test_bare_nets_go_to_the_pins_not_named() -> None:
    assert part("Q1 darlington b=B1 C1 -").pins == {"b": "B1", "c": "C1"}


def test_quantity_with_its_unit_sets_the_field() -> None:
    assert part("L1 winding 30 40mH A B").fields == {"inductance": "40mH"}
    assert part("R1 100 5W A B").fields == {"watts": "5W"}


def test_volts_are_a_field_only_when_there_is_one_net_too_many() -> None:
    rated = part("C1 100n 12V A GND")
    assert (rated.fields, rated.pins) == ({"volts": "12V"}, {"1": "A", "2": "GND"})
    assert part("C1 100n 12V GND").pins == {"1": "12V", "2": "GND"}


def test_power_pins_are_implied_and_an_explicit_pin_wins() -> None:
    found = part("U1 74LS00 1=A 2=B 3=Y")
    assert found.pins == {"1": "A", "2": "B", "3": "Y", "7": "GND", "14": "+5"}
    assert found.implied == {"7", "14"}
    found = part("U1 74LS00 1=A 14=VCC 7=-")
    assert found.pins == {"1": "A", "14": "VCC"}
    assert found.implied == frozenset()


def test_five_volts_is_preferred_among_rails_that_fit() -> None:
    board = read("rail +5 5V\nrail VB 4.8V\nU1 74LS00 1=A")
    assert board.parts[0].pins["14"] == "+5"


def test_pins_by_other_name() -> None:
    assert part("U1 74LS00 1=A aout=Y").pins["3"] == "Y"


def test_controller_roles_and_fields() -> None:
    found = part("U1 controller 1=X out 21=PHA 22=PHB in 39=HOME IO 7=DAT family=NMOS")
    assert found.pins == {"1": "X", "21": "PHA", "22": "PHB", "39": "HOME", "7": "DAT"}
    assert found.roles == {"21": "out", "22": "out", "39": "in", "7": "io"}
    assert found.fields == {"family": "NMOS"}


def test_unknown_is_always_a_kind() -> None:
    assert part("U9 unknown 1=A 2=B").kind == "unknown"


def test_grid_designators() -> None:
    assert part("3F 74LS00 1=A").designator == "3F"


def test_remarks() -> None:
    found = part(
        'R1 1k A B ; spare; price 1.20; socketed verified ; irreplaceable ; note 8" drive, x=1 # c'
    )
    assert found.remarks == Remarks(
        spare=True,
        price=1.2,
        irreplaceable=True,
        socketed=True,
        verified=True,
        note='8" drive, x=1',
    )
    assert part('R1 1k A B ; note "a; b # c" ; spare').remarks == Remarks(
        spare=True, note="a; b # c"
    )


def test_comments_tabs_and_blanks_round_the_equal_sign() -> None:
    found = part("# all\n\tQ1\tTIP120  b = B  c =C e= GND  # done")
    assert found.pins == {"b": "B", "c": "C", "e": "GND"}
    assert part("R1 1k RESET# A").pins == {"1": "RESET#", "2": "A"}


def test_continuation_keeps_lines_and_columns() -> None:
    text = "J1 1=A \\\n  2=B \\\n  2=C\n"
    with pytest.raises(BoardError, match=r"board:3:3: error: pin 2 is typed twice"):
        read(text)


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_endings_and_byte_order_mark(ending: str) -> None:
    board = read("\ufeffrail +5 5V" + ending + "R1 1k +5 A" + ending)
    assert (board.rails[0].spot.line, board.rails[0].spot.column) == (1, 6)
    assert board.parts[0].pins == {"1": "+5", "2": "A"}
    assert board.parts[0].spot.line == 2


def test_offsheet_testpoint_output() -> None:
    board = read(
        "rail +5 5V\nR1 1k +5 A\nR2 1k B C\n"
        "offsheet A load 74ls 2\noffsheet B drive 74LS\noffsheet C unknown\n"
        "offsheet A load 10k +5\n"
        'testpoint TP1 A\noutput "it pulls" current R1 above 100mA\n'
        "output seen level B\noutput +5V volts +5 above 4.5\n"
    )
    assert [(o.what, o.family, o.count, o.ohms, o.net_to) for o in board.offsheet] == [
        ("load", "74LS", 2, None, ""),
        ("drive", "74LS", 1, None, ""),
        ("unknown", "", 1, None, ""),
        ("load", "", 1, 10e3, "+5"),
    ]
    assert board.testpoints == {"TP1": "A"}
    assert [(o.name, o.measure, o.target, o.threshold) for o in board.outputs] == [
        ("it pulls", "current", "R1", 0.1),
        ("seen", "level", "B", 0.0),
        ("+5V", "volts", "+5", 4.5),
    ]


def test_states() -> None:
    board = read(
        "rail +5 5V\nR1 1k +5 CLK\nR2 1k PHA PHB\nSW1 CLK GND\nJ1 1=PHA\n"
        "state rest PHA=low PHB=LOW ; note all off\n"
        "state hold like rest PHA=high pulse CLK then PHB=2.4V\n"
        "state twice CLK=low pulse CLK 2\n"
        "state out like rest J1=out SW1=closed +5=off\n"
        "state cold rails=off\nstate colder like cold PHA=low\nstate warm like cold rails=on\n"
    )
    rest = {"PHA": "low", "PHB": "low"}
    high = {"PHA": "high", "PHB": "low"}
    assert drives(board, "rest") == [rest]
    assert drives(board, "hold") == [
        high,
        {**high, "CLK": "low"},
        {**high, "CLK": "high"},
        {**high, "CLK": "low"},
        {**high, "CLK": "low", "PHB": "2.4V"},
    ]
    assert [step["CLK"] for step in drives(board, "twice")] == [
        *["low", "low", "high", "low"],
        *["low", "high", "low"],
    ]
    assert drives(board, "out") == [{**rest, "J1": "out", "SW1": "closed", "+5": "off"}]
    assert [(s.name, s.powered, s.note) for s in board.states] == [
        ("rest", True, "all off"),
        ("hold", True, ""),
        ("twice", True, ""),
        ("out", True, ""),
        ("cold", False, ""),
        ("colder", False, ""),
        ("warm", True, ""),
    ]
    assert drives(board, "cold") == [{}]


def test_lines_may_come_in_any_order() -> None:
    assert read("state s A=low\nU1 74LS00 1=A\nrail +5 5V\n").parts[0].pins["14"] == "+5"


def test_far_side_of_a_connector() -> None:
    board = read("J2 1=C 5=+24\nL1 winding 30 J2/1 J2/5\nR1 1k R/W C\nstate s R/W=low\n")
    assert board.parts[1].pins == {"1": "J2/1", "2": "J2/5"}


def test_four_hundred_nets() -> None:
    text = "".join(f"R{i} 1k N{i} N{i + 1}\n" for i in range(400))
    board = read(text)
    assert len(board.parts) == 400
    assert len(board.nets()) == 401


def test_best_effort_leaves_bad_lines_out_and_does_not_blame_what_leans_on_them() -> None:
    examination = examine(
        "R1 4x A B\nR2 1k C D\ntestpoint TP1 A\ntestpoint TP2 C\nstate s A=low\nstate t C=low\n"
        "state u like s D=low\noutput x current R1 above 1A\n",
        SMALL,
    )
    assert not examination.good
    assert [problem.line for problem in examination.problems] == [1]
    unclosed = examine('R1 1k A "B\nR2 1k C D\ntestpoint TP1 A\n', SMALL)
    assert [problem.line for problem in unclosed.problems] == [1]
    board = examination.board
    assert board is not None
    assert [part.designator for part in board.parts] == ["R2"]
    assert board.testpoints == {"TP2": "C"}
    assert [state.name for state in board.states] == ["t"]
    assert board.outputs == ()


def test_decode() -> None:
    assert decode("R1 4k7 Ω".encode()) == "R1 4k7 Ω"
    with pytest.raises(BoardError, match=r"file:2:4: error: expected text in UTF-8, got .* 0xFF"):
        decode(b"abc\nR1 \xff", source="file")
