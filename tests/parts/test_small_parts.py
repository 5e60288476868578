"""Varistors, diacs, thermistors, displays, switch banks, delay lines: standards and data sheets."""

import pytest
from tests.parts.bench import Bench
from tests.parts.circuit import part_of

from halfsplit.errors import BoardError
from halfsplit.parts.registry import KINDS


@pytest.mark.parametrize("sign", ["", "-"])
def test_a_varistor_has_its_value_at_one_milliampere_both_ways(sign: str) -> None:
    """IEC 61051-1: the varistor voltage is that at 1 mA."""
    bench = Bench(f"""
rail HIGH {sign}143V
R1 43k HIGH A
RV1 varistor 100V A GND
rail LOW {sign}80V
R2 43k LOW B
RV2 varistor 100V B GND
state on
""")
    assert abs(bench("on", "A")) == pytest.approx(100.0, rel=0.02)
    assert abs(bench("on", "B")) == pytest.approx(80.0, rel=0.01)


def test_a_diac_blocks_below_its_breakover() -> None:
    """DB3: 28 to 36 V, below 10 uA at half of it (data sheet, from memory)."""
    bench = Bench("""
rail IN 16V
R1 100k IN A
D1 diac DB3 A GND
rail MORE 60V
R2 10k MORE B
D2 diac DB3 B GND
state on
""")
    assert 16.0 - bench("on", "A") < 1.0
    assert 28.0 < bench("on", "B") < 36.0


@pytest.mark.parametrize(("celsius", "ohms"), [("0.01", 33620), ("25", 10000), ("50", 3588)])
def test_an_ntc_follows_its_beta(celsius: str, ohms: float) -> None:
    """R = R25 exp(B (1/T - 1/T25)) (IEC 60539-1), 10 kilohm and 3950 K, worked by hand."""
    part = part_of("ntc", "1 2", value=10e3, fields={"beta": "3950", "celsius": celsius})
    (element,) = KINDS.get("ntc").elements(part)
    assert 1.0 / element.params["g"] == pytest.approx(ohms, rel=2e-3)


def test_a_display_lights_what_is_pulled_low() -> None:
    bench = Bench("""
rail +5 5V
R1 330 SA GND
R2 330 SB OPEN
R3 1M OPEN GND
DS1 display-anode a=SA b=SB com=+5
state on
""")
    assert 5.0 - bench("on", "SA") == pytest.approx(1.75, abs=0.05)
    assert bench("on", "SA", "DS1 a open") < 0.1


def test_poles_of_a_dip_switch_face_each_other() -> None:
    bench = Bench("""
rail +5 5V
R1 10k +5 A0
R2 10k +5 A1
R3 10k +5 A7
SW1 dip-switch-8 on=18 1=A0 16=GND 2=A1 15=GND 8=A7 9=GND
state on
""")
    assert (bench("on", "A0") < 0.01, bench("on", "A1") > 4.9) == (True, True)
    assert bench("on", "A7") < 0.01


def test_a_pole_that_is_not_there_is_refused() -> None:
    part = part_of("dip-switch-4", "1 8", fields={"on": "15"})
    with pytest.raises(BoardError, match="digits from 1 to 4"):
        KINDS.get("dip-switch-4").elements(part)


def test_a_state_presses_a_key() -> None:
    bench = Bench("""
rail +5 5V
R1 10k +5 C1
R2 10k +5 C2
SW1 keypad-4x3 r1=GND r2=ROW2 c1=C1 c2=C2
R3 10k ROW2 GND
state pressed SW1=r1c2
state up
""")
    assert (bench("pressed", "C1") > 4.9, bench("pressed", "C2") < 0.01) == (True, True)
    assert bench("up", "C2") > 4.9


def test_taps_follow_the_input() -> None:
    bench = Bench("""
rail +5 5V
offsheet A drive 74LS
U1 delay-line 1=A 12=T1 8=T5
R1 10k T1 GND
R2 10k T5 GND
state high A=high
state low A=low
""")
    assert (bench("high", "T1") > 2.7, bench("high", "T5") > 2.7) == (True, True)
    assert bench("low", "T5") < 0.5


@pytest.mark.parametrize(
    ("kind", "pins", "low", "high"),
    [
        ("TL494", "7=GND 8=SW 9=GND 12=RAW 14=REF", 4.75, 5.25),
        ("SG3524", "8=GND 12=SW 11=GND 15=RAW 16=REF", 4.6, 5.4),
    ],
)
def test_a_pulse_width_controller_has_its_reference_and_a_state_stops_it(
    kind: str, pins: str, low: float, high: float
) -> None:
    """TL494/D and the SG3524's data sheet of 1994: the reference's limits at 1 mA and more."""
    bench = Bench(f"""
rail RAW 12V
R1 4.7k REF GND
R2 1k RAW SW
U1 {kind} {pins}
state on SW=low
state off SW=high
""")
    assert low < bench("off", "REF") < high
    assert bench("on", "SW") < 0.5
    assert bench("off", "SW") > 11.9
    assert bench("on", "REF", "U1 dead") < 0.1
    assert bench("on", "SW", "U1 dead") > 11.9
