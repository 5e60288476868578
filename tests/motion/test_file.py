"""A mechanism described in TOML, by datasheet or by what a repairer can measure."""

from pathlib import Path

import pytest
from tests.motion.boards import FOUR, compiled

from halfsplit.build.motion import steppers
from halfsplit.build.motion_file import Described, read_mechanism
from halfsplit.build.motion_file import described as of_board
from halfsplit.checks.kind import Meter
from halfsplit.checks.motion import KIND as MOTION
from halfsplit.errors import HalfsplitError, MotionError

[STEPPER] = steppers(compiled())


def described(folder: Path, text: str) -> Described:
    path = folder / "drive.toml"
    path.write_text(text, encoding="utf-8")
    return read_mechanism(path, compiled().board, STEPPER)


def test_a_datasheet(tmp_path: Path) -> None:
    found = described(
        tmp_path,
        'family = "hybrid"\nsteps_per_turn = 400\nholding = "60mNm"\ninertia = 4e-6\n'
        'friction = "3m"\nstops = [-2, 84]\ntravel = "20mm"\ntrack = "0.1mm"\n',
    ).mechanism
    assert (found.holding, found.inertia, found.friction) == (0.06, 4e-6, 0.003)
    assert (found.teeth, found.stops, found.per_track) == (100.0, (-2.0, 84.0), 2.0)


def test_a_repairers_measurements(tmp_path: Path) -> None:
    """0.5 kg at 6 mm is 29.42 mN m; 50 teeth and a ring of 80 Hz make 5.822e-6 kg m2; what keeps it
    turning, 60 g at 6 mm, is 3.530 mN m; swings of 0.7: 2 J f ln(1/0.7) = 3.322e-4 N m s."""
    found = described(
        tmp_path,
        'slips_at = 0.5\nturns_at = 0.06\nradius = "6mm"\nrings = "80Hz"\nsteps_per_turn = 200\n'
        "rings_down_to = 0.7\n",
    )
    assert found.assumed == ()
    assert found.mechanism.holding == pytest.approx(0.029420, rel=1e-4)
    assert found.mechanism.inertia == pytest.approx(5.822e-6, rel=1e-3)
    assert found.mechanism.friction == pytest.approx(3.5304e-3, rel=1e-4)
    assert found.mechanism.viscous == pytest.approx(3.322e-4, rel=1e-3)
    assert found.mechanism.hertz() == pytest.approx(80.0)


def test_nothing_known_is_said_so() -> None:
    found = read_mechanism(None, compiled().board, STEPPER)
    assert found.assumed == ("holding", "steps_per_turn", "inertia", "friction")
    assert 70.0 < found.mechanism.hertz() < 120.0  # small motors resonate there


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("holdin = 1", "did you mean holding"),
        ('holding = "6 V"', "holding: expected a quantity in Nm"),
        ("slips_at = 0.5", "expected radius beside a weight"),
        ("stops = 3", "two numbers for stops"),
        ("holding = = 3", "expected lines such as"),
        ('family = "servo"', "hybrid"),
        ('order = "L1"', "list of windings"),
        ("inertia = -1", "inertia above 0"),
    ],
)
def test_mistakes_are_named(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(HalfsplitError, match=message):
        described(tmp_path, text)


ON_THE_BOARD = FOUR.replace(
    "inductance=60mH",
    "inductance=60mH holding=60mNm rings=80Hz friction=24mNm stops=-2..84 home=0 rate=100Hz",
)


def test_the_board_file_carries_it_and_a_file_goes_before(tmp_path: Path) -> None:
    """Typed at the windings; a file beside the board overrides what it names."""
    world = compiled(ON_THE_BOARD)
    [stepper] = steppers(world)
    found = of_board(world.board, stepper)
    assert found.assumed == ("steps_per_turn",)
    assert (found.mechanism.holding, found.mechanism.stops) == (0.06, (-2.0, 84.0))
    assert found.mechanism.hertz() == pytest.approx(80.0)
    assert found.rate == 100.0
    path = tmp_path / "drive.toml"
    path.write_text('holding = "90mNm"', encoding="utf-8")
    over = read_mechanism(path, world.board, stepper)
    assert (over.mechanism.holding, over.mechanism.friction) == (0.09, 0.024)


def test_what_is_known_reaches_the_symptoms_and_the_check() -> None:
    """A friction of 0.4 of the holding torque takes the reserve that two phases on the way give
    when one of them is missing: it runs worse than one of 0.1 (torque curves side by side)."""
    told = {}
    for friction in ("3mNm", "30mNm"):
        world = compiled(ON_THE_BOARD.replace("24mNm", friction))
        [stepper] = steppers(world)
        row = [fault.id for fault in world.faults].index("L1 high resistance")
        told[friction] = of_board(world.board, stepper).symptoms(world, stepper).words[row, 0]
        [check] = MOTION.offers(world)
        said = MOTION.outcomes([check], world, Meter())[0]
        assert said.p[0].argmax() == 0
    assert told["3mNm"] > told["30mNm"]


def test_two_windings_of_one_motor_say_the_same() -> None:
    other = "L1 winding 60 holding=60mNm J1/1 J1/5\nL[2-4] winding 60 holding=70mNm J1/[2-4] J1/5"
    world = compiled(FOUR.replace("L[1-4] winding 60 inductance=60mH J1/[1-4] J1/5", other))
    [stepper] = steppers(world)
    with pytest.raises(MotionError, match="L2: expected holding=60mNm"):
        of_board(world.board, stepper)
    [check] = MOTION.offers(world)
    assert MOTION.expected(check, world, Meter()) == "runs"
