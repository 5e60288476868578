"""A transistor with a supply laid across it: told only between limits."""

import numpy as np
import pytest
from tests.build.worlds import world

DRIVER = """board "driver"
rail +24 24V 5% ohms=0.3
rail +5 5V 5%
R1 680 5% +5 BASE
Q1 TIP120 c=COIL b=BASE e=GND
L1 winding 48 +24 COIL
D1 1N4002 a=COIL k=+24
state on
output coil current L1 above 100mA
"""


def test_a_shorted_load_leaves_the_supply_anywhere_between_held_and_pulled_down() -> None:
    """By Kirchhoff's laws the short, the supply's 0.3 ohm and the transistor share 24 V; how, hangs
    on a gain that no data sheet gives at tens of amperes."""
    board = world(DRIVER)
    ids = [fault.id for fault in board.faults]
    numbers = board.volts("on", ["net +24", "net COIL"])
    shorted = [k for k, name in enumerate(ids) if name in ("D1 short", "D1 short, badly")]
    assert len(shorted) == 2
    for k in shorted:
        held, down = numbers.mean[k, 0], numbers.other[k, 0]
        assert down < held - 1.0
        assert numbers.spread[k, 0] >= 0.25 * (held - down) - 1e-9
        assert numbers.other[k, 1] < numbers.mean[k, 1]
    assert np.isnan(numbers.other[0]).all(), "a good board has nothing of the kind"
    assert numbers.mean[0, 0] == pytest.approx(24.0 * 48.0 / 48.3, abs=0.3)
