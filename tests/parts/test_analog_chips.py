"""Amplifiers, timers, regulators, references and thyristors against datasheets and textbooks."""

from __future__ import annotations

import math

import pytest
from tests.parts.bench import Bench
from tests.parts.circuit import elements_of, part_of, solve

LINEAR = Bench("""
rail +15 15V
rail -15 -15V
rail +5 5V
U1 op-amp LM741 2=FB 3=GND 6=OUT 7=+15 4=-15
R1 10k IN FB
R2 100k FB OUT
R3 1k +5 IN
R4 180 IN GND
U2 dual-op-amp LM358 1=BUF 2=BUF 3=IN 8=+5 4=GND 5=+5 6=IN 7=TOP
R5 1k BUF GND
R6 2k TOP GND
U3 quad-op-amp TL074 1=SAT 2=GND 3=IN 4=+15 11=-15
R7 10k SAT GND
state on +5=on
""")


def test_inverting_and_following_amplifiers() -> None:
    """Gain -R2/R1 and 1 (P. Horowitz and W. Hill, The Art of Electronics, section 4.04)."""
    into = LINEAR("on", "IN")
    assert LINEAR("on", "OUT") == pytest.approx(-10.0 * into, rel=2e-3)
    assert LINEAR("on", "BUF") == pytest.approx(into, abs=1e-3)
    assert abs(LINEAR("on", "FB")) < 1e-3


def test_swing_ends_where_the_datasheet_says() -> None:
    """LM358: 1.5 V below its supply into 2 kilohm; TL074: 13.5 V of 15 V (from memory)."""
    assert LINEAR("on", "TOP") == pytest.approx(3.5, abs=0.3)
    assert LINEAR("on", "SAT") == pytest.approx(13.5, abs=0.5)


def test_an_amplifier_without_gain_loses_its_virtual_ground() -> None:
    """Gain of 20 left: closed-loop gain 10 / (1 + 11 / 20) (the same book, section 4.25)."""
    lost = "U1 6 lost gain"
    into = LINEAR("on", "IN", lost)
    assert LINEAR("on", "OUT", lost) == pytest.approx(-10.0 / (1.0 + 11.0 / 20.0) * into, rel=0.02)
    assert LINEAR("on", "FB", lost) > 0.1


def test_every_fault_of_the_amplifiers_is_resolved() -> None:
    assert LINEAR.unresolved("on") == 0


TIMER = Bench("""
rail +9 9V
R1 10k +9 TRIG
R2 1k TRIG GND
U1 555 2=TRIG 3=OUT 4=+9 6=CAP 7=DIS 5=CV
R3 10k +9 DIS
R5 1k OUT GND
U2 555 2=GND 3=SET 4=+9 6=GND
U3 555 2=+9 3=CLEAR 4=+9 6=+9
U4 555 2=GND 3=HELD 4=GND 6=GND
R6 100 SET GND
R7 68 CLEAR +9
R8 10k CAP GND
state on +9=on
""")


def test_timer_by_its_inputs() -> None:
    """Trigger low sets, threshold high clears, reset low holds (datasheet of the 555)."""
    assert TIMER("on", "SET") > 7.0
    assert TIMER("on", "CLEAR") < 1.5
    assert TIMER("on", "HELD") < 0.1
    assert TIMER("on", "OUT") > 7.0
    assert TIMER("on", "DIS") == pytest.approx(9.0, abs=0.1)
    assert TIMER("on", "CV") == pytest.approx(6.0, rel=0.01)


def test_thresholds_are_a_third_and_two_thirds_of_the_supply() -> None:
    """Datasheet of the 555: 3 V and 6 V of 9 V, approached to 0.2 V from both sides."""
    bench = Bench("""
rail +9 9V
rail LOW 2.8V
rail ABOVE 3.2V
rail BELOW 5.8V
rail HIGH 6.2V
U1 555 2=LOW 3=SET 4=+9 6=GND 8=+9
U2 555 2=ABOVE 3=KEPT 4=+9 6=BELOW 8=+9
U3 555 2=+9 3=CLEAR 4=+9 6=HIGH 8=+9
R1 1k SET GND
R2 1k KEPT GND
R3 1k CLEAR +9
state on +9=on
""")
    assert bench("on", "SET") > 7.0
    assert bench("on", "CLEAR") < 1.0
    assert {bench("on", "KEPT") > 4.5, bench.other("on", "KEPT") > 4.5} == {True, False}


