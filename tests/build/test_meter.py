"""What meters show: loading, floating places, ohms and diode ranges in circuit, thresholds."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from tests.build.worlds import number, world

from halfsplit.build.compiled import METER_OHMS
from halfsplit.build.world import USUAL
from halfsplit.parts.registry import KINDS
from halfsplit.solve.smooth import VT

HIGH_OHMS = """
rail +9 9V ohms=0.001
R1 10M +9 MID
R2 10M MID GND
C1 100n OUT GND
R3 1k MID2 OUT
R4 1M +9 MID2
state on
"""


def test_the_meter_loads_what_it_reads() -> None:
    """10 megohm across the lower of two 10 megohm: 9 V (5/15) = 3 V. The board's own leak of
    1 gigohm at three nodes is 2 %."""
    assert METER_OHMS == 10e6
    assert world(HIGH_OHMS).volts("on", ["net MID"]).mean[0, 0] == pytest.approx(3.0, rel=0.025)


def test_a_place_that_nothing_holds_is_flagged() -> None:
    compiled = world(HIGH_OHMS)
    found = compiled.volts("on", ["R3.1", "net MID2"])
    assert not found.floating[0].any()
    row = number(compiled, "R4 open")
    assert found.floating[row].all()
    assert np.abs(found.mean[row]).max() < 0.1
    assert not found.floating[number(compiled, "R3 open")][1]


RESISTORS = """
rail +5 5V
R1 1k A B
R2 2k2 A M
R3 1k8 M B
R4 470 B GND
R5 10k C GND
R6 330 +5 A
state on
"""


def test_ohms_in_circuit_are_parallel_paths() -> None:
    """1k beside 2.2k + 1.8k = 800 ohm; series and the rail's own 0.05 ohm left out."""
    compiled = world(RESISTORS)
    found = compiled.ohms([("R1.1", "R1.2"), ("R2.1", "R2.2"), ("R4.1", "R4.2"), ("R5.1", "R5.2")])
    healthy = found.mean[0]
    assert healthy[0] == pytest.approx(800.0, rel=2e-3)
    assert healthy[1] == pytest.approx(1.0 / (1.0 / 2200.0 + 1.0 / 2800.0), rel=2e-3)
    assert healthy[2] == pytest.approx(470.0, rel=2e-3)
    assert healthy[3] == pytest.approx(10e3, rel=2e-3)


def test_ohms_under_faults() -> None:
    compiled = world(RESISTORS)
    found = compiled.ohms([("R1.1", "R1.2"), ("R5.1", "R5.2"), ("R5.1/pad", "R5.2")]).mean
    opened = number(compiled, "R1 open")
    assert found[opened, 0] == pytest.approx(4000.0, rel=2e-3)
    assert found[number(compiled, "R2 open"), 0] == pytest.approx(1000.0, rel=2e-3)
    assert math.isinf(found[number(compiled, "R5 open"), 1])
    # across the part itself a bad joint does not show; across the pads it does
    joint = number(compiled, "R5.1 joint open")
    assert found[joint, 1] == pytest.approx(10e3, rel=2e-3)
    assert math.isinf(found[joint, 2])


def test_with_the_supply_unplugged_nobody_sees_that_it_was_dead() -> None:
    compiled = world(RESISTORS)
    ends = [("net +5", "net GND"), ("R1.1", "R1.2")]
    found = compiled.ohms(ends).mean
    for fault in ("+5 missing", "+5 low"):
        np.testing.assert_allclose(found[number(compiled, fault)], found[0])


JUNCTIONS = """
rail +5 5V
D1 1N4002 a=A k=B
Q1 2N3904 c=C b=D e=E
R1 100k A GND
R2 100k C GND
state on
"""


def shown(element: str, designator: str, kind: str, gain: float) -> float:
    """On paper: 3 V behind 2 kilohm into one junction by Shockley."""
    compiled = world(JUNCTIONS)
    part = compiled.board.part(designator)
    assert part is not None
    params = {e.name: e.params for e in KINDS.get(kind).elements(part)}[element]
    is_, n = params["is_"] * gain, params["n"]

    def left(v: float) -> float:
        return (3.0 - v) / 2e3 - is_ * math.expm1(v / (n * VT))

    return float(brentq(left, 0.0, 1.5))


def test_diode_range_forward_and_reverse() -> None:
    compiled = world(JUNCTIONS)
    found = compiled.diode([("D1.a", "D1.k"), ("D1.k", "D1.a"), ("Q1.b", "Q1.e"), ("Q1.e", "Q1.b")])
    paper = shown("d", "D1", "diode", 1.0)
    assert 0.4 < paper < 0.7  # a silicon rectifier at 1 mA: common practice
    assert found.mean[0, 0] == pytest.approx(paper, abs=2e-3)
    assert math.isinf(found.mean[0, 1])
    assert 0.55 < found.mean[0, 2] < 0.8
    assert math.isinf(found.mean[0, 3])
    assert USUAL.diode_limit == 2.0


def test_diode_range_under_faults() -> None:
    compiled = world(JUNCTIONS)
    found = compiled.diode([("D1.a", "D1.k"), ("D1.k", "D1.a")]).mean
    assert math.isinf(found[number(compiled, "D1 open"), 0])
    short = number(compiled, "D1 short")
    assert found[short] == pytest.approx([0.0, 0.0], abs=0.05)


LEVELS = """
rail +5 5V
U1 74LS04 1=A 2=B
U2 74HC04 1=C 2=D
R1 1k D GND
offsheet A drive 74LS
offsheet C drive 74HC
offsheet B load 74LS 1
state on A=low C=low
"""


@pytest.mark.parametrize(("net", "levels"), [("A", (0.8, 2.0)), ("C", (1.35, 3.15)),
                                             ("D", (0.8, 2.0))])  # fmt: skip
def test_thresholds_by_the_inputs_on_the_net(net: str, levels: tuple[float, float]) -> None:
    """TTL and HC data sheets (HC at 4.5 V), from memory; a net without inputs reads as TTL."""
    assert world(LEVELS).thresholds(net) == levels


CURRENTS = """
rail +24 24V ohms=0.001
L1 winding 56 +24 C
R1 4 C GND
D1 1N4002 a=GND k=C
state on
"""


def test_currents_by_ohms_law() -> None:
    compiled = world(CURRENTS)
    found = compiled.current("on", ["L1", "R1"]).mean
    assert np.abs(found[0]) == pytest.approx([24.0 / 60.0] * 2, rel=2e-3)
    assert np.abs(found[number(compiled, "L1 open")]).max() < 1e-4
    assert abs(found[number(compiled, "R1 short")][0]) == pytest.approx(24.0 / 56.0, rel=0.02)
