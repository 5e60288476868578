"""Drivers, receivers, memories, arrays, sensors, connectors and cables against standards and
datasheets."""

from __future__ import annotations

import pytest
from tests.parts.bench import Bench

from halfsplit.board.vocabulary import KindWord
from halfsplit.parts.registry import KINDS

SERIAL = Bench("""
rail +12 12V
rail -12 -12V
rail +5 5V
offsheet A drive 74LS
offsheet B drive 74LS
U1 1488 2=A 3=TX 4=A 5=B 6=NAND 14=+12 1=-12 7=GND
R1 3k TX GND
R2 7k NAND GND
U2 1489 1=TX 3=RXD 4=OPEN 6=RXO
R3 1M OPEN GND
state mark A=high B=high
state space A=low B=high
""")


def test_levels_of_rs_232() -> None:
    """A driver gives 5 to 15 V either way into 3 to 7 kilohm, a receiver takes 3 V and has 3 to 7
    kilohm (EIA RS-232-C, sections 2.3 to 2.5)."""
    assert -15.0 < SERIAL("mark", "TX") < -5.0
    assert 5.0 < SERIAL("space", "TX") < 15.0
    assert -15.0 < SERIAL("mark", "NAND") < -5.0
    assert 5.0 < SERIAL("space", "NAND") < 15.0
    assert SERIAL("mark", "RXD") > 4.5
    assert SERIAL("space", "RXD") < 0.45
    assert SERIAL("space", "RXO") > 4.5  # an open line reads as mark


@pytest.mark.parametrize(("kind", "up", "down"), [("1489", 1.25, 1.0), ("1489A", 1.95, 0.8)])
def test_thresholds_of_the_1489(kind: str, up: float, down: float) -> None:
    """Typical turn-on and turn-off of the datasheet, from memory, reached to 0.15 V."""
    middle = 0.5 * (up + down)
    bench = Bench(f"""
rail +5 5V
rail LINE 3V ohms=1
U2 {kind} 1=LINE 3=RXD 14=+5
state low LINE=3V then LINE={down - 0.15:.2f}V
state high LINE=0.1V then LINE={up + 0.15:.2f}V
state stays-low LINE=3V then LINE={middle:.2f}V
state stays-high LINE=0.1V then LINE={middle:.2f}V
""")
    assert bench("low", "RXD") > 4.5
    assert bench("high", "RXD") < 0.5
    assert bench("stays-low", "RXD") < 0.5
    assert bench("stays-high", "RXD") > 4.5


def test_levels_of_rs_422() -> None:
    """2 V at least between the wires across 100 ohm; a receiver decides by 0.2 V either way
    (EIA RS-422-A, sections 4.1 and 4.2)."""
    bench = Bench("""
rail +5 5V
offsheet A drive 74LS
offsheet EN drive 74LS
U3 26LS31 1=A 2=TP 3=TN 4=EN 12=+5
R1 100 TP TN
U4 26LS32 2=TP 1=TN 3=BACK 4=+5 12=GND
U5 3486 2=UP 1=DOWN 3=MORE 6=DOWN 7=UP 5=LESS 4=+5 14=- 15=-
rail UP 2.6V ohms=1
rail DOWN 2.4V ohms=1
U6 3487 1=A 2=P2 3=N2 4=EN
R2 100 P2 N2
state one A=high EN=high
state zero A=low EN=high
state off A=high EN=low
""")
    assert bench("one", "TP") - bench("one", "TN") > 2.0
    assert bench("zero", "TN") - bench("zero", "TP") > 2.0
    assert bench("one", "P2") - bench("one", "N2") > 2.0
    assert bench("one", "BACK") > 2.4
    assert bench("zero", "BACK") < 0.5
    assert (bench("one", "MORE") > 2.4, bench("one", "LESS") < 0.5) == (True, True)
    assert abs(bench("off", "TP") - bench("off", "TN")) < 0.05
    assert bench("off", "BACK") > 2.4  # open inputs read high


