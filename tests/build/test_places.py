"""Legs, pads and nets: which of them follows which when a joint or a track is open."""

import pytest
from tests.build.worlds import number, volts, world

DIVIDER = """
rail +5 5V ohms=0.001
R1 1k +5 MID
R2 1k MID GND
R3 3k MID GND
state on
"""
SOCKETED = """
rail +5 5V ohms=0.001
U1 74LS04 1=A 2=Y 3=Y 4=Z ; socketed
offsheet A drive 74LS
offsheet Z load 74LS 1
state low A=low
state high A=high
"""


def test_a_good_joint_has_one_voltage_on_both_sides() -> None:
    for place in ("R2.1", "R2.1/pad", "R1.2", "R1.2/pad", "net MID"):
        assert volts(DIVIDER, "on", place) == pytest.approx(5.0 * 0.75 / 1.75, abs=1e-3)


def test_an_open_joint_parts_the_leg_and_leaves_the_pad_with_the_net() -> None:
    """R2's leg hangs on R2 alone; its pad and the net see 1k over 3k: paper."""
    fault = "R2.1 joint open"
    assert volts(DIVIDER, "on", "R2.1", fault) == pytest.approx(0.0, abs=1e-3)
    for place in ("R2.1/pad", "net MID", "R1.2", "R3.1/pad"):
        assert volts(DIVIDER, "on", place, fault) == pytest.approx(3.75, abs=2e-3)


def test_a_broken_track_takes_the_pad_along_with_the_leg() -> None:
    fault = "R2.1 track broken"
    for place in ("R2.1", "R2.1/pad"):
        assert volts(DIVIDER, "on", place, fault) == pytest.approx(0.0, abs=1e-3)
    for place in ("net MID", "R1.2/pad", "R3.1/pad"):
        assert volts(DIVIDER, "on", place, fault) == pytest.approx(3.75, abs=2e-3)


def test_a_poor_joint_drops_what_its_current_drops() -> None:
    """100 ohm in series with R2: 1.1k beside 3k under 1k."""
    fault = "R2.1 joint resistive"
    low = 1.0 / (1.0 / 1100.0 + 1.0 / 3000.0)
    net = 5.0 * low / (1000.0 + low)
    assert volts(DIVIDER, "on", "R2.1/pad", fault) == pytest.approx(net, rel=2e-3)
    assert volts(DIVIDER, "on", "R2.1", fault) == pytest.approx(net * 1000.0 / 1100.0, rel=2e-3)


def test_an_open_socket_contact_parts_leg_and_pad() -> None:
    """The inverter's input floats up: its output falls though the pad is low."""
    fault = "U1.1 contact open"
    assert volts(SOCKETED, "low", "U1.1/pad", fault) < 0.5
    assert 1.2 < volts(SOCKETED, "low", "U1.1", fault) < 2.2
    assert volts(SOCKETED, "low", "U1.2") > 2.7
    assert volts(SOCKETED, "low", "U1.2", fault) < 0.5


def test_the_tail_of_a_socket_is_between_its_contact_and_its_joint() -> None:
    """A bad contact leaves the tail with the net, a bad joint takes it along with the leg, a track
    the pad too (how a socket is soldered in: common practice, no source)."""
    parted = {"U1.1 contact open": "", "U1.1 joint open": "/tail", "U1.1 track broken": "/pad"}
    order = ["", "/tail", "/pad"]
    for fault, last in parted.items():
        for at in order:
            lost = order.index(at) <= order.index(last)
            assert (volts(SOCKETED, "low", f"U1.1{at}", fault) > 1.2) == lost, (fault, at)
    assert "R2.1/tail" not in world(DIVIDER).places


def test_a_chip_without_its_ground_pin_pulls_nothing_low() -> None:
    for fault in ("U1.7 joint open", "U1.7 track broken", "U1.7 contact open"):
        assert volts(SOCKETED, "high", "U1.2") < 0.5
        assert volts(SOCKETED, "high", "U1.2", fault) > 1.0
        assert volts(SOCKETED, "high", "U1.7", fault) > 1.0
        assert volts(SOCKETED, "high", "U1.7/pad", "U1.7 joint open") == 0.0


BRIDGED = """
rail +5 5V
U1 74LS00 1=A 2=B 3=Y 4=C 5=D 6=Z
offsheet [A-D] drive 74LS
offsheet [Y,Z] load 74LS 1
state apart A=high B=low C=low D=high
state alike A=high B=high C=low D=low
"""


def test_a_bridge_of_two_outputs_is_neither_high_nor_low() -> None:
    """Totem poles against each other: below V OH, pulled down more than up (common practice, no
    source); legs and nets read the same."""
    for place in ("U1.3", "U1.4", "net C", "net Y"):
        contended = volts(BRIDGED, "apart", place, "U1.3-U1.4 bridged")
        assert 0.4 < contended < 2.0
    assert volts(BRIDGED, "apart", "U1.3") > 2.7
    assert volts(BRIDGED, "apart", "U1.4") < 0.4


def test_a_bridge_of_two_that_agree_changes_nothing() -> None:
    assert volts(BRIDGED, "alike", "U1.3", "U1.3-U1.4 bridged") == pytest.approx(
        volts(BRIDGED, "alike", "U1.3"), abs=0.1
    )


def test_bridges_lie_between_neighbours_on_different_nets() -> None:
    found = {fault.id for fault in world(BRIDGED).faults if fault.where == "bridge"}
    assert "U1.1-U1.2 bridged" in found
    assert "U1.5-U1.6 bridged" in found
    assert not any("U1.7-U1.8" in name for name in found)  # across the row's end
    assert number(world(BRIDGED), "U1.2-U1.3 bridged") > 0


TRAP = """
rail +5 5V
U1 7438 1=Q 2=RUN 3=DA
R1 2k2 5% +5 DA
Q1 2N2222 c=EA b=DA e=GND
R2 680 5% +5 EA
offsheet Q drive 74LS
offsheet RUN drive 74LS
state off Q=low RUN=high
state on Q=high RUN=high
"""


def test_the_trap_an_open_collector_into_a_base() -> None:
    """0.7 V on the line is the good off state: the base holds it; on, the gate pulls it to V OL
    (7438 data sheet: at most 0.4 V; from memory)."""
    assert 0.6 < volts(TRAP, "off", "U1.3") < 0.8
    assert 0.05 < volts(TRAP, "on", "U1.3") < 0.35
    assert volts(TRAP, "off", "Q1.c") < 0.2
    assert volts(TRAP, "on", "Q1.c") > 4.8


def test_with_the_base_open_the_same_line_goes_to_its_rail() -> None:
    assert volts(TRAP, "off", "U1.3", "Q1.b joint open") > 4.8
    assert volts(TRAP, "off", "Q1.c", "Q1.b joint open") > 4.8
    assert volts(TRAP, "off", "Q1.b", "Q1.b joint open") < 0.6
