"""Blocks in the board file: their line, what a state says of them, loops, and opening."""

import pytest

from halfsplit.board.feedback import feedback
from halfsplit.board.lint import warnings
from halfsplit.board.model import Board
from halfsplit.board.opening import opened
from halfsplit.board.reader import examine, read_board
from halfsplit.board.writer import write_board
from halfsplit.errors import BoardError, UnknownName
from halfsplit.parts.vocabulary import PartsVocabulary

WORDS = PartsVocabulary()
CHAIN = """\
board "three"
B1 block "clock" out 1=CLK
B2 block "by ten" in 1=CLK out 2=DIV  # the usual suspect
B3 block in 1=DIV out 2=OUT does=inverts parts=4
output "end" right OUT
state run CLK=pulses DIV=low
"""


def read(text: str) -> Board:
    return read_board(text, WORDS)


def told(text: str) -> str:
    return " | ".join(problem.message for problem in warnings(read(text), WORDS))


def test_a_block_line() -> None:
    board = read(CHAIN)
    clock, _, last = board.parts
    assert clock.kind == "block"
    assert clock.fields["title"] == "clock"
    assert dict(last.pins) == {"1": "DIV", "2": "OUT"}
    assert dict(last.roles) == {"1": "in", "2": "out"}
    assert board.outputs[0].measure == "right"
    assert not warnings(board, WORDS)


def test_it_is_written_as_it_reads() -> None:
    assert read(write_board(read(CHAIN), WORDS)) == read(CHAIN)


def test_pulses_are_for_what_a_block_gives() -> None:
    found = examine(CHAIN.replace("board", "rail +5 5V\nR1 1k +5 X\nboard", 1)
                    .replace("CLK=pulses", "X=pulses"), WORDS)  # fmt: skip
    assert any("expected X=low, high, open" in problem.message for problem in found.problems)


def test_a_loop_is_said_until_a_state_breaks_it() -> None:
    looped = CHAIN.replace("in 1=CLK out 2=DIV", "in 1=CLK 3=OUT out 2=DIV")
    (loop,) = feedback(read(looped))
    assert loop.blocks == ("B2", "B3")
    assert set(loop.nets) == {"DIV", "OUT"}
    assert "B2 and B3 feed back into one another" in told(looped)
    assert "state opened OUT=good" in told(looped)
    assert "feed back" not in told(looped + "state opened OUT=good\n")
    assert not feedback(read(CHAIN))


def test_a_block_that_drives_parts_has_to_say_what() -> None:
    driving = CHAIN.replace("state run", "R1 1k OUT GND\nstate run")
    assert "state run does not say what it gives; type OUT=high" in told(driving)
    assert "does not say" not in told(driving.replace("DIV=low", "DIV=low OUT=high"))


def test_opened_the_rest_stays_as_typed() -> None:
    text = opened(read(CHAIN), "B2", "rail +5 5V\nR1 1k CLK DIV", WORDS)
    before, after = CHAIN.splitlines(), text.splitlines()
    assert after == [
        *before[:2], f"# opened: {before[2]}", "rail +5 5V", "R1 1k CLK DIV", *before[3:],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("block", "inside", "error", "match"),
    [
        ("B9", "R1 1k A B", UnknownName, "block 'B9'"),
        ("B2", "R1 1k CLK D", BoardError, "got none on DIV"),
        ("B2", "R1 CLK DIV", BoardError, "value"),
    ],
)
def test_what_cannot_be_inside(block: str, inside: str, error: type[Exception], match: str) -> None:
    with pytest.raises(error, match=match):
        opened(read(CHAIN), block, inside, WORDS)


@pytest.mark.parametrize("does", ["copies", "A & C", "purple", "A &"])
def test_a_function_that_makes_no_sense(does: str) -> None:
    from halfsplit.build.compiled import compile_board

    line = f'B2 block in A=CLK B=EN out Y=DIV does="{does}"'
    text = CHAIN.replace('B2 block "by ten" in 1=CLK out 2=DIV', line)
    with pytest.raises(BoardError, match="does="):
        compile_board(read(text))