@pytest.mark.parametrize(
    ("kind", "on"), [("75451", "00 01 10"), ("75452", "11"), ("75453", "00"), ("75454", "01 10 11")]
)
def test_peripheral_drivers(kind: str, on: str) -> None:
    """Function tables, and 0.5 V typical, 0.7 V at most at 300 mA (datasheet SLRS021)."""
    states = "\n".join(
        f"state s{a}{b} A={['low', 'high'][a]} B={['low', 'high'][b]}"
        for a in (0, 1) for b in (0, 1)
    )  # fmt: skip
    bench = Bench(f"""
rail +5 5V
rail +12 12V
offsheet A drive 74LS
offsheet B drive 74LS
U5 {kind} 1=A 2=B 3=LAMP 8=+5
R1 38 +12 LAMP
{states}
""")
    for a in (0, 1):
        for b in (0, 1):
            volts = bench(f"s{a}{b}", "LAMP")
            assert (0.25 < volts < 0.7) if f"{a}{b}" in on else volts > 11.9


def test_a_memory_on_a_bus() -> None:
    """Driven when enabled, let go when not (datasheet of the 2716: CE and OE low); what is read
    nobody knows until a state says it. VOL 0.45 V at 2.1 mA, VOH 2.4 V at -0.4 mA."""
    bench = Bench("""
rail +5 5V
offsheet CE drive 74LS
offsheet OE drive 74LS
U1 2716 9=D0 10=D1 18=CE 20=OE
R1 10k D0 GND
R2 10k +5 D1
state off CE=high OE=low
state read CE=low OE=low
state known CE=low OE=low D0=high D1=low
""")
    assert bench("off", "D0") < 0.3
    assert bench("off", "D1") > 4.5
    assert {bench("read", "D0") > 2.4, bench.other("read", "D0") > 2.4} == {True, False}
    assert bench("known", "D0") > 2.4
    assert bench("known", "D1") < 0.45
    assert bench("known", "D0", "U1 9 wrong low") < 0.45


def words(name: str) -> KindWord:
    return KINDS.get(name).word


def at(name: str) -> dict[str, str]:
    """Function -> pin."""
    return {pin.title: pin.name for pin in words(name).pins}


def test_byte_wide_memories_share_one_socket() -> None:
    """JEDEC standard 21: what 24-pin parts share, and 28-pin parts have two pins further on."""
    for name in ("2732", "6116"):
        for function in ("A0", "A7", "A8", "A9", "A10", "D0", "D7", "GND", "VCC"):
            assert at(name)[function] == at("2716")[function], (name, function)
    for name in ("27128", "27256", "6264"):
        for function in ("A0", "A7", "A12", "D0", "D7", "GND", "VCC", "A11", "nOE"):
            assert at(name)[function] == at("2764")[function], (name, function)
    for function in ("A0", "A7", "A10", "D0", "D7", "GND", "A9", "nOE", "nCE"):
        assert int(at("2764")[function]) == int(at("2732")[function]) + 2, function


def test_pinouts_that_must_agree() -> None:
    """Second sources made one for the other's socket: 26LS31 and 3487, 26LS32 and 3486, 741 and
    308, 324 and 074 (kinds of one word), and the corners where power stands."""
    for first, second in (("26LS31", "3487"), ("26LS32", "3486")):
        roles = [[pin.role for pin in words(name).pins] for name in (first, second)]
        assert roles[0] == roles[1]
    assert (at("1488")["V+"], at("1489")["VCC"], at("1488")["GND"]) == ("14", "14", "7")
    for name in ("75451", "75462", "555", "LM393"):
        assert sorted(int(pin.name) for pin in words(name).pins) == list(range(1, 9))
    assert (at("75453")["A1"], at("75453")["Y1"], at("75453")["Y2"], at("75453")["GND"]) == (
        "1", "3", "5", "4",
    )  # fmt: skip
    assert at("4116")["GND"] == at("4164")["GND"] == "16"
    assert at("4116")["nCAS"] == at("4164")["nCAS"] == "15"


