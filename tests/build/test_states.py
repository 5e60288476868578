"""What states set: rails, connectors, off-sheet drives, settings, steps and pulses."""

import numpy as np
import pytest
from tests.build.worlds import number, volts, world

from halfsplit.errors import BoardError, UnknownName

SUPPLIES = """
rail +5 5V ohms=0.001
rail +12 12V ohms=1
R1 1k +5 A
R2 1k A GND
R3 100 +12 B
R4 20 B GND
J1 connector 1=B 2=GND
R5 10 J1/1 J1/2
state on
state off-12 +12=off
state bench +5=4.5V
state bare J1=out
state dead rails=off
"""


def test_rails_follow_the_state() -> None:
    """By Ohm's law: 20 beside 10 ohm under 101; joints of 10 milliohm are the rest."""
    loaded = 1.0 / (1.0 / 20.0 + 1.0 / 10.06)
    assert volts(SUPPLIES, "on", "net A") == pytest.approx(2.5, abs=1e-3)
    assert volts(SUPPLIES, "on", "net B") == pytest.approx(
        12.0 * loaded / (101.0 + loaded), rel=4e-3
    )
    assert volts(SUPPLIES, "off-12", "net B") == pytest.approx(0.0, abs=1e-3)
    assert volts(SUPPLIES, "off-12", "net A") == pytest.approx(2.5, abs=1e-3)
    assert volts(SUPPLIES, "bench", "net A") == pytest.approx(2.25, abs=1e-3)
    assert volts(SUPPLIES, "dead", "net A") == pytest.approx(0.0, abs=1e-3)


def test_rails_missing_and_low() -> None:
    assert volts(SUPPLIES, "on", "net A", "+5 missing") == pytest.approx(0.0, abs=1e-2)
    assert volts(SUPPLIES, "on", "net A", "+5 low") == pytest.approx(0.6 * 2.5, abs=1e-3)
    assert volts(SUPPLIES, "on", "net B", "+5 missing") == pytest.approx(
        volts(SUPPLIES, "on", "net B"), abs=1e-6
    )


def test_an_unplugged_connector_takes_its_far_side_off() -> None:
    assert volts(SUPPLIES, "bare", "net B") == pytest.approx(12.0 * 20.0 / 121.0, rel=1e-3)
    assert volts(SUPPLIES, "bare", "net J1/1") == pytest.approx(0.0, abs=1e-3)
    assert volts(SUPPLIES, "on", "net J1/1") == pytest.approx(
        volts(SUPPLIES, "on", "net B"), rel=5e-3
    )


OFFSHEET = """
rail +5 5V
R1 10k A GND
R2 10k +5 A
R3 1k B GND
R4 100k C GND
R5 100k +5 C
R6 1k D GND
R7 1k +5 D
offsheet A drive 74LS
offsheet B load 74LS 2
offsheet C unknown
offsheet D load 2k GND
state low A=low
state high A=high
state open A=open
state half A=2.5V C=high
"""


def test_off_sheet_drives_and_loads() -> None:
    """LS output levels: at most 0.5 V, at least 2.7 V (data sheets, from memory)."""
    assert volts(OFFSHEET, "low", "net A") < 0.5
    assert volts(OFFSHEET, "high", "net A") > 2.7
    assert volts(OFFSHEET, "open", "net A") == pytest.approx(2.5, abs=0.02)
    # two LS inputs push at most 0.4 mA each into 1k
    assert 0.2 < volts(OFFSHEET, "low", "net B") < 0.8
    # 1k beside 2k under 1k
    assert volts(OFFSHEET, "low", "net D") == pytest.approx(5.0 * (2 / 3) / (5 / 3), rel=2e-3)


def test_an_unknown_neighbour_makes_the_prediction_wide() -> None:
    compiled = world(OFFSHEET)
    spread = compiled.volts("low", ["net C", "net D"]).spread[0]
    assert spread[0] > 3.0 * spread[1]
    assert volts(OFFSHEET, "half", "net C") > volts(OFFSHEET, "low", "net C") + 1.0


FLIPFLOP = """
rail +5 5V
U1 74LS175 1=RST 4=D 2=Q 3=NQ 9=CK
R1 1k +5 RST
offsheet D drive 74LS
offsheet CK drive 74LS
offsheet Q load 74LS 1
state fresh D=high CK=low
state one D=high CK=low pulse CK
state zero D=low CK=low pulse CK
state kept D=high CK=low pulse CK then D=low
state reset D=high CK=low pulse CK then RST=low
"""
TRANSPARENT = """
rail +5 5V
U1 74LS373 1=GND 11=LE 3=D 2=Q
offsheet D drive 74LS
offsheet LE drive 74LS
offsheet Q load 74LS 1
state follows D=high LE=high
state held D=high LE=high then LE=low then D=low
"""


