"""What a fault leaves undecided: an input near its threshold, a base that nothing holds."""

from collections.abc import Iterator

import numpy as np
import pytest
from tests.build.worlds import number, volts, world

from halfsplit.build.compiled import Compiled
from halfsplit.build.two_ways import LEAK
from halfsplit.trial.stand import Bench, Stand

FOUGHT = """board "fought"
rail +5 5V 5%
U1 {family}00 1=A 2=B 3=Y
U2 {family}04 1=Y 2=Z
offsheet A drive {family}
offsheet B drive {family}
state apart A=low B=high
"""
OPEN_INPUT = """board "open input"
rail +5 5V 5%
U1 {family}00 1=A 2=A 3=Y 4=A 5=B 6=Z
U2 {family}04 1=Y 2=W
offsheet A drive {family}
offsheet B drive {family}
state on A=low B=high
"""
OPEN_CMOS = """board "open CMOS input"
rail +5 5V 5%
U1 74HC04 1=A 2=Y 3=Y 4=Z
offsheet A drive 74HC
state on A=low
"""
SWITCH = """board "switch"
rail +5 5V 5%
Q1 {type} c=OUT b=IN e={emitter} is=10f
R1 {ohms} OUT {away}
R2 10k IN {emitter}
R3 1k IN {away}
state on
"""
NPN = {"type": "2N2222A", "emitter": "GND", "away": "+5"}
PNP = {"type": "2N2907A", "emitter": "+5", "away": "GND"}


def both_ways(board: Compiled, state: str, place: str, fault: str) -> tuple[float, ...]:
    """Either reading, and the spreads about them."""
    told, row = board.volts(state, [place]), number(board, fault)
    values = (told.mean, told.other, told.spread, told.other_spread)
    return tuple(float(value[row, 0]) for value in values)


def test_what_follows_a_fought_over_input_is_high_or_low_and_not_between() -> None:
    """Two 74LS outputs in contention stand at 0.8 to 2.0 V, between VIL and VIH (SN74LS00 data
    sheet): the gate may take it for either. What it gives then is VOL at most 0.5 V or VOH 2.7 V
    at least (same sheet)."""
    board = world(FOUGHT.format(family="74LS"))
    assert 0.8 < volts(FOUGHT.format(family="74LS"), "apart", "U1.1", "U1.1-U1.2 bridged") < 2.0
    for place in ("U1.3", "U2.2"):
        one, other, spread, other_spread = both_ways(board, "apart", place, "U1.1-U1.2 bridged")
        low, high = sorted((one, other))
        assert low < 0.5
        assert high > 2.7
        assert max(spread, other_spread) < 0.4
    first = both_ways(board, "apart", "U1.3", "U1.1-U1.2 bridged")
    second = both_ways(board, "apart", "U2.2", "U1.1-U1.2 bridged")
    assert (first[0] > 2.0) != (second[0] > 2.0), "an inverter, on either side"
    assert np.isnan(board.volts("apart", ["U1.3"]).other[0, 0])


@pytest.mark.parametrize("family", ["74", "74LS"])
def test_an_open_ttl_input_is_taken_for_high_on_every_die(family: str) -> None:
    """An open TTL input acts as a high one (TTL data books, on unused inputs; common practice):
    what it floats to and what its gate turns at are drops of the same junctions."""
    board = world(OPEN_INPUT.format(family=family))
    for place in ("U1.6", "U2.2"):
        _, other, spread, _ = both_ways(board, "on", place, "U1.4 joint open")
        assert np.isnan(other)
        assert spread < 0.35
    assert volts(OPEN_INPUT.format(family=family), "on", "U1.6", "U1.4 joint open") < 0.5


