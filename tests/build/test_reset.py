"""A reset made of R and C: it fires at power-up, and again when the rail dips far enough.

The capacitor's charge is v = V - (V - v0) exp(-t/RC), so the reset lasts RC ln((V - v0)/(V - vt))
(any textbook; the data sheet of the 74HC14 has vt between 1.7 and 3.15 V at 4.5 V, from memory).
"""

import numpy as np
import pytest
from tests.build.worlds import world

from halfsplit.build.transient import Waveforms, run
from halfsplit.build.transient_schedule import read_schedule

RESET = """board "reset"
rail +5 5V
R1 10k +5 RC
C1 film-capacitor 1uF RC GND
D1 1N4148 a=RC k=+5
R2 470 +5 GND
U1 74HC14 1=RC 2=RST 14=+5 7=GND
state off rails=off
state on
state dip +5=1V
state sag +5=4V
"""
TAU, SUPPLY, STEP = 10e-3, 5.0, 1e-4


def pulses(done: Waveforms, fault: str) -> list[tuple[float, float, float]]:
    """Of each pulse of the reset: when it began and ended, s, and the capacitor's volts then."""
    row = done.faults.index(fault)
    charge, high = done.volts["net RC"][row], done.volts["net RST"][row] > 2.5
    edges = np.flatnonzero(np.diff(high.astype(int))) + 1
    assert len(edges) % 2 == 0
    return [
        (done.time[a], done.time[b], charge[b])
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]


def test_a_reset_fires_at_power_up_and_from_a_dipping_rail() -> None:
    faults = ["healthy", "R1 drifted high", "C1 low value", "C1 open"]
    schedule = read_schedule("off 1ms, on 40ms, sag 3ms, on 10ms, dip 3ms, on 40ms")
    done = run(world(RESET), schedule, places=["net RC", "net RST"], faults=faults, longest=STEP)
    assert not done.unresolved.any()
    first, second = pulses(done, "healthy")  # none from the sag
    threshold = first[2]
    assert 1.7 < threshold < 3.15 * SUPPLY / 4.5
    assert first[0] == pytest.approx(1e-3, abs=STEP)
    lasts = TAU * np.log(SUPPLY / (SUPPLY - threshold))
    assert first[1] - first[0] == pytest.approx(lasts, abs=2 * STEP)
    # the dip left what the diode holds above the rail
    assert second[0] == pytest.approx(57e-3, abs=STEP)
    held = done.at(np.asarray([57e-3]), done.volts["net RC"])[0, 0]
    assert 1.2 < held < 1.7
    lasts = TAU * np.log((SUPPLY - held) / (SUPPLY - threshold))
    assert second[1] - second[0] == pytest.approx(lasts, abs=2 * STEP)

    longer, shorter = (pulses(done, name)[0] for name in faults[1:3])
    assert longer[1] - longer[0] > 1.5 * (first[1] - first[0])
    assert shorter[1] - shorter[0] < 0.5 * (first[1] - first[0])
    assert all(end - begin < 2 * STEP for begin, end, _ in pulses(done, "C1 open"))
