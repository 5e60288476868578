"""Faults without one size, comparators on an edge, inputs beside a low one."""

import numpy as np
import pytest
from tests.build.worlds import world

from halfsplit.build.compiled import Compiled
from halfsplit.build.one_side import OneSide
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

LEAK = """board "leak"
rail +5 5V 1%
R1 14k 1% +5 REF
R2 11k 1% REF GND
R3 4k7 1% +5 SIG
C1 electrolytic 10u SIG GND
U1 LM393 3=REF 2=SIG 1=OUT
R5 4k7 5% +5 OUT
state on
"""

LOAD = """board "load"
rail +5 5V 0.01%
R1 1 1% +5 OUT
C1 electrolytic 10u OUT GND
L1 winding 100 OUT GND
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


def test_a_leak_comes_in_three_sizes_and_an_open_in_one() -> None:
    """Divider on paper: a leak g beside R2 gives 5/(2 + 1000 g). One standard deviation of g is a
    factor of 3.5; the sizes are 1.2 of them apart, and half of one is left within each."""
    board = world(DIVIDER)
    numbers = board.volts("on", ["net MID"])
    plain = row(board, "C1 leaky")
    g = (5.0 / numbers.mean[plain, 0] - 2.0) / 1000.0
    for word, sigmas in (("C1 leaky, slightly", -1.2), ("C1 leaky", 0.0), ("C1 leaky, badly", 1.2)):
        here = g * 3.5**sigmas
        at = row(board, word)
        assert numbers.mean[at, 0] == pytest.approx(5.0 / (2.0 + 1000.0 * here), rel=1e-3)
        steps = [5.0 / (2.0 + 1000.0 * here * 3.5**k) - numbers.mean[at, 0] for k in (-0.5, 0.5)]
        within = np.hypot(np.sqrt(np.mean(np.square(steps))), 0.05 + 0.04 * numbers.mean[at, 0])
        assert numbers.spread[at, 0] == pytest.approx(within, rel=0.05)
    assert [fault.id for fault in board.faults if fault.id.startswith("R2 open")] == ["R2 open"]
    assert numbers.spread[row(board, "R2 open"), 0] < 0.35


def test_the_sizes_of_a_fault_share_its_rate_and_its_repair() -> None:
    board = world(DIVIDER)
    sizes = [fault for fault in board.faults if fault.plain_id == "C1 leaky"]
    assert [fault.grades for fault in sizes] == [3, 3, 3]
    assert {fault.suspect for fault in sizes} == {"C1"}
    shares = np.array([fault.rate for fault in sizes]) / sum(fault.rate for fault in sizes)
    moments = shares @ np.array([[-1.2, 1.44], [0.0, 0.0], [1.2, 1.44]])
    assert moments[0] == pytest.approx(0.0, abs=1e-12)
    assert moments[1] + 0.5**2 == pytest.approx(1.0, abs=0.03), "a normal's variance"


def test_on_one_side_nothing_stands_either_way() -> None:
    board = world(EDGE.format(ohms="10k"))
    both = board.volts("on", ["net OUT"])
    sides = [
        OneSide(world=board, second=second).volts("on", ["net OUT"]) for second in (False, True)
    ]
    assert np.isnan(sides[0].other).all()
    assert np.isnan(sides[1].other).all()
    assert sides[0].mean[0, 0] == both.mean[0, 0]
    assert sides[1].mean[0, 0] == both.other[0, 0]
    single = np.isnan(both.other[:, 0])
    assert (sides[1].mean[single, 0] == both.mean[single, 0]).all()


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


@pytest.mark.parametrize("fault", ["U1.2 joint open", "U1.2-U1.3 bridged"])
def test_a_comparator_whose_input_floats_or_lies_on_the_other_has_both_answers(fault: str) -> None:
    """Bridged, its offset decides, which may have either sign (LM393 data sheet: 5 mV at most).
    About each answer the spread is that of the answer: 5 % of the rail when let go, and a few
    tens of millivolts when it sinks."""
    board = world(EDGE.format(ohms="15k"))
    numbers = board.volts("on", ["net OUT"])
    at = row(board, fault)
    low, high = sorted((numbers.mean[at, 0], numbers.other[at, 0]))
    assert low < 0.4
    assert high > 4.5
    spreads = numbers.spread[at, 0], numbers.other_spread[at, 0]
    assert max(spreads) < 0.4
    assert min(spreads) < 0.1


def test_a_leak_of_unsure_size_gives_a_comparator_both_answers_and_no_wide_spread() -> None:
    """A slight leak, g S, takes SIG to 5/(1 + 4700 g) V: above the 2.2 V of REF as it is, and half
    a standard deviation worse below them."""
    board = world(LEAK)
    at = row(board, "C1 leaky, slightly")
    numbers = board.volts("on", ["net OUT", "net SIG"])
    g = (5.0 / numbers.mean[at, 1] - 1.0) / 4700.0
    assert numbers.mean[at, 1] > 2.3
    assert 5.0 / (1.0 + 4700.0 * g * 3.5**0.5) < 2.1
    assert numbers.mean[at, 0] < 0.4
    assert numbers.other[at, 0] > 4.5
    assert numbers.spread[at, 0] < 0.1


def test_a_current_is_as_unsure_as_the_size_of_the_fault() -> None:
    """On paper: a short of g S leaves 5/(1 + g + 0.01) V at 100 ohm; half a standard deviation of
    g is a factor of 1.87. A part's own tolerances are some 8 %."""
    board = world(LOAD)
    numbers = board.current("on", ["L1"])
    at = row(board, "C1 short, slightly")
    amperes = numbers.mean[at, 0]
    g = 0.05 / amperes - 1.01
    steps = [0.05 / (1.01 + g * 3.5**k) - amperes for k in (-0.5, 0.5)]
    within = np.hypot(np.sqrt(np.mean(np.square(steps))), 0.08 * amperes + 1e-4)
    assert numbers.spread[at, 0] == pytest.approx(within, rel=0.05)
    assert numbers.spread[at, 0] > 0.2 * amperes


def test_the_leg_of_an_open_input_beside_a_low_one_may_read_low() -> None:
    board = world(GATE)
    numbers = board.volts("apart", ["U2.2", "U2.2/pad", "U2.1"])
    cut = row(board, "U2.2 joint open")
    assert numbers.mean[cut, 0] > 1.0
    assert numbers.other[cut, 0] == pytest.approx(0.35, abs=0.02)
    assert np.isnan(numbers.other[cut, 1:]).all()
