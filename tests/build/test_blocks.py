"""Blocks beside parts: what they drive, and how their inputs are judged."""

import numpy as np
import pytest
from tests.build.worlds import number, volts, world

from halfsplit.checks._right import right

MIXED = """\
board "blocks and parts"
rail +5 5V
B1 block "reference" out 1=REF
R1 1k 1% REF MID
R2 1k 1% MID GND
B2 block "converter" in 1=MID supply 2=+5 out 3=OUT
output "end" right OUT
state run REF=2.5V
state up REF=3V
"""
FAMILY = """\
board "a block of a family"
rail +5 5V
B1 block family=74LS supply 14=+5 in 1=A out 2=Y does=inverts
R1 10k Y GND
offsheet A drive 74LS
output "end" level Y
state low A=low
state high A=high
"""


def seen(text: str, state: str, net: str, fault: str) -> float:
    return float(right(world(text), state, net)[number(world(text), fault)])


def test_a_block_drives_its_net_like_a_stiff_source() -> None:
    """Ohm's law: two equal resistors halve what the block gives."""
    assert volts(MIXED, "run", "R2.1") == pytest.approx(1.25, rel=2e-3)
    assert volts(MIXED, "up", "R2.1") == pytest.approx(1.5, rel=2e-3)
    assert volts(MIXED, "run", "R1.1", "B1 dead") == pytest.approx(0.0, abs=1e-3)


def test_an_input_is_right_by_its_voltage() -> None:
    assert seen(MIXED, "run", "OUT", "healthy") > 0.99
    for fault in ("R1 open", "R2 open", "B1 dead", "+5 missing", "B2 dead"):
        assert seen(MIXED, "run", "OUT", fault) < 0.05, fault


def test_a_part_that_is_a_little_out_does_no_harm() -> None:
    assert seen(MIXED, "run", "OUT", "R1 drifted high, slightly") > 0.9


def test_a_rail_of_its_own_is_an_input() -> None:
    assert seen(MIXED, "run", "MID", "+5 missing") > 0.9
    assert seen(MIXED, "run", "OUT", "+5 missing") < 0.05


def test_a_family_gives_its_own_levels() -> None:
    """74LS: at least 2.7 V high, at most 0.5 V low (family data sheets), unloaded."""
    assert volts(FAMILY, "low", "R1.1") > 2.7
    assert volts(FAMILY, "high", "R1.1") < 0.5
    assert volts(FAMILY, "high", "R1.1", "B1 2 stuck high") > 2.7


def test_blocks_alone_have_no_voltages_to_measure() -> None:
    text = 'board "b"\nB1 block out 1=A\nB2 block in 1=A out 2=B\noutput "e" right B\nstate run\n'
    compiled = world(text)
    assert {place.kind for place in compiled.places.values()} == {"net"}
    assert not any(fault.where in ("joint", "track") for fault in compiled.faults)
    assert np.isfinite(compiled.volts("run", ["trouble A"]).mean).all()
    assert seen(text, "run", "B", "healthy") > 0.99
    assert seen(text, "run", "B", "B1 dead") < 0.01


def test_a_long_row_is_solved_and_its_end_told() -> None:
    lines = [f"B{n} block in 1=N{n - 1} out 2=N{n}" for n in range(1, 121)]
    text = "\n".join(['board "long"', *lines, 'output "e" right N120', "state run", ""])
    assert seen(text, "run", "N120", "B1 dead") < 0.01
    assert seen(text, "run", "N120", "healthy") > 0.99
