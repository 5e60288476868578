"""What belief uses as the error of the laws covers their misfit to transistor-level stages."""

from collections.abc import Iterator

import pytest
from tests.parts.stages import FAMILIES, Family, misfits

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.build.misfit import SHARE, VOLTS
from halfsplit.build.together import both
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.stand import Bench as Simulators
from halfsplit.trial.stand import Stand

pytestmark = pytest.mark.spice


@pytest.fixture(scope="module")
def simulators(ngspice: str) -> Iterator[Simulators]:
    running = Simulators()
    yield running
    running.close()


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_misfits_are_within_two_spreads(family: Family, simulators: Simulators) -> None:
    """Every circuit of the table of docs/accuracy.md, on one die; without the rows of
    ``build/misfit.py`` an LS output high, an overload and a fight would be farther away."""
    found, world = misfits(family, simulators, dies=(1,))
    alone = both(world, [])
    assert alone is not None
    numbers = alone.volts("on", [f"net {one.case.net}" for one in found])
    away = {
        one.case.what: abs(one.off) / spread
        for one, spread in zip(found, numbers.spread[0], strict=True)
    }
    assert max(away.values()) < 2.0, max(away, key=away.__getitem__)


def test_the_table_is_needed(simulators: Simulators) -> None:
    """With the one number for everything, a 4000B output that another fights is beyond two
    spreads."""
    family = next(one for one in FAMILIES if one.name == "4000B")
    found, _ = misfits(family, simulators, dies=(1,))
    fight = next(one for one in found if one.case.kind == "fight")
    assert abs(fight.off) > 2.0 * (VOLTS + SHARE * fight.here)


@pytest.mark.parametrize(
    ("part", "asleep", "awake"), [("74LS04", 1.2, 2.4), ("7404", 1.6, 2.4), ("74S04", 1.0, 2.0)]
)
def test_an_output_wakes_where_its_stage_does(
    part: str, asleep: float, awake: float, simulators: Simulators
) -> None:
    """A pull-up of 4.7 kilohm to 5 V, the input high: with too little supply the stage, written
    transistor by transistor, lets the output go, with some more it holds it low."""
    for supply, low in ((asleep, False), (awake, True)):
        world = compile_board(read_board(BROWN_OUT.format(part=part, supply=supply), WORDS))
        stage = Stand(world.board, world.faults[0], 1001, simulators)
        truly = stage.volts("U1.2", "on")
        told = world.volts("on", ["U1.2"])
        assert truly is not None
        assert (truly < 0.5) == low == (told.mean[0, 0] < 0.5)
        assert (truly > 2.0) == (not low) == (told.mean[0, 0] > 2.0)


BROWN_OUT = """board "brown-out"
rail +5 5V 1%
rail VA {supply}V 1%
U1 {part} 1=A 2=Y 14=VA 7=GND
R1 1k +5 A
R2 4k7 +5 Y
state on
"""
WORDS = PartsVocabulary()


def test_what_hangs_on_a_chip_without_supply_is_told_widely_where_it_can_move() -> None:
    """A milliampere more or less: 0.7 V at a pull-up of 1 kilohm (on paper, a junction's drop at
    most), some 0.05 V at an output that is driven."""
    world = compile_board(read_board(STARVED, WORDS))
    rows = {fault.id: row for row, fault in enumerate(world.faults)}
    told = world.volts("on", ["R2.2", "U2.2", "U1.14"]).spread
    alike = told[rows["R1 open"]]
    for fault in ("U1.14 joint open", "U1.7 joint open"):
        pulled, driven, _ = told[rows[fault]]
        assert 0.6 < pulled < 1.2
        assert driven < 0.4
    assert told[rows["U1.14 joint open"], 2] > 0.4
    assert alike[0] < 0.4


STARVED = """board "starved"
rail +5 5V
U2 74LS04 1=B 2=A
U1 74LS04 1=A 2=Y
R1 1k +5 B
R2 1k +5 Y
state on
"""


def test_schottky_outputs_have_their_knee(simulators: Simulators) -> None:
    """From no load to the rating and twice that a high LS or S output is within 0.2 V of its
    Darlington written transistor by transistor; with one slope it was 0.2 to 0.37 V off."""
    for family in (one for one in FAMILIES if one.name in ("74LS", "74S")):
        found, _ = misfits(family, simulators, dies=(1,))
        off = {one.case.what: abs(one.off) for one in found if one.case.kind == "high"}
        assert len(off) == 6
        assert max(off.values()) < 0.2, max(off, key=off.__getitem__)
