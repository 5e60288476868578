"""The 3900 in its textbook circuits, worked by hand (National AN-72)."""

import pytest
from tests.parts.bench import Bench


def test_an_amplifier_biased_by_its_mirror_rests_at_half_its_supply() -> None:
    """The current of the supply through 2 R into plus is copied; the output gives it back
    through R: about half of the supply."""
    bench = Bench("""
rail +12 12V
R1 2M +12 P
R2 1M OUT M
U1 LM3900 1=P 6=M 5=OUT 7=GND 14=+12
state on
""")
    mirrored = (12.0 - 0.57) / 2e6
    assert bench("on", "OUT") == pytest.approx(0.57 + mirrored * 1e6, abs=0.3)
    assert bench("on", "M") == pytest.approx(0.57, abs=0.03)
    assert bench("on", "OUT", "U1 1 mirror off") < 1.0


@pytest.mark.parametrize(("into", "high"), [("1V", False), ("3V", True)])
def test_a_comparator_of_currents(into: str, high: bool) -> None:
    bench = Bench(f"""
rail +12 12V
rail IN {into}
rail REF 2V
R1 1M IN P
R2 1M REF M
U1 LM3900 1=P 6=M 5=OUT 7=GND 14=+12
state on
""")
    assert (bench("on", "OUT") > 10.5) if high else bench("on", "OUT") < 0.3


def test_it_gives_more_than_it_takes() -> None:
    """1.3 mA into it (SLOS059, schematic), more than 6 mA out (least source current, memory)."""
    bench = Bench("""
rail +12 12V
R1 1M +12 P1
R3 1k OUT1 GND
R4 1M +12 M2
R5 12k +12 OUT2
R6 1M OUT3 M3
R7 470 OUT3 GND
R8 2M +12 P3
U1 LM3900 1=P1 5=OUT1 3=M2 4=OUT2 8=M3 9=OUT3 13=P3 7=GND 14=+12
state on
""")
    assert bench("on", "OUT1") > 9.5
    assert 0.1 < bench("on", "OUT2") < 0.6
    assert bench("on", "OUT3") == pytest.approx(6.3, abs=0.4)