def test_a_pulse_stores_and_what_comes_after_does_not() -> None:
    """The 74LS175's function table (data sheet): Q takes D at the rising edge."""
    assert volts(FLIPFLOP, "one", "U1.2") > 2.7
    assert volts(FLIPFLOP, "one", "U1.3") < 0.5
    assert volts(FLIPFLOP, "zero", "U1.2") < 0.5
    assert volts(FLIPFLOP, "kept", "U1.2") > 2.7


def test_a_transparent_latch_follows_and_holds() -> None:
    """The 74LS373's function table (data sheet)."""
    assert volts(TRANSPARENT, "follows", "U1.2") > 2.7
    assert volts(TRANSPARENT, "held", "U1.2") > 2.7
    assert volts(TRANSPARENT, "held", "U1.3") < 0.5


def test_an_open_data_input_stores_a_one() -> None:
    """A TTL input left open is taken as high (common practice)."""
    assert volts(FLIPFLOP, "zero", "U1.2", "U1.4 joint open") > 2.7


def other(state: str, place: str, fault: str) -> float:
    compiled = world(FLIPFLOP)
    return float(compiled.volts(state, [place]).other[number(compiled, fault), 0])


def test_what_was_never_clocked_may_stand_either_way() -> None:
    mean, second = volts(FLIPFLOP, "fresh", "U1.2"), other("fresh", "U1.2", "healthy")
    assert sorted((mean < 0.5, second < 0.5)) == [False, True]
    assert max(mean, second) > 2.7
    assert np.isnan(other("one", "U1.2", "healthy"))


def test_a_clock_that_does_not_arrive_leaves_the_bit_unknown() -> None:
    for fault in ("U1.9 joint open", "U1.9 track broken"):
        assert not np.isnan(other("one", "U1.2", fault))
        assert not np.isnan(other("zero", "U1.2", fault))


def test_a_reset_held_low_is_known() -> None:
    assert volts(FLIPFLOP, "one", "U1.2", "U1 1 shorted to ground") < 0.5
    assert np.isnan(other("one", "U1.2", "U1 1 shorted to ground"))


PRESET = """
rail +5 5V
U1 74LS74 1=CLR 2=GND 3=GND 4=PRE 5=Q 6=NQ
offsheet CLR drive 74LS
offsheet PRE drive 74LS
offsheet Q load 74LS 1
state both CLR=low PRE=low
state raced CLR=low PRE=low then CLR=high PRE=high
state kept CLR=low PRE=low then CLR=high then PRE=high
state cleared CLR=low PRE=low then CLR=high PRE=high then CLR=low then CLR=high
"""


def test_preset_and_clear_let_go_at_once_leave_what_nobody_knows() -> None:
    """Function table of the SN74LS74A: with both low both outputs are high, which "does not persist
    when PRE or CLR returns to its inactive level": the last to let go decides, or nobody knows."""
    told = {
        state: world(PRESET).volts(state, ["U1.5", "U1.6"])
        for state in ("both", "raced", "kept", "cleared")
    }
    q, nq = np.transpose([told["raced"].mean[0], told["raced"].other[0]])
    assert sorted(q > 2.7) == [False, True]
    assert list(nq > 2.7) == list(q < 0.5)
    assert (told["both"].mean[0] > 2.7).all()
    for state, high in (("kept", 0), ("cleared", 1)):
        assert np.isnan(told[state].other[0]).all()
        assert told[state].mean[0, high] > 2.7
        assert told[state].mean[0, 1 - high] < 0.5


def test_words_that_mean_nothing_are_refused() -> None:
    """At the state's first use, with the place in the file or the names there are."""
    with pytest.raises(UnknownName, match=r"on|bare"):
        world(SUPPLIES).volts("nowhere", ["net A"])
    text = "rail +5 5V\nR1 1k +5 A\nR2 1k A GND\nstate on A=low\n"
    with pytest.raises(BoardError, match="offsheet A drive"):
        world(text).volts("on", ["net A"])


RING = """
rail +5 5V
U1 74LS04 1=HOST 2=SEL
U2 74LS125 1=SEL 2=GND 3=DATA
R1 4k7 +5 DATA
R2 10k +5 FAR
J1 connector 1=HOST 2=DATA 3=FAR
offsheet HOST drive 74LS
offsheet DATA load 74LS 1
state on HOST=high
"""


def test_a_ring_that_may_oscillate_is_told_half_way_and_wide() -> None:
    """HOST bridged to DATA: enabled, the buffer pulls HOST low, which disables it. A meter shows
    an average between the levels (common practice); what is not in the ring stays sure."""
    compiled = world(RING)
    found = compiled.volts("on", ["net HOST", "net DATA", "net SEL", "net FAR"])
    row = number(compiled, "J1 1-2 bridged")
    assert not found.unresolved.any()
    assert ((found.mean[row, :3] > 0.4) & (found.mean[row, :3] < 3.0)).all()
    assert (found.spread[row, :2] > 0.7).all()
    assert found.spread[row, 3] == pytest.approx(found.spread[0, 3], rel=0.05)
