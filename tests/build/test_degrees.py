"""Faults without one size, comparators on an edge, inputs beside a low one."""

import numpy as np
import pytest
from tests.build.worlds import world

from halfsplit.build.compiled import Compiled
from halfsplit.build.parameters import Overlay
from halfsplit.build.severity import versions

DIVIDER = """board "divider"
rail +5 5V 1%
R1 1k 1% +5 MID
R2 1k 1% MID GND
C1 electrolytic 10u MID GND
state on
"""

EDGE = """board "edge"
rail +5 5V 1%
R1 10k 1% +5 REF
R2 10k 1% REF GND
R3 10k 1% +5 SIG
R4 {ohms} 1% SIG GND
U1 LM393 3=REF 2=SIG 1=OUT
R5 4k7 5% +5 OUT
state on
"""

GATE = """board "gate"
rail +5 5V 5%
U1 controller supply 40=+5 ground 20=GND out 1=A 2=B
U2 74LS00 1=A 2=B 3=Y
R1 10k +5 Y
state apart A=low B=high
"""


def row(board: Compiled, fault: str) -> int:
    return [each.id for each in board.faults].index(fault)


def test_a_leak_of_unknown_size_has_a_wide_reading_and_an_open_has_not() -> None:
    """Divider on paper: a leak g beside R2 gives 5/(2 + 1000 g); a factor of 3.5 either way."""
    board = world(DIVIDER)
    numbers = board.volts("on", ["net MID"])
    leaky, open_ = row(board, "C1 leaky"), row(board, "R2 open")
    g = (5.0 / numbers.mean[leaky, 0] - 2.0) / 1000.0
    steps = [5.0 / (2.0 + 1000.0 * g * k) - numbers.mean[leaky, 0] for k in (3.5, 1 / 3.5)]
    expected = np.sqrt(np.mean(np.square(steps)))
    assert numbers.spread[leaky, 0] == pytest.approx(expected, rel=0.15)
    assert numbers.spread[open_, 0] < 0.35


def test_versions_are_milder_and_worse_and_an_open_has_none() -> None:
    board = world(DIVIDER)
    circuit = board.assembly.circuit
    by_id = {fault.id: what for fault, what in zip(board.faults, board.overlays, strict=True)}
    pair = versions(circuit, by_id["C1 leaky"])
    assert pair is not None
    milder, worse = (float(what[0][3]) for what in pair)
    assert milder < by_id["C1 leaky"][0][3] < worse
    assert versions(circuit, by_id["R2 open"]) is None
    poor: tuple[Overlay, Overlay] | None = versions(circuit, by_id["R2.1 joint resistive"])
    assert poor is not None
    assert poor[0][0][3] > poor[1][0][3], "worse is less conductance for a poor joint"


@pytest.mark.parametrize(("ohms", "doubtful"), [("10k", True), ("15k", False), ("6k8", False)])
def test_a_comparator_on_an_edge_has_both_answers(ohms: str, doubtful: bool) -> None:
    """SIG is 2.50, 3.00 or 2.02 V against 2.50 V: only the first is within 0.1 V."""
    numbers = world(EDGE.format(ohms=ohms)).volts("on", ["net OUT"])
    assert np.isfinite(numbers.other[0, 0]) == doubtful
    if doubtful:
        low, high = sorted((numbers.mean[0, 0], numbers.other[0, 0]))
        assert low < 0.4
        assert high > 4.5


def test_a_comparator_whose_input_floats_has_both_answers() -> None:
    board = world(EDGE.format(ohms="15k"))
    numbers = board.volts("on", ["net OUT"])
    cut = row(board, "U1.2 joint open")
    low, high = sorted((numbers.mean[cut, 0], numbers.other[cut, 0]))
    assert low < 0.4
    assert high > 4.5


def test_the_leg_of_an_open_input_beside_a_low_one_may_read_low() -> None:
    board = world(GATE)
    numbers = board.volts("apart", ["U2.2", "U2.2/pad", "U2.1"])
    cut = row(board, "U2.2 joint open")
    assert numbers.mean[cut, 0] > 1.0
    assert numbers.other[cut, 0] == pytest.approx(0.35, abs=0.02)
    assert np.isnan(numbers.other[cut, 1:]).all()
