"""The list of faults, its priors and suspects; names of places."""

import numpy as np
import pytest
from tests.build.worlds import world

from halfsplit.build.fault import ELSE, HEALTHY
from halfsplit.build.faultlist import ELSE_SHARE
from halfsplit.errors import PlaceError

MIXED = """
rail +5 5V
rail +12 12V 10%
U1 74LS00 1=A 2=B 3=Y ; socketed ; spare
Q1 2N2222 c=C b=Y2 e=GND
R1 4k7 Y Y2
R2 680 +12 C
Z1 1N4733 a=GND k=V
R3 470 +12 V
C1 electrolytic 10u +12 GND
J1 connector 1=C 2=GND
offsheet A drive 74LS
offsheet B drive 74LS
testpoint TP1 C
state on A=high B=high
state off A=low B=high
"""


def test_priors_are_a_distribution() -> None:
    compiled = world(MIXED)
    prior = compiled.prior
    assert prior.shape == (len(compiled.faults) + 1,)
    assert prior.sum() == pytest.approx(1.0, abs=1e-12)
    assert prior[0] == 0.0
    assert prior[-1] == ELSE_SHARE
    assert (prior[1:] > 0.0).all()
    rates = np.asarray([fault.rate for fault in compiled.faults])
    np.testing.assert_allclose(prior[1:-1] / prior[1], rates[1:] / rates[1])


def test_every_fault_says_what_it_is_and_whence_its_rate() -> None:
    compiled = world(MIXED)
    ids = [fault.id for fault in compiled.faults]
    assert ids[0] == HEALTHY
    assert len(set(ids)) == len(ids)
    for fault in compiled.faults[1:]:
        assert fault.words.strip(), fault.id
        assert fault.source.strip(" ;"), fault.id
        assert fault.changes, fault.id
        assert 0.0 <= fault.visible <= 1.0
        assert 0.0 <= fault.touch <= 1.0


def test_suspects_and_faults_belong_together() -> None:
    compiled = world(MIXED)
    suspects = compiled.suspects
    names = [suspect.id for suspect in suspects]
    assert len(set(names)) == len(names)
    assert names[-1] == ELSE
    assert compiled.suspect_of[0] == -1
    for row, fault in enumerate(compiled.faults[1:], start=1):
        assert names[compiled.suspect_of[row]] == fault.suspect
    assert set(compiled.suspect_of[1:]) == set(range(len(suspects) - 1))  # none without a fault
    for suspect in suspects:
        assert suspect.repair
        assert suspect.minutes > 0.0


def test_every_sort_of_fault_is_there() -> None:
    found = {fault.where for fault in world(MIXED).faults}
    assert found == {"none", "part", "joint", "contact", "bridge", "track", "rail"}


def test_an_open_joint_a_broken_track_and_an_open_contact_cut_alike() -> None:
    """Same voltages at every node, though what the pad reads differs."""
    compiled = world(MIXED)
    done = compiled.result("on")
    ids = [fault.id for fault in compiled.faults]
    joint = done.nominal[:, ids.index("U1.3 joint open")]
    track = done.nominal[:, ids.index("U1.3 track broken")]
    np.testing.assert_array_equal(joint, track)


def test_most_faults_show_somewhere() -> None:
    """A fault list of which half changed nothing would be of little use: opens of decoupling and
    a few spare pins may."""
    compiled = world(MIXED)
    moved = np.zeros(len(compiled.faults), dtype=bool)
    for state in ("on", "off"):
        nominal = compiled.result(state).nominal
        moved |= np.abs(nominal - nominal[:, :1]).max(axis=0) > 0.05
    assert moved[1:].mean() > 0.6


def test_every_leg_pad_net_and_test_point_is_a_place() -> None:
    compiled = world(MIXED)
    for part in compiled.board.parts:
        for pin, net in part.pins.items():
            for kind, name in (("leg", f"{part.designator}.{pin}"),
                               ("pad", f"{part.designator}.{pin}/pad")):  # fmt: skip
                place = compiled.places[name]
                assert (place.kind, place.net, place.name) == (kind, net, name)
            assert f"net {net}" in compiled.places
    assert compiled.places["TP1"].kind == "testpoint"
    assert compiled.supply_pin_nets == {"GND", "+5", "+12"}


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("u1.3", "U1.3"),
        ("tp1", "TP1"),
        ("c", "net C"),
        ("NET  c", "net C"),
        ("u1.3/PAD", "U1.3/pad"),
    ],
)
def test_places_are_found_as_people_type_them(typed: str, meant: str) -> None:
    assert world(MIXED).place(typed).name == meant


def test_a_wrong_place_is_told_the_nearest() -> None:
    with pytest.raises(PlaceError, match=r"no place 'U1\.33'.*did you mean U1\.3"):
        world(MIXED).place("U1.33")


def test_ground_reads_nothing() -> None:
    found = world(MIXED).volts("on", ["net GND", "U1.7/pad"])
    assert (found.mean[0] == 0.0).all()
    assert not found.floating[0].any()


def test_nothing_is_left_unresolved() -> None:
    compiled = world(MIXED)
    for state in ("on", "off"):
        assert not compiled.volts(state, list(compiled.places)).unresolved.any()
