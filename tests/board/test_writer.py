"""A board made by a program reads back equal."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.board.small import SMALL

from halfsplit.board.model import (
    Board,
    Drive,
    OffSheet,
    Output,
    Part,
    Rail,
    Remarks,
    State,
    Step,
)
from halfsplit.board.reader import read_board
from halfsplit.board.writer import part_line, write_board
from halfsplit.errors import BoardError

NETS = st.sampled_from(["GND", "+5", "A", "B", "/RESET", "12V", "R/W", "5", "*x", "J2/1"])
SIZES = st.floats(min_value=1e-20, max_value=1e20)
TEXTS = st.text(
    alphabet=st.characters(codec="utf-8", exclude_categories=("C", "Z")) | st.just(" "),
    max_size=12,
).map(lambda text: text.strip())
NAMES = TEXTS.filter(lambda text: text and "[" not in text and "]" not in text)
REMARKS = st.builds(
    Remarks,
    spare=st.booleans(),
    price=st.none() | st.floats(min_value=0, max_value=1e6),
    irreplaceable=st.booleans(),
    socketed=st.booleans(),
    verified=st.booleans(),
    note=TEXTS,
)


def _some_pins(*names: str) -> st.SearchStrategy[dict[str, str]]:
    return st.dictionaries(st.sampled_from(names), NETS)


@st.composite
def parts(draw: st.DrawFn, designator: str) -> Part:
    """A part of one of six kinds."""
    letter = designator[0]
    remarks = draw(REMARKS)
    if letter == "R":
        return Part(
            designator=designator,
            kind="resistor",
            value=draw(st.none() | SIZES),
            tolerance=draw(st.none() | st.floats(min_value=0, max_value=9)),
            fields=draw(st.dictionaries(st.just("make"), NAMES)),
            pins=draw(_some_pins("1", "2")),
            remarks=remarks,
        )
    if letter == "Z":
        value = {"kind": "zener", "type": "1N4733", "value": 5.1}
        pins = {"a": draw(NETS), "k": draw(NETS)}
        return Part(designator=designator, pins=pins, remarks=remarks, **value)  # type: ignore[arg-type]  # a row of plain fields
    if letter == "Q":
        typed = draw(st.booleans())
        return Part(
            designator=designator,
            kind="darlington",
            type="TIP120" if typed else draw(st.sampled_from(["", "2SD560"])),
            fields={"gain": draw(st.sampled_from(["1000", "500"]))} if typed else {},
            pins=draw(_some_pins("c", "b", "e")),
            remarks=remarks,
        )
    if letter == "U":
        pins = draw(_some_pins("1", "2", "3", "7", "14"))
        implied = {}
        if draw(st.booleans()):
            implied = {"7": "GND", "14": "+5"}
        return Part(
            designator=designator,
            kind="74LS00",
            pins={**pins, **implied},
            implied=frozenset(implied),
            remarks=remarks,
        )
    pins = {"1": draw(NETS), **draw(_some_pins("2", "3", "A4", "40"))}
    roles = draw(st.dictionaries(st.sampled_from(sorted(pins)), st.sampled_from(["in", "oc"])))
    return Part(designator=designator, kind="controller", pins=pins, roles=roles, remarks=remarks)


@st.composite
def states(draw: st.DrawFn, name: str) -> State:
    """Steps that keep what earlier ones set, as every step does."""
    now: dict[str, str] = {}
    steps: list[Step] = []
    for _ in range(draw(st.integers(1, 3))):
        some = st.dictionaries(
            st.sampled_from(["A", "+5"]), st.sampled_from(["2.4V", "5V"]), min_size=len(steps) and 1
        )
        now = {**now, **draw(some)}
        steps.append(Step(drives=tuple(Drive(target=t, value=v) for t, v in now.items())))
    return State(name=name, steps=tuple(steps), powered=draw(st.booleans()), note=draw(TEXTS))


@st.composite
def boards(draw: st.DrawFn) -> Board:
    """Boards of up to six parts."""
    rails = (
        Rail(net="+5", volts=5.0, tolerance=draw(st.floats(0, 1)), ohms=draw(SIZES)),
        Rail(net="-12", volts=-draw(SIZES.filter(lambda volts: volts > 6))),
    )
    always = Part(designator="J2", kind="connector", pins={"1": "A"})
    letters = draw(st.lists(st.sampled_from("RZQUX"), max_size=5))
    return Board(
        title=draw(NAMES),
        revision=draw(TEXTS),
        rails=rails,
        parts=(always, *(draw(parts(f"{letter}{i}")) for i, letter in enumerate(letters))),
        states=tuple(draw(states(name)) for name in draw(st.lists(NAMES, unique=True, max_size=2))),
        offsheet=(
            OffSheet(net="A", what="load", ohms=draw(SIZES), net_to="+5"),
            OffSheet(net="A", what="load", family="74", count=draw(st.integers(1, 99))),
            OffSheet(net="A", what="drive", family="74LS"),
        ),
        outputs=(Output(name=draw(NAMES), measure="current", target="J2", threshold=draw(SIZES)),),
        testpoints={"TP1": "A"},
        notes=tuple(draw(st.lists(TEXTS, max_size=2))),
    )


@settings(max_examples=150, deadline=None)
@given(boards())
def test_reads_back_equal(board: Board) -> None:
    board = replace(board, notes=tuple(note.rstrip("\\ ") for note in board.notes))
    assert read_board(write_board(board, SMALL), SMALL) == board


def test_the_sample_reads_back_equal() -> None:
    text = Path(__file__).with_name("carriage.board").read_text(encoding="utf-8")
    board = read_board(text, SMALL)
    assert read_board(write_board(board, SMALL), SMALL) == board


def test_tidy() -> None:
    text = (
        'board "T" rev B\n\nrail +5 5V 5%\n\nR1 4k7 5% +5 A ; spare ; price 1.2\n'
        "Q1 TIP120 c=C b=A e=GND\nU1 74LS00 1=A 2=C 3=Y\nU2 controller 1=A out 2=C family=NMOS\n\n"
        'offsheet Y load 74LS 2\n\ntestpoint TP1 A\n\noutput "it pulls" current R1 above 100mA\n\n'
        "state rest A=low C=low\nstate go A=low C=low then C=high\n"
    )
    assert write_board(read_board(text, SMALL), SMALL) == text


def test_what_a_file_cannot_say_is_refused() -> None:
    part = Part(designator="R1", kind="resistor", value=1e3, pins={"1": "A B", "2": "C"})
    with pytest.raises(BoardError, match="written board:"):
        write_board(Board(title="T", parts=(part,)), SMALL)
    with pytest.raises(BoardError, match="a kind that this vocabulary lacks"):
        part_line(replace(part, kind="valve"), SMALL)
    steps = (
        Step(drives=(Drive(target="A", value="low"),)),
        Step(drives=(Drive(target="C", value="low"),)),
    )
    board = Board(
        title="T",
        parts=(replace(part, pins={"1": "A", "2": "C"}),),
        states=(State(name="s", steps=steps),),
    )
    with pytest.raises(BoardError, match="cannot be written as a board file: State"):
        write_board(board, SMALL)


def test_equal_boards_may_stand_on_other_lines() -> None:
    assert read_board("R1 1k A B", SMALL) == read_board("# x\n  R1 1k A B", SMALL)
    assert read_board("R1 1k A B", SMALL) != read_board("R1 1k A C", SMALL)