def test_a_timer_between_its_thresholds_keeps_what_it_had() -> None:
    bench = Bench("""
rail +5 5V
offsheet TRIG drive 74HC
offsheet THR drive 74HC
U1 555 2=TRIG 3=OUT 4=+5 6=THR
R1 1k OUT GND
state either TRIG=high THR=low
state set TRIG=low THR=low then TRIG=high
state cleared TRIG=low THR=low then TRIG=high then THR=high then THR=low
""")
    assert {bench("either", "OUT") > 2.5, bench.other("either", "OUT") > 2.5} == {True, False}
    assert bench("set", "OUT") == pytest.approx(5.0 - 1.3, abs=0.4)
    assert bench("cleared", "OUT") < 0.2
    assert bench.unresolved("set") == 0


def test_a_free_running_timer_does_not_stop_the_rest() -> None:
    bench = Bench("""
rail +5 5V
U1 555 2=C 3=OUT 4=+5 6=C 7=D
R1 10k +5 D
R2 10k D C
C1 100n C GND
state on +5=on
""")
    assert bench.unresolved("on") == 0
    assert bench("on", "+5") == pytest.approx(5.0, rel=0.01)


SUPPLY = Bench("""
rail RAW 20V ohms=0.5
U1 723 5=VREF 6=VREF 4=FB 10=OUT 2=OUT 3=LOAD 11=RAW 12=RAW 7=GND 13=CMP 9=-
R1 2.2 OUT LOAD
R2 4k7 LOAD FB
R3 6k8 FB GND
R4 1k LOAD GND
U2 TL431 ref=DIV a=GND k=SH
R5 1k RAW SH
R6 10k SH DIV
R7 10k DIV GND
U3 LM317 in=RAW gnd=ADJ out=V3
R8 240 V3 ADJ
R9 720 ADJ GND
R10 100 V3 GND
U4 regulator 7812 in=RAW gnd=GND out=V12
R13 1k V12 GND
state on RAW=on
""")


def test_reference_and_output_of_the_723() -> None:
    """Reference 7.15 V (6.8 to 7.5 V); output = 7.15 (R2 + R3) / R3: datasheet, from memory."""
    assert SUPPLY("on", "VREF") == pytest.approx(7.15, rel=0.005)
    assert SUPPLY("on", "LOAD") == pytest.approx(7.15 * (4.7 + 6.8) / 6.8, rel=0.005)
    assert SUPPLY("on", "LOAD", "U1 pass short") > 18.0


def test_the_723_limits_its_current() -> None:
    """Limit = 0.65 V / Rsc: datasheet, from memory; the model's drive adds up to a third."""
    bench = Bench("""
rail RAW 20V ohms=0.1
U1 723 5=VREF 6=VREF 4=LOAD 10=OUT 2=OUT 3=LOAD 11=RAW 12=RAW 7=GND 13=CMP 9=-
R1 10 OUT LOAD
R4 22 LOAD GND
state on RAW=on
""")
    assert bench("on", "LOAD") / 22.0 == pytest.approx(0.65 / 10.0, rel=0.4)


def test_output_of_the_317() -> None:
    """1.25 (1 + R9/R8) + 50 uA R9: datasheet, from memory."""
    wanted = 1.25 * (1.0 + 720.0 / 240.0) + 50e-6 * 720.0
    assert SUPPLY("on", "V3") == pytest.approx(wanted, rel=0.01)


def test_a_type_number_of_figures_is_no_value() -> None:
    assert SUPPLY("on", "V12") == pytest.approx(12.0, rel=0.01)


def test_the_431_holds_twice_its_reference() -> None:
    """2.495 V; twice that behind equal resistors (datasheet of the TL431, from memory)."""
    assert SUPPLY("on", "DIV") == pytest.approx(2.495, rel=0.004)
    assert SUPPLY("on", "SH") == pytest.approx(2.0 * 2.495, rel=0.004)
    assert SUPPLY("on", "SH", "U2 open") > 15.0


