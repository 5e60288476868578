"""Every logic chip on a board: the file is read without a word, and the healthy board has an
answer; and what chips with memory do on a board."""

import numpy as np
import pytest
from tests.build.worlds import volts, world
from tests.parts.logic_bench import one_of_each_row

from halfsplit.board.reader import examine
from halfsplit.build.assemble import assemble
from halfsplit.build.sweep import Sweep
from halfsplit.parts.logic import LogicChip
from halfsplit.parts.vocabulary import PartsVocabulary

ROWS = one_of_each_row()
ON_A_BOARD = 16


def typed(number: int, kind: LogicChip, levels: int) -> str:
    """A part line: inputs tied by the bits of ``levels``, every other pin on a net of its own."""
    ends = []
    for k, pin in enumerate(kind.word.pins):
        tied = {"supply": 1, "ground": 0, "in": (levels >> k % 8) & 1}.get(pin.role)
        net = f"N{number}_{pin.name}" if tied is None else ("GND", "+5")[tied]
        if pin.role != "nc":
            ends.append(f"{pin.name}={net}")
    return f"U{number} {kind.name} {' '.join(ends)}"


@pytest.mark.parametrize("first", range(0, len(ROWS), ON_A_BOARD))
def test_a_board_of_every_chip_is_read_and_has_an_answer(first: int) -> None:
    chips = [typed(n, kind, 0x5A) for n, kind in enumerate(ROWS[first : first + ON_A_BOARD], 1)]
    text = "\n".join(("board every", "ground GND", "rail +5 5V", *chips, "state on"))
    found = examine(text, PartsVocabulary())
    assert found.problems == ()
    assert found.board is not None
    assembly = assemble(found.board)
    result = Sweep(assembly, [()], {}).state([()])
    assert result.resolved.all()
    assert np.abs(result.nominal).max() < 5.5


COUNTER = """board counter
rail +5 5V
offsheet CLK drive 74LS
offsheet CLR drive 74LS
U1 74LS161 1=CLR 2=CLK 3=GND 4=GND 5=GND 6=GND 7=+5 9=+5 10=+5 14=QA 13=QB 12=QC 11=QD
state six CLR=low CLK=low then CLR=high pulse CLK 6
state unreset CLR=high pulse CLK 2
"""


def test_a_counter_counts_the_pulses_of_a_state() -> None:
    """Six pulses after a clear: 0110."""
    levels = [volts(COUNTER, "six", f"U1.{pin}") > 1.5 for pin in (11, 12, 13, 14)]
    assert levels == [False, True, True, False]


def test_a_counter_that_nobody_cleared_may_stand_anywhere() -> None:
    reading = world(COUNTER).volts("unreset", ["U1.14"])
    assert reading.other is not None
    assert abs(reading.mean[0, 0] - reading.other[0, 0]) > 2.0


def test_a_shorted_output_does_not_stop_the_count() -> None:
    """The flip-flops of a 74161 feed each other inside: QD moves with QC held low."""
    held = [
        volts(COUNTER.replace("pulse CLK 6", "pulse CLK 8"), "six", f"U1.{pin}", "U1 12 stuck low")
        for pin in (11, 12)
    ]
    assert held[0] > 2.4
    assert held[1] < 0.4


def test_a_bit_that_sticks_inside_spoils_the_count_and_not_only_its_pin() -> None:
    """With the lowest bit low for good, a 74161 never carries into the next: all stay low."""
    stuck = [volts(COUNTER, "six", f"U1.{pin}", "U1 bit a stuck low") for pin in (11, 12, 13, 14)]
    assert max(stuck) < 0.4
    high = [volts(COUNTER, "six", f"U1.{pin}", "U1 bit a stuck high") for pin in (11, 12, 13, 14)]
    assert [level > 1.5 for level in high] == [True, True, False, True]


SCHMITT = """board schmitt
rail +5 5V
rail IN 1V ohms=50
U1 {kind} 1=IN 2=OUT
state rising IN=0V then IN={between}V
state falling IN=5V then IN={between}V
state below IN=5V then IN={below}V
state above IN=0V then IN={above}V
"""


@pytest.mark.parametrize(
    ("kind", "between", "below", "above"),
    [("7414", 1.3, 0.5, 2.1), ("74LS14", 1.2, 0.4, 2.0), ("74HC14", 2.3, 1.3, 3.4)],
)
def test_a_schmitt_inverter_remembers_between_its_thresholds(
    kind: str, between: float, below: float, above: float
) -> None:
    """VT- and VT+ typical: 0.9 and 1.7 V (7414), 0.8 and 1.6 V (LS14), 1.6 and 2.5 V at 4.5 V
    (HC14); data sheets, from memory."""
    text = SCHMITT.format(kind=kind, between=between, below=below, above=above)
    at = {state: volts(text, state, "U1.2") for state in ("rising", "falling", "below", "above")}
    assert at["rising"] > 2.4
    assert at["below"] > 2.4
    assert at["falling"] < 0.5
    assert at["above"] < 0.5
