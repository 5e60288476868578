"""A supply or ground lead that is open inside a chip: the leg still reads its net, and the chip
stands on what its inputs let through their diodes. An open enable switches a bus chip off.

A 74LS input has a clamp diode from the chip's ground (SN74LS00 data sheet, schematic), a 74HC input
one to either supply (74HC00 data sheet, from memory), by which a CMOS chip without supply is
powered through its inputs (P. Horowitz and W. Hill, The Art of Electronics, logic interfacing, from
memory). The simulator writes the same circuits with diodes and transistors of its own.
"""

from collections.abc import Iterator

import pytest
from tests.build.worlds import number, volts, world
from tests.trial.bench import part_fault, pin_fault

from halfsplit.trial.stand import Bench, Stand

TTL = """
rail +5 5V ohms=0.001
U1 74LS00 1=A 2=B 3=Y 4=A 5=A 6=Z
offsheet A drive 74LS
offsheet B drive 74LS
state low A=low B=high
state both A=high B=low
state high A=high B=high
"""
CMOS = """
rail +5 5V ohms=0.001
U1 74HC00 1=A 2=B 3=Y
R1 100k Y GND
offsheet A drive 74HC
offsheet B drive 74HC
state one A=high B=low
state none A=low B=low
"""
BUS = """
rail +5 5V ohms=0.001
U1 74LS373 3=H 4=L 7=H 2=QH 5=QL 6=QR 11=+5 1=GND
U2 74LS00 1=QH 2=QL 3=Z
R1 47k QR GND
offsheet H drive 74LS
offsheet L drive 74LS
state on H=high L=low
"""
COMPARATOR = """
rail +12 12V ohms=0.001
rail +5 5V ohms=0.001
U1 LM339 3=+12 12=GND 5=P 4=M 2=OUT
R[1,2] 10k +12 [P,M]
R3 22k P GND
R4 18k M GND
R5 2k2 +5 OUT
state on
"""
TIMER = """
rail +5 5V ohms=0.001
U1 555 2=TRIG 3=OUT 4=+5 6=CAP 7=CAP 8=+5 1=GND
R[1,2] 47k +5 [TRIG,CAP]
R3 100k OUT GND
state on
"""


@pytest.fixture(scope="module")
def bench(ngspice: str) -> Iterator[Bench]:
    made = Bench()
    yield made
    made.close()


@pytest.mark.parametrize(("pin", "lead", "net"), [("7", "ground", 0.0), ("14", "supply", 5.0)])
def test_the_leg_reads_its_net_and_an_open_joint_s_does_not(
    pin: str, lead: str, net: float
) -> None:
    assert volts(TTL, "low", f"U1.{pin}", f"U1 {lead} open") == pytest.approx(net, abs=0.01)
    assert abs(volts(TTL, "low", f"U1.{pin}", f"U1.{pin} joint open") - net) > 0.3


def test_the_rest_of_the_chip_is_as_with_an_open_joint() -> None:
    for place in ("U1.1", "U1.3", "U1.6"):
        inside = volts(TTL, "low", place, "U1 ground open")
        assert inside == volts(TTL, "low", place, "U1.7 joint open")


@pytest.mark.spice
@pytest.mark.parametrize("state", ["low", "both", "high"])
def test_a_chip_without_ground_stands_a_clamp_above_its_lowest_input(
    state: str, bench: Bench
) -> None:
    """Low outputs at what the low input reads, a Schottky clamp and a saturated transistor: some
    0.7 V; with every input high nothing can go low."""
    board, fault = world(TTL).board, part_fault("U1", "ground open")
    stand = Stand(board, fault, 1, bench)
    for place in ("U1.3", "U1.6"):
        true = stand.volts(place, state)
        assert true is not None
        told = volts(TTL, state, place, fault.id)
        assert told == pytest.approx(true, abs=0.15) or min(told, true) > 4.0  # both high
    if state == "both":
        assert 0.5 < volts(TTL, state, "U1.6", fault.id) < 1.0