def test_the_431_impedance() -> None:
    """0.2 ohm typical at 10 mA: datasheet, from memory."""
    elements = elements_of(part_of("shunt-reference", "ref a k", type="TL431"))
    volts = [
        solve(elements, {"a": 0.0, "k": 5.0, "ref": v}, {}, {"~c": 3.0, "~b": 0.05})[1]["k"]
        for v in (2.495, 2.4955)
    ]
    assert volts[0] == pytest.approx(10e-3, rel=0.05)
    assert 0.5e-3 / (volts[1] - volts[0]) == pytest.approx(0.2, rel=0.15)


THYRISTOR = Bench("""
rail +12 12V
rail +5 5V
R9 1k +5 GND
offsheet FIRE drive 74HC
R1 470 FIRE G
Q1 scr C106B a=L g=G k=GND
R2 100 +12 L
Q2 triac BT136 mt2=M g=H mt1=GND
R3 100 FIRE H
R4 100 +12 M
state off FIRE=low
state fired FIRE=high
state held FIRE=high then FIRE=low
state dropped FIRE=high then FIRE=low +12=off then +12=on
""")


@pytest.mark.parametrize(("net"), ["L", "M"])
def test_a_thyristor_latches_until_its_current_stops(net: str) -> None:
    """On it drops about a volt (P. Horowitz and W. Hill, The Art of Electronics, 6.1: SCR)."""
    assert THYRISTOR("off", net) > 11.8
    assert 0.6 < THYRISTOR("fired", net) < 1.6
    assert 0.6 < THYRISTOR("held", net) < 1.6
    assert THYRISTOR("dropped", net) > 11.8


def test_a_thyristor_needs_its_gate_current() -> None:
    """C106: fires below 0.2 mA; with its gate shorted never."""
    assert THYRISTOR("fired", "L", "Q1 gate short") > 11.5
    assert THYRISTOR("off", "L", "Q1 short") < 1.0


def test_a_full_wave_rectifier() -> None:
    """Crest less two diodes, less the mean fall I / (4 f C) of its reservoir (Horowitz and Hill,
    section 1.28: ripple I / (2 f C)) and the drop in the copper."""
    bench = Bench("""
T1 rectified-supply 9V reservoir=1000u mains=50 ohms=0.5 +=RAW -=GND
R1 100 RAW GND
T2 transformer 9V ohms=0.5 3=S1 5=S2 4=- 1=P 2=Q
R3 1k P Q
BR1 bridge W04 ac1=S1 ac2=S2 +=RAW2 -=GND
R2 100 RAW2 GND
rail +5 5V
R9 1k +5 GND
state positive T2=positive
state negative T2=negative
""")
    amps = bench("positive", "RAW") / 100.0
    fall = amps * (1.0 / (4.0 * 50.0 * 1000e-6) + 0.5)
    junction = 2.0 * 0.025865 * math.log(amps / 15e-9)
    assert bench("positive", "RAW") == pytest.approx(9.0 * math.sqrt(2.0) - 2.0 * junction - fall,
                                                      rel=0.01)  # fmt: skip
    crest = 9.0 * math.sqrt(2.0) - 0.5 * amps
    for state in ("positive", "negative"):
        assert bench(state, "RAW2") == pytest.approx(crest - 2.0 * 0.8, abs=0.25)
    open_leg = "BR1 ac1 to + open"
    assert bench("positive", "RAW2", open_leg) < 1.0
    assert bench("negative", "RAW2", open_leg) > 9.0
    dried = bench("positive", "RAW", "T1 reservoir dried out")
    assert dried < bench("positive", "RAW") - 2.0


def test_a_relay_follows_its_coil() -> None:
    """Pulls in by 75 % of its rated voltage, drops out at 10 % (common practice, no source)."""
    bench = Bench("""
rail +12 12V
K1 relay 250 volts=12V 1=COIL 2=GND com=+12 no=NO nc=NC com2=- no2=- nc2=-
R1 1k NO GND
R2 1k NC GND
R3 10 +12 COIL
state on +12=on
state weak +12=9V
state low +12=1.2V
""")
    assert bench("on", "NO") == pytest.approx(12.0, rel=0.01)
    assert bench("on", "NC") < 0.01
    assert bench("weak", "NO") == pytest.approx(9.0, rel=0.01)
    assert bench("low", "NC") == pytest.approx(1.2, rel=0.01)
    assert bench("on", "NC", "K1 coil open") == pytest.approx(12.0, rel=0.01)
    assert bench("low", "NO", "K1 com-no welded") == pytest.approx(1.2, rel=0.01)
