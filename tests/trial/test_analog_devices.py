"""Amplifiers, timers, line circuits, relays and arrays of the simulator against their sheets.

Limits are those of the manufacturers' data sheets, from memory unless said otherwise.
"""

import math
import statistics
from collections.abc import Iterator

import pytest
from tests.trial.bench import GOOD, part_fault, solved

from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.build.fault import HEALTHY, Fault
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.simulator import Simulator
from halfsplit.trial.stand import Bench, Stand

pytestmark = pytest.mark.spice

RAILS = 'board "T"\nrail +5 5V\nrail +12 12V\nrail -12 -12V\n'


def board(text: str, states: str = "state rest") -> Board:
    return read_board(f"{RAILS}{text}\n{states}\n", PartsVocabulary())


@pytest.fixture(scope="module")
def simulator(ngspice: str) -> Iterator[Simulator]:
    with Simulator() as running:
        yield running


FOLLOWER = "U1 {kind} 2=OUT 3=P 6=OUT 7=+12 4=-12\nR1 2k OUT GND"


@pytest.mark.parametrize("kind", ["LM741", "TL071"])
@pytest.mark.parametrize("volts", [-8.0, 0.0, 5.0])
def test_a_follower_follows_within_its_offset(
    kind: str, volts: float, simulator: Simulator
) -> None:
    """Offset at most 6 mV (741) and 10 mV (TL071)."""
    made = board(FOLLOWER.format(kind=kind))
    _, found = solved(simulator, made, 1, [f"v_p {{P}} 0 {volts}"])
    assert found["OUT"] == pytest.approx(volts, abs=0.012)


def test_an_amplifier_ends_short_of_its_supplies(simulator: Simulator) -> None:
    """741 at 15 V and 2 kilohm: at least 10 V, 13 V typical, so 2 to 5 V short of a supply."""
    made = board("U1 LM741 2=GND 3=P 6=OUT 7=+12 4=-12\nR1 2k OUT GND")
    _, high = solved(simulator, made, 1, ["v_p {P} 0 1"])
    _, low = solved(simulator, made, 1, ["v_p {P} 0 -1"])
    assert 7.0 < high["OUT"] < 11.5
    assert -11.5 < low["OUT"] < -7.0


def test_an_output_on_a_short_is_limited(simulator: Simulator) -> None:
    """741: 25 mA typical, at most 40 mA."""
    made = board("U1 LM741 2=GND 3=P 6=OUT 7=+12 4=-12\nR1 1 OUT GND")
    _, found = solved(simulator, made, 1, ["v_p {P} 0 1"])
    assert 0.010 < found["OUT"] < 0.040


def test_a_single_supply_amplifier_reaches_ground(simulator: Simulator) -> None:
    """LM324: low output at most 20 mV with 10 kilohm; inputs at ground work."""
    made = board("U1 LM324 1=OUT 2=M 3=GND 4=+5 11=GND\nR1 10k OUT GND\nR2 10k M +5")
    _, found = solved(simulator, made, 1, [])
    assert -0.01 < found["OUT"] < 0.06
    gain = board("U1 LM324 1=OUT 2=M 3=P 4=+5 11=GND\nR1 10k OUT M\nR2 10k M GND")
    _, found = solved(simulator, gain, 1, ["v_p {P} 0 0.5"])
    assert found["OUT"] == pytest.approx(1.0, abs=0.08), "two resistors of 5 %"


@pytest.mark.parametrize(("mode", "low", "high"), [
    ("6 stuck high", 8.0, 12.0),
    ("6 stuck low", -12.0, -8.0),
    ("6 offset up", 0.02, 0.1),
    ("6 output open", -0.001, 0.001),
    ("supply open", -0.2, 0.2),
])  # fmt: skip
def test_faults_of_a_follower_at_rest(
    mode: str, low: float, high: float, simulator: Simulator
) -> None:
    made = board(FOLLOWER.format(kind="LM741"))
    _, found = solved(simulator, made, 1, ["v_p {P} 0 0"], part_fault("U1", mode))
    assert low < found["OUT"] < high


TIMER = "U1 555 2=TRIG 3=OUT 4=RST 6=THR 7=DIS 8=+5\nR1 1k DIS +5\nR2 1k OUT GND\nR3 10k RST +5"
TIMER_STATES = """
offsheet TRIG unknown
offsheet THR unknown
state set TRIG=0V THR=0V
state clear TRIG=5V THR=5V
state kept TRIG=0V THR=0V then TRIG=2.5V THR=2.5V
state dropped TRIG=5V THR=5V then TRIG=2.5V THR=2.5V
"""


