"""Digit drivers, the L200, switching regulators, power transistors: data sheets and paper."""

import pytest
from tests.parts.bench import Bench


@pytest.mark.parametrize(
    ("kind", "pins", "ohms"),
    [("75491", "1=IN 3=OUT 2=GND 4=GND", 78.0), ("75492", "A1=IN Y1=OUT GND=GND", 15.6)],
)
def test_digit_and_segment_drivers_saturate_below_their_limit(
    kind: str, pins: str, ohms: float
) -> None:
    """0.9 V typical, 1.2 V at most at 50 mA (75491) and 250 mA (75492), the input at 8.5 V or
    6.5 V behind 1 kilohm; below 0.2 mA of output with it open (data sheets, from memory)."""
    bench = Bench(f"""
rail +5 5V
rail DRIVE 8V
R1 1k DRIVE IN
R2 {ohms} +5 OUT
U1 {kind} {pins}
state on
state off DRIVE=0V
""")
    assert 0.6 < bench("on", "OUT") < 1.2
    assert (5.0 - bench("off", "OUT")) / ohms < 0.2e-3


def test_a_segment_driver_follows_with_its_emitter() -> None:
    """Two junctions below what the input reaches: kept apart from ground."""
    bench = Bench("""
rail +9 9V
R1 100 SEG GND
U1 75491 1=+9 3=+9 2=SEG 4=GND 11=+9
state on
""")
    assert 6.5 < bench("on", "SEG") < 8.0
    assert bench("on", "SEG", "U1 3 short to ground") > 8.0  # its collector and emitter as one


REGULATOR = Bench("""
rail RAW 20V
R1 820 OUT FB
R2 820 FB GND
R3 1 SENSE OUT
R4 100 OUT GND
SW1 switch OUT MORE
R5 4 MORE GND
U1 L200 1=RAW 2=OUT 3=GND 4=FB 5=SENSE
state light SW1=open
state short SW1=closed
""")


def test_an_l200_regulates_and_limits() -> None:
    """Output = 2.77 (1 + upper / lower); the limit is 0.45 V across the resistor of 1 ohm (data
    sheet: 2.64 to 2.86 V, 0.38 to 0.52 V)."""
    assert 2.0 * 2.64 < REGULATOR("light", "OUT") < 2.0 * 2.86
    amps = REGULATOR("short", "SENSE") - REGULATOR("short", "OUT")
    assert 0.38 < amps < 0.52
    assert REGULATOR("light", "OUT", "U1 dead") < 0.1
    assert REGULATOR("light", "OUT", "U1 pass short") > 18.0


@pytest.mark.parametrize(
    ("kind", "pins", "least", "most"),
    [
        ("78S40", "8=REF 11=GND 13=RAW", 1.18, 1.31),
        ("UC3842", "5=GND 7=RAW 8=REF", 4.9, 5.1),
        ("SG3525", "12=GND 15=RAW 16=REF", 5.0, 5.2),
    ],
)
def test_references_of_switching_controllers(
    kind: str, pins: str, least: float, most: float
) -> None:
    """Limits of the makers' data sheets, from memory."""
    bench = Bench(f"""
rail RAW 15V
R1 10k REF GND
U1 {kind} {pins}
state on
""")
    assert least < bench("on", "REF") < most
    assert bench("on", "REF", "U1 dead") < 0.1


def test_a_34063_has_a_switch_and_no_reference_pin() -> None:
    bench = Bench("""
rail RAW 12V
R1 100 RAW SW
U1 MC34063 1=SW 2=GND 4=GND 6=RAW
state on SW=low
state off SW=high
""")
    assert bench("on", "SW") < 1.0
    assert bench("off", "SW") > 11.9
    assert bench("on", "SW", "U1 1 output open") > 11.9


def test_the_diode_of_a_78s40() -> None:
    """A silicon junction at 10 mA: 0.5 to 0.8 V (tests/truth/part_levels.csv)."""
    bench = Bench("""
rail RAW 5V
R1 430 RAW A
U1 78S40 2=A 1=GND 11=GND 13=RAW
state on
""")
    assert 0.5 < bench("on", "A") < 0.8
    assert bench("on", "A", "U1 diode open") > 4.0


@pytest.mark.parametrize(("kind", "forward"), [("MOC3020", "30m"), ("MOC3023", "5m")])
def test_an_optotriac_conducts_both_ways_while_lit(kind: str, forward: str) -> None:
    """1.8 V typical, 3 V at most at 100 mA, its LED at the current that fires it (data sheets,
    from memory)."""
    ohms = (5.0 - 1.2) / (float(forward.rstrip("m")) * 1e-3)
    bench = Bench(f"""
rail +5 5V
rail UP 30V
rail DOWN -30V
SW1 switch +5 D
R1 {ohms:.0f} D LED
OP1 optotriac {kind} a=LED k=GND mt1=A mt2=GND
OP2 optotriac {kind} a=LED2 k=GND mt1=B mt2=GND
R4 {ohms:.0f} D LED2
R2 280 UP A
R3 280 DOWN B
state on SW1=closed
state off SW1=open
""")
    assert 1.0 < bench("on", "A") < 3.0
    assert 1.0 < -bench("on", "B") < 3.0
    assert bench("off", "A") > 29.9
    assert bench("on", "A", "OP1 output open") > 29.0
    assert bench("off", "A", "OP1 output short") < 2.0


def test_a_fast_coupler_pulls_its_output_low() -> None:
    """6N136: 0.4 V at most at 3 mA with 16 mA in its LED (data sheet, from memory)."""
    bench = Bench("""
rail +5 5V
SW1 switch +5 D
R1 220 D A
OP1 fast-coupler 6N136 a=A k=GND c=OUT e=GND vcc=+5
R2 1.6k +5 OUT
state on SW1=closed
state off SW1=open
""")
    assert bench("on", "OUT") < 0.4
    assert bench("off", "OUT") > 4.9


@pytest.mark.parametrize(
    ("kind", "volts", "ohms"),
    [("LM329", 6.9, 5100.0), ("LM385-1.2", 1.235, 100e3), ("BZX79C5V1", 5.1, 1380.0),
     ("1N753A", 6.2, 290.0)],
)  # fmt: skip
def test_zeners_and_references_stand_at_their_volts(kind: str, volts: float, ohms: float) -> None:
    """The nominal voltage at its test current (data sheets, from memory)."""
    bench = Bench(f"""
rail RAW 12V
R1 {ohms} RAW V
D1 zener {kind} a=GND k=V
state on
""")
    assert bench("on", "V") == pytest.approx(volts, rel=0.02)


def test_a_bipolar_prom_drives_its_bus_as_ttl() -> None:
    """0.45 V at most at 16 mA (data sheet of the 82S123, from memory); let go when not enabled."""
    bench = Bench("""
rail +5 5V
offsheet CE drive 74LS
U1 82S123 1=D0 15=CE
R1 290 +5 D0
state read CE=low D0=low
state off CE=high
""")
    assert bench("read", "D0") < 0.45
    assert bench("off", "D0") > 4.9