def test_hall_switch_and_oscillator_follow_their_state() -> None:
    bench = Bench("""
rail +5 5V
HS1 hall-switch vcc=+5 gnd=GND out=INDEX
R1 4k7 +5 INDEX
X1 oscillator 8MHz 8=CLK
U1 74LS74 3=CLK 2=+5 1=+5 4=+5 5=Q
R2 10k Q GND
state away HS1=clear X1=running
state near HS1=magnet X1=stopped-low
state stepped HS1=clear CLK=low then CLK=high
""")
    assert bench("away", "INDEX") > 4.9
    assert bench("near", "INDEX") < 0.4
    assert bench("near", "INDEX", "HS1 blind") > 4.9
    assert 0.8 < bench("away", "CLK") < 3.0
    assert bench("near", "CLK") < 0.4
    assert bench("stepped", "Q") > 2.4
    assert bench("stepped", "CLK", "X1 stopped low") < 0.4


CABLE = """
rail +5 5V
J1 {connector} 1=+5 2=SIG 3=GND
R1 1k J1/1 J1/2
R2 2k J1/2 J1/3
R3 10k SIG GND
state on +5=on
"""


def test_what_can_be_wrong_with_a_cable() -> None:
    """Dividers worked out on paper: 1 kilohm above 2 kilohm beside 10 kilohm, and the wires open,
    joined or changed over."""
    bench = Bench(CABLE.replace("{connector}", "cable"))
    beside = 1.0 / (1.0 / 2000.0 + 1.0 / 10000.0)
    assert bench("on", "SIG") == pytest.approx(5.0 * beside / (1000.0 + beside), rel=2e-3)
    assert bench("on", "SIG", "J1 2 broken") < 0.01
    assert bench("on", "SIG", "J1 1-2 shorted") == pytest.approx(5.0, rel=5e-3)
    # wire 1 and 2 crossed: SIG hangs on the 1 kilohm, 5 V on the middle
    assert bench("on", "SIG", "J1 1-2 crossed") == pytest.approx(5.0 * 10.0 / 11.0, rel=2e-3)


def test_a_connector_without_a_key_can_be_plugged_in_wrongly() -> None:
    bench = Bench(CABLE.replace("{connector}", "connector keyed=no"))
    turned = bench("on", "SIG", "J1 the wrong way round")
    over = 1.0 / (1.0 / 1000.0 + 1.0 / 10000.0)  # the divider upside down
    assert turned == pytest.approx(5.0 * over / (2000.0 + over), rel=2e-3)
    # SIG on the far end of the 2 kilohm, the 5 V on the middle; then on the 1 kilohm to ground
    assert bench("on", "SIG", "J1 one pin down") == pytest.approx(5.0 * 10.0 / 12.0, rel=2e-3)
    assert bench("on", "SIG", "J1 one pin up") < 0.01
    keyed = Bench(CABLE.replace("{connector}", "connector"))
    assert "J1 the wrong way round" not in keyed.row


def test_a_transistor_array_mirrors_its_current() -> None:
    """Matched pair as a current mirror: out = in / (1 + 2 / gain) (P. R. Gray and R. G. Meyer,
    Analysis and Design of Analog Integrated Circuits, section 4.2)."""
    bench = Bench("""
rail +12 12V
U4 CA3046 1=IN 2=IN 3=GND 4=IN 5=OUT 13=GND
R1 10k +12 IN
R2 4k7 +12 OUT
state on +12=on
""")
    into = (12.0 - bench("on", "IN")) / 10e3
    assert (12.0 - bench("on", "OUT")) / 4700.0 == pytest.approx(
        into / (1.0 + 2.0 / 100.0), rel=0.01
    )
    assert 0.65 < bench("on", "IN") < 0.76


def test_a_mirror_whose_diode_has_lost_its_collector_saturates() -> None:
    """The bases then take all of 1 mA. That which is left as a diode has hundreds of ohms in its
    base (3046 data sheet: 3.5 kilohm in at 1 mA, of which a gain of 110 leaves 650 unexplained), a
    tenth of a volt and more, so that the other has at least e**4 times the current, or saturates;
    without them it would mirror about twice the current only."""
    bench = Bench("""
rail +12 12V
U4 CA3046 8=OUT 6=IN 7=GND 9=IN 10=GND 13=GND
R1 10k +12 IN
R2 2k2 +12 OUT
state on +12=on
""")
    assert bench("on", "OUT") < 0.3


