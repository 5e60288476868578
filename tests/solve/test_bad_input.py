"""Boards that nobody can build: a clear message, or a clear result, and never a hang."""

import numpy as np
import pytest
from benchmarks.channels import board, task

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.errors import BoardError
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve import engine

HEAD = 'board "Odd"\nrail +5 5V\n'


def compiled(text: str) -> Compiled:
    return compile_board(read_board(text, PartsVocabulary()))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "the file says nothing"),
        (HEAD + "R1 0 +5 GND\n", "which no resistor has"),
        (HEAD + "R1 -5k +5 GND\n", "which no resistor has"),
        (HEAD + "R1 inf +5 GND\n", "expected a value in Ω"),
        ('board "Odd"\nrail +5 nanV\n', "expected the rail's voltage"),
        (HEAD + "rail +5 12V\n", "already on line 2"),
        ('board "Odd"\nrail GND 5V\n', "is ground"),
    ],
)
def test_impossible_values_are_told_with_their_line(text: str, message: str) -> None:
    with pytest.raises(BoardError, match=message) as told:
        compiled(text)
    assert len(str(told.value)) < 200


def volts(text: str, *nets: str) -> list[float]:
    """Healthy volts of nets, every fault resolved."""
    made = compiled(text)
    done = made.result(made.board.states[0].name)
    assert done.resolved.all()
    assert done.resolved.size == len(made.faults)
    return [float(done.nominal[made.assembly.net_node[net], 0]) for net in nets]


def test_a_board_without_parts_has_its_rail() -> None:
    assert volts(HEAD + "state on\n", "+5") == pytest.approx([5.0], abs=1e-3)


def test_a_board_without_states_predicts_none() -> None:
    made = compiled(HEAD + "R1 1k +5 GND\n")
    assert made.board.states == ()
    assert len(made.faults) > 1


def test_a_part_across_itself_does_nothing() -> None:
    odd = "R1 1k A A\nQ1 2N3904 c=A b=A e=A\nD1 1N4002 a=A k=A\nR2 1k +5 A\nR3 1k A GND\n"
    assert volts(HEAD + odd + "state on\n", "A") == pytest.approx([2.5], abs=1e-3)


def test_a_gate_on_itself_sits_at_its_threshold() -> None:
    (level,) = volts(HEAD + "U1 74LS00 1=A 2=A 3=A\nstate on\n", "A")
    assert 0.8 < level < 2.0


def test_a_shorted_rail_gives_what_its_source_can() -> None:
    """Ohm's law: 5 V behind 1 ohm on a milliohm."""
    shorted = 'board "Odd"\nrail +5 5V ohms=1\nR1 0.001 +5 GND\nstate on\n'
    (level,) = volts(shorted, "+5")
    assert 0.0 < level < 0.5


def test_a_megavolt_rail_breaks_down_what_it_reaches() -> None:
    text = 'board "Odd"\nrail +5 1MV\nR1 1k +5 GND\nD1 1N4002 a=GND k=+5\nstate on\n'
    (level,) = volts(text, "+5")
    assert np.isfinite(level)


def test_resistors_of_every_size_and_capacitors_alone_come_out() -> None:
    text = HEAD + "R1 1e30 +5 A\nR2 0.001 A B\nC1 1uF B C\nC2 1uF C GND\nstate on\n"
    floating, joined = volts(text, "A", "B")
    assert floating == pytest.approx(joined, abs=1e-6)


def test_four_hundred_nodes() -> None:
    job = task(board(18))
    assert job.circuit.size > 400
    done = engine.solve(job.circuit, job.batch(list(range(0, len(job.faults), 6))), job.healthy)
    assert done.resolved.all()
    assert np.isfinite(done.v).all()
    moved = np.abs(done.v - job.healthy).max(axis=0)
    assert (moved > 1e-3).mean() > 0.3
