"""Channels by symmetry, against general graph isomorphism on paper, and the odd one out."""

import itertools

import pytest
from tests.build.worlds import world
from tests.diagnose import boards
from tests.diagnose.boards import case, fault_shares, more
from tests.diagnose.fakes import shares

from halfsplit.build.channels import channels
from halfsplit.errors import PlaceError

THREE = """\
board "three lamps"
rail +5 5V 5%
R[1-3] 330 5% +5 L[A-C]
D[1-3] led ? a=L[A-C] k=K[A-C]
U1 7406 [1,3,5]=I[A-C] [2,4,6]=K[A-C] ; spare
offsheet I[A-C] drive 74LS
output "A" current D1 above 2mA
output "B" current D2 above 2mA
output "C" current D3 above 2mA
state on I[A-C]=high
"""


def test_channels_of_three_lamps() -> None:
    groups = channels(world(THREE).board)
    assert len(groups) == 1
    found = {frozenset((*one.nets, *one.parts)) for one in groups[0]}
    assert found == {
        frozenset({f"I{x}", f"K{x}", f"L{x}", f"R{n}", f"D{n}"})
        for n, x in zip("123", "ABC", strict=True)
    }


@pytest.mark.parametrize("order", list(itertools.permutations("ABC"))[1:4])
def test_names_and_order_do_not_matter(order: tuple[str, ...]) -> None:
    text = THREE
    for old, new in zip("ABC", order, strict=True):
        text = text.replace(f"I{old}", f"I#{new}").replace(f"K{old}", f"K#{new}")
    found = channels(world(text.replace("#", "")).board)
    assert [len(group) for group in found] == [3]


def test_a_part_of_another_value_is_no_sister() -> None:
    text = THREE.replace("R[1-3] 330 5% +5 L[A-C]", "R[1-2] 330 5% +5 L[A-B]\nR3 470 5% +5 LC")
    found = channels(world(text).board)
    assert [len(group) for group in found] == [2]
    assert all("R3" not in one.parts for group in found for one in group)


def test_a_resistor_the_other_way_round_is_a_sister_all_the_same() -> None:
    text = THREE.replace("R[1-3] 330 5% +5 L[A-C]", "R[1-2] 330 5% +5 L[A-B]\nR3 330 5% LC +5")
    assert [len(group) for group in channels(world(text).board)] == [3]


def test_one_channel_has_no_sisters() -> None:
    assert channels(world(boards.CHANNEL).board) == ()


def test_the_odd_one_out_points_at_its_channel() -> None:
    session = case(THREE)
    offered = [one.check for one in session.catalogue.offers(session.limits).offers]
    ids = [check.id for check in offered if check.kind == "sisters"]
    name = next(one for one in ids if "U1.2" in one)
    odd = more(session, (name, "KB"))
    found = shares(odd)
    second = sum(
        p for suspect, p in found.items() if suspect in {"R2", "D2", "U1"} or "U1.4" in suspect
    )
    others = sum(found[suspect] for suspect in ("R1", "R3", "D1", "D3"))
    assert second > 0.6
    assert others < 0.05
    alike = more(session, (name, "all alike"))
    assert fault_shares(alike)["U1 4 open"] < 0.3 * fault_shares(session)["U1 4 open"]


def test_without_sisters_it_says_so() -> None:
    with pytest.raises(PlaceError, match="like channels"):
        more(case(boards.CHANNEL), ("sisters U1.2 @hold", "alike"))
