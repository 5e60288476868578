"""Transistors that lead to pins, and buffers with two supplies, against their data sheets."""

import pytest
from tests.parts.bench import Bench


def test_a_transistor_of_100_ma_saturates_as_its_sheet_says() -> None:
    """CA3083: VCE 0.40 V typical at 50 mA and 5 mA in the base; VBE 0.74 V at 10 mA (read)."""
    bench = Bench("""
rail +5 5V
R1 92 +5 C
R2 830 +5 B
R3 1k +5 D
R4 430 +5 COL
U1 CA3083 C1=C B1=B E1=GND C2=D B2=D E2=GND SUB=GND
state on
""")
    assert bench("on", "C") == pytest.approx(0.40, abs=0.08)
    assert 0.60 < bench("on", "D") < 0.74


@pytest.mark.parametrize(("a", "g"), [(0, 0), (0, 1), (1, 0), (1, 1)])
def test_a_75450_wired_as_a_driver_is_an_and(a: int, g: int) -> None:
    """Gate output to base: the lamp is on while the NAND is high, so Y = A and G as in a 75451;
    0.5 V typical, 0.7 V at most at 300 mA (SLRS021, of the 75451B)."""
    bench = Bench(f"""
rail +5 5V
rail +12 12V
offsheet A drive 74LS
offsheet G drive 74LS
U1 75450 1=G 2=A 3=BASE 4=BASE 5=LAMP 6=GND 8=GND 14=+5 7=GND
R2 38 +12 LAMP
state s A={["low", "high"][a]} G={["low", "high"][g]}
""")
    lit = not (a and g)
    volts = bench("s", "LAMP")
    assert (0.2 < volts < 0.7) if lit else volts > 11.9


@pytest.mark.parametrize(("kind", "high"), [("4009", False), ("4010", True)])
def test_two_supplies_shift_a_level(kind: str, high: bool) -> None:
    """Inputs switch at half of VDD, 12 V; outputs swing to VCC, 5 V (CD4009UB data sheet: VDD is
    the supply of the inputs, VCC that of the outputs)."""
    bench = Bench(f"""
rail +5 5V
rail +12 12V
rail IN 12V ohms=1
U1 {kind} 3=IN 2=OUT 16=+12 1=+5
R1 100k OUT GND
state over IN=7.5V
state under IN=4.5V
""")
    for state, level in (("over", high), ("under", not high)):
        volts = bench(state, "OUT")
        assert (4.9 < volts < 5.0) if level else volts < 0.05
