"""What a meter finds at a place that only a junction holds."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from tests.build.worlds import number, world

from halfsplit.build.compiled import METER_OHMS

FOLLOWER = """
rail +12 12V ohms=0.001
R1 10k 1% +12 B
R2 10k 1% B GND
R3 4k7 1% E GND
R4 1k 1% +12 C
U1 CA3046 1=C 2=B 3=E 13=GND
testpoint TP1 E
state on
"""

DECADE = math.log(10.0) * 8.617333262e-5 * 300.15
"""Volts for each factor 10 of a junction's current at 27 degC: kT/q ln 10 (CODATA 2018)."""


def emitter(base: float) -> float:
    """Of a transistor of 0.715 V at 1 mA (3046 data sheet, typical, from memory) that feeds nothing
    but a meter."""
    found: float = brentq(
        lambda v: base - 0.715 - DECADE * math.log10(v / METER_OHMS / 1e-3) - v, 0.1, base
    )
    return found


def test_an_emitter_without_a_load_stands_half_a_volt_below_its_base() -> None:
    """Where the emitter resistor is open: 6 V less 0.715 V less 59.6 mV for each of the 3.3 decades
    from 1 mA to the meter's 0.55 uA. It was put near 0 V, and said to float."""
    compiled = world(FOLLOWER)
    found = compiled.volts("on", ["TP1", "U1.3", "R3.1/pad"])
    row = number(compiled, "R3 open")
    assert found.mean[row] == pytest.approx(np.full(3, emitter(6.0)), abs=0.03)
    assert 5.4 < emitter(6.0) < 5.5
    assert not found.floating[row].any()


def test_what_the_junction_cannot_reach_or_is_broken_floats_as_before() -> None:
    """With its base lead open, or behind the open joint of emitter or base, nothing holds it."""
    compiled = world(FOLLOWER.replace("R3 4k7 1% E GND", "R3 4k7 1% E F\nC1 100n F GND"))
    found = compiled.volts("on", ["TP1"])
    assert found.mean[0, 0] == pytest.approx(emitter(6.0), abs=0.03)
    for fault in ("U1 2 b open", "U1.3 joint open", "U1.2 joint open"):
        row = number(compiled, fault)
        assert found.floating[row, 0], fault
        assert found.mean[row, 0] < 1.0


DIODE = """
rail +5 5V ohms=0.001
D1 1N4148 a=+5 k=K
R1 10k K GND
state on
"""


def test_a_cathode_that_feeds_nothing_stands_a_small_drop_below_its_anode() -> None:
    """By the slope at a leak of nanoamperes alone it would be divided down; the drop at half
    a microampere is under 0.5 V: a 1N4148 drops 0.6 V at 1 mA (data sheet, from memory)."""
    compiled = world(DIODE)
    found = compiled.volts("on", ["net K"])
    row = number(compiled, "R1 open")
    assert 4.5 < found.mean[row, 0] < 4.9
    assert not found.floating[row, 0]