def test_power_arrays_carry_their_current() -> None:
    """ULN2064B: 1.1 V typical at 0.5 A, 1.4 V at 1.25 A at most (from memory)."""
    bench = Bench("""
rail +24 24V
rail +5 5V
U5 ULN2064B 3=+5 4=GND 1=+24 2=OUT
R1 22 +24 OUT
R2 1k +5 GND
state on +24=on
""")
    assert 0.7 < bench("on", "OUT") < 1.4


def test_a_slotted_sensor_gives_its_share_of_light() -> None:
    """Collector current = ratio x LED current until it saturates (the fields' own meaning)."""
    bench = Bench("""
rail +5 5V
OP1 slotted-sensor ctr=0.05 a=LED k=GND c=OUT e=GND
R1 190 +5 LED
R2 2k +5 OUT
state clear OP1=clear
state blocked OP1=blocked
""")
    led = (5.0 - bench("clear", "LED")) / 190.0
    assert bench("clear", "OUT") == pytest.approx(5.0 - 0.05 * led * 2000.0, abs=0.02)
    assert bench("blocked", "OUT") > 4.9
    dirty = "OP1 dirty"
    assert bench("clear", "OUT", dirty) == pytest.approx(5.0 - 0.005 * led * 2000.0, abs=0.02)
    assert bench("clear", "OUT", "OP1 misaligned") > bench("clear", "OUT", dirty)


@pytest.mark.parametrize(
    ("plus", "minus", "g", "high"),
    [(0.03, -0.03, "high", True), (-0.03, 0.03, "high", False), (-0.03, 0.03, "low", True)],
)
@pytest.mark.parametrize("kind", ["75107", "75108"])
def test_a_strobed_receiver(kind: str, plus: float, minus: float, g: str, high: bool) -> None:
    """Low only when A is below B by 25 mV and both strobes are high (function table of the
    SN75107A and SN75108A, from memory)."""
    bench = Bench(f"""
rail +5 5V
rail -5 -5V
rail A {plus}V ohms=100
rail B {minus}V ohms=100
offsheet G drive 74LS
R1 2k +5 RXD
U1 {kind} 1=A 2=B 4=RXD 5=G 6=+5 7=GND 13=-5 14=+5
state on G={g}
""")
    volts = bench("on", "RXD")
    assert volts > 2.4 if high else volts < 0.4


def test_a_dual_pair_carries_a_bit() -> None:
    """EIA RS-422-A: 2 V at least across 100 ohm."""
    bench = Bench("""
rail +5 5V
offsheet A drive 74LS
U1 9638 2=A 8=P 7=N 1=+5 4=GND
R1 100 P N
U2 9637 8=P 7=N 2=BACK 1=+5 4=GND
state one A=high
state zero A=low
""")
    assert bench("one", "P") - bench("one", "N") > 2.0
    assert bench("zero", "N") - bench("zero", "P") > 2.0
    assert (bench("one", "BACK") > 2.4, bench("zero", "BACK") < 0.5) == (True, True)


@pytest.mark.parametrize(("kind", "inverts"), [("8T26", True), ("8T28", False)])
def test_a_bus_line_is_driven_read_and_let_go(kind: str, inverts: bool) -> None:
    """AMD data sheet of the Am8T26A and Am8T28: drivers let go while DE is low, receivers while RE
    is high."""
    bench = Bench(f"""
rail +5 5V
offsheet D drive 74LS
offsheet DE drive 74LS
offsheet RE drive 74LS
U1 {kind} 4=D 3=BUS 2=READ 15=DE 1=RE 8=GND 16=+5
R1 1k BUS GND
R2 10k READ GND
state drive D=high DE=high RE=low
state free D=high DE=low RE=high
""")
    on_bus = bench("drive", "BUS")
    assert on_bus < 0.5 if inverts else on_bus > 2.4
    assert bench("drive", "READ") > 2.4
    assert bench("free", "BUS") < 0.2  # at most 200 uA out of its PNP input
    assert bench("free", "READ") < 0.1
