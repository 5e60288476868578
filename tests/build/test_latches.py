"""Latches made of gates: they stay where they were put, and never on their edge."""

import numpy as np
import pytest
from tests.build.worlds import number, volts, world

LATCH = """
rail +5 5V
U1 74LS00 1=NS 2=NQ 3=Q 4=Q 5=NR 6=NQ
offsheet NS drive 74LS
offsheet NR drive 74LS
offsheet Q load 74LS 1
state held NS=high NR=high
state set NS=low NR=high
state reset NS=high NR=low
state was-set NS=low NR=high then NS=high
state was-reset NS=high NR=low then NR=high
state twice like was-set NR=low then NR=high
"""
HIGH, LOW = 2.7, 0.5
"""V OH and V OL of the 74LS00 (data sheet, from memory)."""


@pytest.mark.parametrize(("state", "high"), [("set", True), ("reset", False), ("was-set", True),
                                             ("was-reset", False), ("twice", False)])  # fmt: skip
def test_a_latch_stays_where_it_was_put(state: str, high: bool) -> None:
    """The function table of a latch of two NAND gates (any book on logic)."""
    q, nq = volts(LATCH, state, "U1.3"), volts(LATCH, state, "U1.6")
    assert (q > HIGH, q < LOW) == (high, not high)
    assert (nq > HIGH, nq < LOW) == (not high, high)
    assert np.isnan(world(LATCH).volts(state, ["U1.3"]).other[0, 0])


def test_one_that_was_never_put_may_stand_either_way_and_not_between() -> None:
    found = world(LATCH).volts("held", ["U1.3", "U1.6"])
    q, nq = (
        sorted((found.mean[0, 0], found.other[0, 0])),
        sorted((found.mean[0, 1], found.other[0, 1])),
    )
    for low, high in (q, nq):
        assert low < LOW
        assert high > HIGH
    assert (found.mean[0, 0] > HIGH) != (found.mean[0, 1] > HIGH)


def test_a_latch_whose_set_input_is_open_was_not_set() -> None:
    """Its own history counts and not that of the good board."""
    compiled = world(LATCH)
    for fault in ("U1.1 joint open", "U1 1 open"):
        row = number(compiled, fault)
        found = compiled.volts("was-set", ["U1.3"])
        assert not np.isnan(found.other[row, 0])
        assert min(found.mean[row, 0], found.other[row, 0]) < LOW
        after = compiled.volts("twice", ["U1.3"])
        assert after.mean[row, 0] < LOW
        assert np.isnan(after.other[row, 0])


def test_no_place_is_told_on_the_edge_of_a_latch() -> None:
    """Levels between 0.9 and 2.0 V are for rings and for outputs in each other's way."""
    compiled = world(LATCH)
    for state in ("held", "was-set", "was-reset"):
        found = compiled.volts(state, ["U1.3", "U1.6"])
        between = ((found.mean > 0.9) & (found.mean < 2.0)).all(axis=1)
        names = [compiled.faults[k].id for k in np.flatnonzero(between)]
        assert all("bridged" in name or "1.7" in name or "ground" in name for name in names), names


HYSTERESIS = """
rail +5 5V
U1 LM393 3=REF 2=SENSE 1=OUT
R1 10k 1% +5 REF
R2 10k 1% REF GND
R3 22k REF OUT
R4 4k7 +5 OUT
R5 10k 1% +5 SENSE
R6 10k 1% SENSE GND
offsheet SENSE unknown
state idle
state from-low SENSE=low then SENSE=open
state from-high SENSE=high then SENSE=open
"""


def test_a_comparator_with_hysteresis_keeps_its_side() -> None:
    """Between its thresholds it stays where it came from; 22k against 5k is a volt wide."""
    assert volts(HYSTERESIS, "from-low", "U1.1") > 4.0
    assert volts(HYSTERESIS, "from-high", "U1.1") < 0.5
    assert not 0.6 < volts(HYSTERESIS, "idle", "U1.1") < 3.5