@pytest.mark.spice
def test_a_cmos_chip_without_supply_lives_on_a_high_input(bench: Bench) -> None:
    board, fault = world(CMOS).board, part_fault("U1", "supply open")
    stand = Stand(board, fault, 1, bench)
    for state, least, most in (("one", 3.0, 4.8), ("none", -0.1, 0.3)):
        true = stand.volts("U1.3", state)
        assert true is not None
        assert least < true < most
        assert volts(CMOS, state, "U1.3", fault.id) == pytest.approx(true, abs=0.25)


@pytest.mark.spice
def test_an_open_enable_lets_the_bus_float(bench: Bench) -> None:
    """An open TTL input is high (common practice), so the outputs of a 74LS373 with its output
    control open are off: what is left is 20 uA at most (data sheet, I OZ), and the inputs behind
    stand where open inputs stand."""
    board = world(BUS).board
    fault = pin_fault("joint", "joint open", "U1.1")
    stand = Stand(board, fault, 1, bench)
    for place in ("U1.2", "U1.5"):
        true = stand.volts(place, "on")
        assert true is not None
        assert 1.0 < true < 2.0
        assert volts(BUS, "on", place, fault.id) == pytest.approx(true, abs=0.2)
    held = volts(BUS, "on", "R1.1", fault.id)
    assert abs(held) < 20e-6 * 47e3


@pytest.mark.spice
def test_a_comparator_without_ground_pushes_its_supply_current_out(bench: Bench) -> None:
    """LM339: 0.8 mA of supply current (data sheet, typical at 5 V) that has lost the ground pin
    leaves by the substrate of the output into its pull-up: above the 5 V that this comes from, by
    2.2k times what is left of it at a smaller supply."""
    stand = Stand(world(COMPARATOR).board, pin_fault("joint", "joint open", "U1.12"), 1, bench)
    true = stand.volts("U1.2", "on")
    told = volts(COMPARATOR, "on", "U1.2", "U1.12 joint open")
    assert true is not None
    assert 5.3 < true < 7.5
    assert told == pytest.approx(true, abs=0.8)
    assert volts(COMPARATOR, "on", "U1.2") == pytest.approx(5.0, abs=0.05)


@pytest.mark.spice
def test_a_timer_without_ground_pulls_its_output_up(bench: Bench) -> None:
    """The supply current of a 555 (3 mA, data sheet) lifts the ground that is lost towards the
    supply, and the output with it by the junction of its collector: high, though nothing drives
    it."""
    stand = Stand(world(TIMER).board, pin_fault("joint", "joint open", "U1.1"), 1, bench)
    true = stand.volts("U1.3", "on")
    assert true is not None
    assert 2.5 < true < 5.0
    assert volts(TIMER, "on", "U1.3", "U1.1 joint open") == pytest.approx(true, abs=0.7)


@pytest.mark.spice
def test_a_grounded_input_holds_a_comparator_that_has_lost_its_ground(bench: Bench) -> None:
    """Its substrate stands a junction above the lowest input (LM339 data sheet, note on inputs
    driven negative: the collector-base junction of the input's PNP clamps): with a spare comparator
    tied to ground, as is usual, the chip works on, its low half a volt to a volt up."""
    spare = COMPARATOR.replace("2=OUT", "2=OUT 10=GND 11=GND").replace("R4 18k", "R4 47k")
    stand = Stand(world(spare).board, pin_fault("joint", "joint open", "U1.12"), 1, bench)
    for place in ("U1.12", "U1.2"):
        true = stand.volts(place, "on")
        assert true is not None
        assert 0.4 < true < 1.1
        assert volts(spare, "on", place, "U1.12 joint open") == pytest.approx(true, abs=0.25)


def test_each_lead_is_told_by_its_pin() -> None:
    compiled = world(TTL)
    faults = [compiled.faults[number(compiled, f"U1 {lead} open")] for lead in ("supply", "ground")]
    assert [str(pin) for fault in faults for pin in fault.leads] == ["U1.14", "U1.7"]
    assert not any(fault.leads for fault in compiled.faults if fault.where != "part")