@pytest.mark.parametrize(("state", "out", "discharge"), [
    ("set", (2.75, 3.9), (4.8, 5.1)),
    ("clear", (-0.1, 0.35), (-0.1, 0.4)),
    ("kept", (2.75, 3.9), (4.8, 5.1)),
    ("dropped", (-0.1, 0.35), (-0.1, 0.4)),
])  # fmt: skip
def test_a_timer_sets_clears_and_keeps(
    state: str, out: tuple[float, float], discharge: tuple[float, float], ngspice: str
) -> None:
    """NE555 at 5 V: high at least 2.75 V at 100 mA and 3.3 V typical, low at most 0.35 V at
    5 mA; thresholds at a third and two thirds."""
    bench = Bench()
    try:
        stand = Stand(board(TIMER, TIMER_STATES), GOOD, 1, bench)
        found = stand.volts("net OUT", state), stand.volts("net DIS", state)
    finally:
        bench.close()
    assert found[0] is not None
    assert found[1] is not None
    assert out[0] < found[0] < out[1]
    assert discharge[0] < found[1] < discharge[1]


def test_a_timer_deaf_to_its_trigger_stays_low(ngspice: str) -> None:
    bench = Bench()
    try:
        deaf: Fault = part_fault("U1", "2 trigger dead")
        states = TIMER_STATES + "state tried TRIG=5V THR=5V then TRIG=0V THR=0V\n"
        stand = Stand(board(TIMER, states), deaf, 1, bench)
        assert stand.fault.id != HEALTHY
        found = stand.volts("net OUT", "tried")
    finally:
        bench.close()
    assert found is not None
    assert found < 0.4


@pytest.mark.parametrize(("level", "low", "high"), [(0.4, 8.0, 11.0), (2.4, -11.0, -8.0)])
def test_a_line_driver_swings_to_both_supplies(
    level: float, low: float, high: float, simulator: Simulator
) -> None:
    """1488 into 3 kilohm with 12 V: some 9 V either way (6 V at least with 9 V supplies); input
    low current at most 1.6 mA."""
    made = board("U1 1488 2=IN 3=TX 14=+12 1=-12 7=GND\nR1 3k TX GND")
    _, found = solved(simulator, made, 1, [f"v_i {{IN}} 0 {level}"])
    assert low < found["TX"] < high
    assert -1e-5 < found["v_i#branch"] < 1.6e-3


@pytest.mark.parametrize(("volts", "low", "high"), [(-9.0, 4.5, 5.1), (9.0, -0.1, 0.45)])
def test_a_line_receiver_inverts(
    volts: float, low: float, high: float, simulator: Simulator
) -> None:
    """1489: low at most 0.45 V at 10 mA; input resistance 3 to 7 kilohm (EIA-232)."""
    made = board("U1 1489 1=RX 3=OUT")
    _, found = solved(simulator, made, 1, [f"v_i {{RX}} 0 {volts}"])
    assert low < found["OUT"] < high
    assert 3e3 < abs(volts / found["v_i#branch"]) < 7e3


@pytest.mark.parametrize(("volts", "made", "broken"), [(0.0, False, True), (12.0, True, False)])
def test_a_relay_makes_and_breaks(
    volts: float, made: bool, broken: bool, simulator: Simulator
) -> None:
    """Pulls in by 75 % and drops out by 10 % of its voltage (common practice, no source)."""
    circuit = board(
        "K1 relay 250 volts=12V 1=COIL 2=GND com=+5 no=A nc=B\nR1 1k A GND\nR2 1k B GND"
    )
    _, found = solved(simulator, circuit, 1, [f"v_c {{COIL}} 0 {volts}"])
    assert (found["A"] > 4.5) is made
    assert (found["B"] > 4.5) is broken


def test_transistors_of_an_array_mirror_a_current(simulator: Simulator) -> None:
    """CA3046: 1 mA into one of the pair; the other draws within 10 %, VBE 0.6 to 0.8 V."""
    made = board("U1 CA3046 1=A 2=A 3=GND 5=B 4=A 13=GND")
    _, found = solved(simulator, made, 1, ["i_a 0 {A} 1m", "v_b {B} 0 2"])
    assert 0.6 < found["A"] < 0.8
    assert -found["v_b#branch"] == pytest.approx(1e-3, rel=0.1)


def test_transistors_of_an_array_match(simulator: Simulator) -> None:
    """CA3046 data sheet: V BE of a pair differ by 0.45 mV typical, 5 mV at most, which is a factor
    exp(V/26 mV) of their currents."""
    made = board("U1 CA3046 1=A 2=A 3=GND 5=B 4=A 13=GND")
    apart = []
    for seed in range(24):
        _, found = solved(simulator, made, seed, ["i_a 0 {A} 1m", "v_b {B} 0 0.75"])
        amps = -found["v_b#branch"] * (1.0 + 2.0 / 110.0) / 1e-3
        apart.append(abs(25.9e-3 * math.log(amps)))
    assert max(apart) < 5e-3
    assert 0.1e-3 < statistics.median(apart) < 1e-3


def test_a_segment_drops_as_a_red_led(simulator: Simulator) -> None:
    made = board("DS1 display-cathode a=SA b=SB com=GND")
    _, found = solved(simulator, made, 1, ["i_a 0 {SA} 10m"])
    assert 1.6 < found["SA"] < 2.0
    _, dark = solved(simulator, made, 1, ["v_a {SA} 0 5 ", "r_b {SB} 0 1k"],
                     part_fault("DS1", "common open"))  # fmt: skip
    assert abs(dark["v_a#branch"]) < 1e-6