@pytest.mark.parametrize("kind", [NPN, PNP], ids=["npn", "pnp"])
@pytest.mark.parametrize("fault", ["Q1 b open", "Q1.b joint open"])
def test_an_open_base_passes_nothing_or_a_microamp(kind: dict[str, str], fault: str) -> None:
    """ICBO is 10 nA at most (2N2222A, 2N2907A data sheets, from memory), typically a hundredth;
    ICEO is the gain times that (J. J. Ebers and J. L. Moll, Proc. IRE 42, 1954). Through 1 megohm
    beside a meter of 10 megohm it drops up to a volt, through 1 kilohm nothing."""
    leaky, held = (world(SWITCH.format(ohms=ohms, **kind)) for ohms in ("1M", "1k"))
    away = 5.0 if kind is NPN else 0.0

    def paper(leak: float) -> float:
        load, meter = 1e-6, 1e-7
        return 5.0 * (load if kind is NPN else leak) / (load + meter + leak)

    tight, loose, spread, other_spread = both_ways(leaky, "on", "Q1.c", fault)
    assert tight == pytest.approx(paper(0.0), abs=0.03)
    assert loose == pytest.approx(paper(LEAK), abs=0.03)
    assert min(spread, other_spread) >= 0.2 * abs(loose - tight)
    tight, loose, *_ = both_ways(held, "on", "Q1.c", fault)
    assert np.isnan(loose)
    assert tight == pytest.approx(away, abs=0.01)


def test_a_good_base_has_one_way() -> None:
    board = world(SWITCH.format(ohms="1M", **NPN))
    assert np.isnan(board.volts("on", ["Q1.c"]).other[0, 0])


def test_an_open_collector_lead_has_no_milder_version() -> None:
    """Behind it nothing is left but the load: 5 V, whatever the transistor does."""
    board = world(SWITCH.format(ohms="1k", **NPN))
    one, other, spread, _ = both_ways(board, "on", "Q1.c", "Q1 c open")
    assert one == pytest.approx(5.0, abs=0.01)
    assert np.isnan(other)
    assert spread < 0.4


@pytest.fixture(scope="module")
def bench(ngspice: str) -> Iterator[Bench]:
    made = Bench()
    yield made
    made.close()


FED = """board "fed"
rail +5 5V 0%
R1 {ohms} +5 Y
R2 220 5% A GND
U1 74LS00 1=A 2=A 3=Y
state on
"""


@pytest.mark.spice
@pytest.mark.parametrize("ohms", ["2k2", "4k7", "10k"])
def test_a_chip_without_supply_is_fed_through_its_outputs(ohms: str, bench: Bench) -> None:
    """The 4 kilohm from the base of the upper transistor of a 74LS output to the pin, and that
    transistor's collector junction, lead back to the supply pin (SN74LS00 data sheet, schematic;
    the simulator has them transistor by transistor): on paper the pull-up and 4 kilohm share what
    5 V is above that junction and the two junctions that a chip's supply current starts at."""
    text = FED.format(ohms=ohms)
    board = world(text)
    fault = board.faults[number(board, "U1.14 joint open")]
    dies = [Stand(board.board, fault, die, bench) for die in (1, 2, 3)]
    for place, apart in (("U1.3", 0.4), ("U1.14", 0.6)):
        told = volts(text, "on", place, fault.id)
        assert [die.volts(place, "on") for die in dies] == pytest.approx([told] * 3, abs=apart)
    pull = {"2k2": 2200.0, "4k7": 4700.0, "10k": 10e3}[ohms]
    paper = 5.0 - (5.0 - 0.7 - 1.4) * pull / (pull + 4000.0)
    assert volts(text, "on", "U1.3", fault.id) == pytest.approx(paper, abs=0.3)
    assert volts(text, "on", "U1.3") > 4.9


def test_an_open_cmos_input_is_taken_for_either() -> None:
    """A 74HC input is a gate and two diodes: left open it stands wherever its leaks put it ("unused
    inputs must be held high or low", 74HC04 data sheet, from memory). A good board has one way."""
    board = world(OPEN_CMOS)
    for place in ("U1.2", "U1.4"):
        low, high = sorted(both_ways(board, "on", place, "U1.1 joint open")[:2])
        assert low < 0.2
        assert high > 4.6
        assert np.isnan(both_ways(board, "on", place, "healthy")[1])
