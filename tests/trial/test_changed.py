"""A pin lifted, a plug pulled: what a repairer learns by it (the textbook rule: lift the output; if
the net stays, something else on it holds it)."""

from collections.abc import Iterator

import pytest
from tests.trial.bench import GOOD, part_fault, pin_fault

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.build.fault import Fault
from halfsplit.checks.kind import Check, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.player import STEADY, Player
from halfsplit.trial.stand import Bench, Stand

pytestmark = pytest.mark.spice

BOARD = """
board "X"
rail +5 5V 5% ohms=2
rail +12 12V 5%
U3 7438 1=A 2=A 3=B
R3 2k2 +5 B
R4 1k B C
J1 connector 1=+5 2=GND
R9 100 J1/1 J1/2
R5 1k +12 D
R6 1k D GND
offsheet A drive 74LS
output "half" volts D above 5
output "five" volts +5 above 4.5
state rest A=low
state go A=high
"""


@pytest.fixture(scope="module")
def bench(ngspice: str) -> Iterator[Bench]:
    made = Bench()
    yield made
    made.close()


def said(bench: Bench, kind: str, place: str, fault: Fault) -> str:
    board = read_board(BOARD, PartsVocabulary())
    good = Stand(board, GOOD, 5, bench)
    return Player(board, fault, 5, bench, STEADY, good=good).answer(
        Check(kind=kind, places=(place,))
    )


@pytest.mark.parametrize(("fault", "word"), [
    (part_fault("U3", "3 stuck low"), "let go"),
    (pin_fault("bridge", "bridged", "R4.1", "J1.2"), "still held"),
    (pin_fault("track", "track broken", "U3.3"), "still held"),
    (pin_fault("joint", "joint resistive", "U3.3"), "let go"),
    (GOOD, "let go"),
])  # fmt: skip
def test_the_net_is_let_go_when_the_lifted_pin_held_it(
    fault: Fault, word: str, bench: Bench
) -> None:
    """Of a broken track the pad was never reached by the net."""
    assert said(bench, "lifted", "U3.3", fault) == word


@pytest.mark.parametrize(("fault", "word"), [
    (part_fault("R9", "short"), "changes"),
    (part_fault("R6", "open"), "no change"),
    (GOOD, "no change"),
])  # fmt: skip
def test_what_lies_beyond_the_plug_goes_with_it(fault: Fault, word: str, bench: Bench) -> None:
    """0.3 ohm beyond the plug pulls the 2 ohm rail to under a volt; D stands at 12 V either way."""
    assert said(bench, "unplugged", "J1", fault) == word


def test_the_program_expects_of_a_poor_joint_what_the_simulator_shows() -> None:
    """A joint of 30 to 1000 ohm lets the output hold the net; an open one does not."""
    compiled = compile_board(read_board(BOARD, PartsVocabulary()))
    kind, check = CHECKS.get("lifted"), Check(kind="lifted", places=("U3.3",))
    (told,) = kind.outcomes([check], compiled, Meter())
    free = dict(zip((one.id for one in compiled.faults), told.p[:, 0], strict=True))
    assert told.labels[0] == "let go"
    assert free["U3.3 joint resistive"] > 0.5 > free["U3.3 joint open"]
