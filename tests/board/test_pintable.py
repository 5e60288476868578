"""A table of pins and nets made into a board, and a board entered by its continuity."""

import random

import pytest

from halfsplit.board.buzz import Sweep, bare_parts, toned
from halfsplit.board.pintable import board_of_table
from halfsplit.board.reader import read_board
from halfsplit.parts.vocabulary import PartsVocabulary

WORDS = PartsVocabulary()
ROWS = [
    ("R1", "4k7", "1", "+5"),
    ("R1", "4k7", "2", "OUT"),
    ("Q1", "2N2222", "c", "OUT"),
    ("Q1", "2N2222", "b", "IN"),
    ("Q1", "2N2222", "e", "GND"),
    ("U1", "74LS00", "1", "OUT"),
    ("U1", "74LS00", "2", "+5"),
    ("U1", "74LS00", "3", "IN"),
]
HEADS = ("Designator", "Value", "Pin", "Net")


def nets(text: str) -> dict[str, set[tuple[str, str]]]:
    board = read_board("rail +5 5V\n" + text, WORDS)
    return {
        net: {(part, pin) for part, pin in pins if (part, pin) not in IMPLIED}
        for net, pins in board.nets().items()
    }


IMPLIED = {("U1", "14"), ("U1", "7")}


@pytest.mark.parametrize("sign", ["\t", ";", ","])
@pytest.mark.parametrize("heads", [True, False])
def test_a_table_comes_back_as_the_same_nets(sign: str, heads: bool) -> None:
    rows = [HEADS, *ROWS] if heads else ROWS
    made = board_of_table("\r\n".join(sign.join(row) for row in rows), WORDS)
    assert made.remarks == ()
    expected: dict[str, set[tuple[str, str]]] = {}
    for part, _, pin, net in ROWS:
        expected.setdefault(net, set()).add((part, pin))
    assert nets(made.text) == expected


def test_columns_may_stand_anywhere_and_nets_are_made_fit() -> None:
    made = board_of_table("net\tpin\tref\nA B\t1\tR1\nGND\t2\tR1\n\t\tR1\nX\t1\t??\n", WORDS)
    assert made.text == "R1 ? 1=A_B 2=GND\n"
    assert [(one.row, one.words) for one in made.remarks] == [
        (2, "net 'A B' is called A_B"),
        (4, "R1: expected a pin, got nothing"),
        (5, "expected a designator such as R7, got '??'"),
    ]


def test_a_pin_on_two_nets_is_pointed_out_and_the_first_stays() -> None:
    made = board_of_table("U9\t1\tA\nU9\t1\tB", WORDS)
    assert made.text == "U9 unknown 1=A\n"
    assert "U9.1 is on A already" in made.remarks[0].words


@pytest.mark.parametrize("table", ["", "one\ttwo", "\0\0\0", "a,b,c,d,e\n" * 3])
def test_what_is_no_table_makes_no_parts(table: str) -> None:
    made = board_of_table(table, WORDS)
    assert made.text == ""
    assert made.remarks


PARTS = "U1 74LS00\nR1 4k7\nQ1 2N2222 # inverter\nJ1 connector 3\n"
WIRED = {
    "GND": ("U1.7", "Q1.e", "J1.3"),
    "+5": ("U1.14", "R1.1", "J1.1"),
    "N": ("U1.1", "U1.2", "Q1.c", "R1.2"),
    "B": ("U1.3", "Q1.b"),
}
"""A board wired by hand: what a meter would say of it."""


def heard(pin: str) -> tuple[str, ...]:
    return next((tuple(p for p in pins if p != pin) for pins in WIRED.values() if pin in pins), ())


def test_sweeps_find_every_net_with_one_question_each() -> None:
    parts, wrong = bare_parts(PARTS, WORDS)
    assert wrong == ()
    sweeps: list[Sweep] = []
    while (ask := toned(parts, sweeps, WORDS).ask) and len(sweeps) < 50:
        sweeps.append(Sweep(pin=ask, others=heard(ask)))
    found = toned(parts, sweeps, WORDS)
    assert {frozenset(pins) for pins in found.nets.values()} == {
        frozenset(pins) for pins in WIRED.values()
    }
    assert found.conflicts == ()
    pins = sum(len(part.pins) for part in parts)
    lone = pins - sum(map(len, WIRED.values()))
    assert len(sweeps) == len(WIRED) + lone
    assert "GND" in found.nets
    assert "Q1 2N2222 c=" in found.text


def test_the_order_of_sweeps_does_not_matter() -> None:
    parts, _ = bare_parts(PARTS, WORDS)
    pins = [pin for group in WIRED.values() for pin in group]
    for seed in range(10):
        random.Random(seed).shuffle(pins)
        found = toned(parts, [Sweep(pin=pin, others=heard(pin)) for pin in pins], WORDS)
        assert {frozenset(one) for one in found.nets.values()} == set(
            map(frozenset, WIRED.values())
        )
        assert found.conflicts == ()


def test_a_beep_that_was_not_heard_before_is_a_conflict() -> None:
    parts, _ = bare_parts(PARTS, WORDS)
    found = toned(
        parts,
        [Sweep(pin="U1.7", others=("Q1.e",)), Sweep(pin="J1.3", others=("U1.7",), net="0V")],
        WORDS,
    )
    (said,) = found.conflicts
    assert "U1.7 beeps with J1.3 now" in said
    assert set(found.nets["0V"]) == {"U1.7", "Q1.e", "J1.3"}


def test_a_fuse_that_beeps_through_itself_is_pointed_out() -> None:
    parts, _ = bare_parts("F1 fuse 2A\nR1 1k", WORDS)
    found = toned(parts, [Sweep(pin="F1.1", others=("F1.2", "R1.1"))], WORDS)
    assert "F1 beeps through itself (fuse)" in found.conflicts[0]


def test_parts_that_cannot_be_understood_are_said_by_line() -> None:
    parts, wrong = bare_parts("Q1\nR1 1k\nR1 2k\nJ1 connector\n\nxx", WORDS)
    assert [part.designator for part in parts] == ["R1"]
    assert [words.split(":")[0] for words in wrong] == ["line 1", "line 3", "line 4", "line 6"]
