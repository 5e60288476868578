"""Described parts behave as what they say: every row of a table, every family, every black box."""

from __future__ import annotations

import itertools

import pytest
from tests.parts.bench import Bench

HEAD = """
rail +5 5V
offsheet X drive 74LS
offsheet Z drive 74LS
describe DEC {family} in 1=A 2=B out 3=SUM 4=CARRY oc 5=LOW tri 6=BUS out 8=BLACK 9=Q \
supply 14=VCC ground 7=GND
gives DEC.SUM A ^ B
gives DEC.CARRY table A B 0001
gives DEC.LOW !(A | B)
gives DEC.BUS A when B
gives DEC.Q A on B
U1 DEC 1=X 2=Z 3=S 4=C 5=L 6=T 8=K 9=M
R1 10k +5 L
R2 10k T GND
R3 10k K GND
R4 10k S GND
R5 10k C GND
R6 10k M GND
state stored X=high Z=low then Z=high then X=low
"""
STATES = "".join(
    f"state s{x}{z} X={['low', 'high'][x]} Z={['low', 'high'][z]} K={['low', 'high'][x]}\n"
    for x, z in itertools.product((0, 1), repeat=2)
)


@pytest.mark.parametrize("family", ["74", "74LS", "74HCT", "nmos"])
def test_every_row_of_the_truth_table(family: str) -> None:
    """Half adder, NOR, three-state buffer: worked out in Python."""
    bench = Bench(HEAD.replace("{family}", family) + STATES)
    for x, z in itertools.product((0, 1), repeat=2):
        wanted = {"S": x ^ z, "C": x & z, "L": 1 - (x | z), "T": x & z, "K": x}
        read = {net: int(bench(f"s{x}{z}", net) > 1.5) for net in wanted}
        assert read == wanted


def test_a_clocked_output_keeps_what_it_took() -> None:
    bench = Bench(HEAD.replace("{family}", "74LS") + STATES)
    assert bench("stored", "M") > 2.4
    assert bench("stored", "S") > 2.4
    assert {bench("s10", "M") > 1.5, bench.other("s10", "M") > 1.5} == {True, False}


def test_its_faults_are_those_of_a_chip_and_its_joints() -> None:
    bench = Bench(HEAD.replace("{family}", "74LS") + STATES)
    assert bench("s11", "C", "U1 4 stuck low") < 0.5
    assert bench("s01", "S", "U1 3 stuck low") < 0.5
    assert bench("s10", "S", "U1.3 joint open") < 0.1
    assert {"U1.1-U1.2 bridged", "U1 supply open", "U1.7 joint open"} <= bench.row.keys()
    assert bench.unresolved("s10") == 0
