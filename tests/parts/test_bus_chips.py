"""Bus chips and bridges with a load supply of their own, against data sheets."""

import pytest
from tests.parts.bench import Bench

from halfsplit.parts.registry import KINDS


@pytest.mark.parametrize(
    ("ours", "sister"),
    [("8T95", "74365"), ("8T96", "74366"), ("8T97", "74367"), ("8T98", "74368")],
)
def test_hex_buffers_have_the_pins_of_their_sisters(ours: str, sister: str) -> None:
    """Pin for pin (cross-references of the makers), whose pinouts have a second statement."""
    mine, other = (KINDS.get(name).word.pins for name in (ours, sister))
    assert [(pin.name, pin.role) for pin in mine] == [(pin.name, pin.role) for pin in other]


def test_a_hex_buffer_on_a_loaded_bus() -> None:
    """0.5 V at most at 48 mA, 2.4 V at least at 5.2 mA (data sheet of the 8T97, from memory)."""
    bench = Bench("""
rail +5 5V
offsheet D drive 74LS
offsheet EN drive 74LS
U1 8T97 1=EN 2=D 3=LOW 4=D 5=HIGH
R1 94 +5 LOW
R2 470 HIGH GND
state zero D=low EN=low
state one D=high EN=low
state off D=low EN=high
""")
    assert bench("zero", "LOW") < 0.5
    assert bench("one", "HIGH") > 2.4
    assert bench("off", "LOW") > 4.5
    assert bench("off", "LOW", "U1 3, 5 always enabled") < 0.5


def test_a_latch_keeps_what_it_took() -> None:
    """8282: transparent while STB is high; 8283 the same inverted (function tables)."""
    text = """
rail +5 5V
offsheet D drive 74LS
offsheet STB drive 74LS
U1 {} 1=D 9=GND 11=STB 19=Q
R1 10k Q GND
state through D=high STB=high
state kept D=high STB=high then STB=low then D=low
"""
    same, turned = Bench(text.format("8282")), Bench(text.format("8283"))
    for state in ("through", "kept"):
        assert same(state, "Q") > 2.4
        assert turned(state, "Q") < 0.5


@pytest.mark.parametrize(("kind", "same"), [("8286", True), ("8287", False)])
def test_a_transceiver_turns_round(kind: str, same: bool) -> None:
    bench = Bench(f"""
rail +5 5V
offsheet T drive 74LS
U1 {kind} 1=A 9=GND 11=T 19=B
R1 2.2k +5 A
R2 2.2k B GND
state out T=high
state in T=low
""")
    assert (bench("out", "B") > 2.0) is same
    assert (bench("in", "A") > 2.0) is not same  # B is held low by its resistor


@pytest.mark.parametrize(("kind", "same"), [("8216", True), ("8226", False)])
def test_a_bus_driver_of_four_bits(kind: str, same: bool) -> None:
    """DIEN low: DI to DB; high: DB to DO (data sheet, truth table)."""
    bench = Bench(f"""
rail +5 5V
offsheet DI drive 74LS
offsheet DIR drive 74LS
offsheet CS drive 74LS
U1 {kind} 1=CS 4=DI 3=DB 2=DO 15=DIR
R1 2.2k +5 DB
R2 10k DO GND
state write CS=low DIR=low DI=low
state read CS=low DIR=high DI=low
state off CS=high DIR=high DI=low
""")
    assert (bench("write", "DB") < 0.6) is same
    assert (bench("read", "DO") > 2.4) is same
    assert bench("off", "DO") < 0.1


def test_an_8212_as_latch_and_as_buffer() -> None:
    """MD high: outputs on, taken while selected; MD low: taken by STB, outputs on while selected
    (data sheet, functional description)."""
    bench = Bench("""
rail +5 5V
offsheet D drive 74LS
offsheet MD drive 74LS
offsheet DS drive 74LS
offsheet STB drive 74LS
U1 8212 1=GND 2=MD 3=D 4=Q 11=STB 13=DS 14=+5
R1 10k Q GND
state out MD=high D=high DS=high STB=low then DS=low then D=low
state in MD=low D=high DS=low STB=high then STB=low then D=low then DS=high
state off MD=low D=high DS=low STB=high
""")
    assert bench("out", "Q") > 2.4
    assert bench("in", "Q") > 2.4
    assert bench("off", "Q") < 0.1


BRIDGE = """
rail +5 5V
rail +24 24V
offsheet A drive 74LS
offsheet B drive 74LS
offsheet EN drive 74LS
state right A=high B=low EN=high
state stop A=low B=low EN=high
state off A=high B=low EN=low
"""


def test_a_298_drives_a_load_both_ways() -> None:
    """At 1 A: 0.95 to 1.7 V above, 0.85 to 1.6 V below, 1.8 to 3.2 V together (data sheet, from
    memory); the current comes out at the sense pin (Kirchhoff)."""
    bench = Bench(
        BRIDGE
        + """
U1 L298 6=EN 5=A 7=B 2=M1 3=M2 4=+24 1=SENSE 8=GND 9=+5
R1 21 M1 M2
R2 0.5 SENSE GND
"""
    )
    amps = (bench("right", "M1") - bench("right", "M2")) / 21.0
    assert 0.95 < bench("right", "+24") - bench("right", "M1") < 1.7
    assert 0.85 < bench("right", "M2") - bench("right", "SENSE") < 1.6
    assert bench("right", "SENSE") == pytest.approx(0.52 * amps, rel=0.02)  # two joints
    assert abs(bench("stop", "M1") - bench("stop", "M2")) < 0.1
    assert abs(bench("off", "M1") - bench("off", "M2")) < 0.1
    assert bench("right", "M2", "U1 3 open") > 20.0


@pytest.mark.parametrize(("kind", "ohms"), [("L293", 21.4), ("L293D", 35.7)])
def test_a_293_drops_what_its_sheet_says(kind: str, ohms: float) -> None:
    """1.4 V typical, 1.8 V at most above, 1.2 V and 1.8 V below, at its rated current (from
    memory)."""
    bench = Bench(
        BRIDGE
        + f"""
U1 {kind} 1=EN 2=A 7=B 3=M1 6=M2 8=+24 4=GND 5=GND 16=+5
R1 {ohms} M1 M2
"""
    )
    assert 1.0 < bench("right", "+24") - bench("right", "M1") < 1.8
    assert 0.9 < bench("right", "M2") < 1.8


def test_a_source_driver_only_pushes() -> None:
    """1.6 V typical, 1.8 V at most at 100 mA; 2 V at most at 350 mA (data sheet, from memory)."""
    bench = Bench("""
rail +5 5V
rail +24 24V
offsheet A drive 74LS
offsheet B drive 74LS
U1 2981 1=A 2=B 18=LAMP 17=MORE 9=+24 10=GND
R1 223 LAMP GND
R2 63 MORE GND
state on A=high B=high
state off A=low B=low
""")
    assert 1.2 < bench("on", "+24") - bench("on", "LAMP") < 1.8
    assert bench("on", "+24") - bench("on", "MORE") < 2.0
    assert bench("off", "LAMP") < 0.1
